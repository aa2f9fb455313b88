"""Whoever carries the project on finds every room of it named, and no link of the docs leads nowhere."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PAGES = sorted([*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md")])
TABLE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## Where things are")[1].split("\n## ")[0]


def test_every_room_of_the_package_is_named() -> None:
    """A new package stands in the table."""
    rooms = [path.parent.name for path in ROOT.glob("holdwatch/*/__init__.py")]
    assert [room for room in sorted(rooms) if f"`holdwatch/{room}/`" not in TABLE] == []


def test_every_file_at_the_top_of_the_package_is_named() -> None:
    """A new module at the top stands in the table."""
    files = [path.name for path in ROOT.glob("holdwatch/*.py") if not path.name.startswith("__")]
    assert [file for file in sorted(files) if f"`{file}`" not in TABLE and f"`holdwatch/{file}`" not in TABLE] == []


def test_every_room_that_is_named_exists() -> None:
    """A room that was removed is not named any more."""
    rooms = re.findall(r"^\| `([a-z/_]+/)`", TABLE, re.MULTILINE)
    assert rooms
    assert [room for room in rooms if not (ROOT / room).is_dir()] == []


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_links_between_pages_lead_somewhere(page: Path) -> None:
    """Every relative link is to a file or a folder that is there."""
    links = re.findall(r"\]\(([^)\s#]+)[^)]*\)", page.read_text(encoding="utf-8"))
    inside = [link for link in links if not re.match(r"https?:|mailto:", link)]
    assert [link for link in inside if not (page.parent / link).exists()] == []
