"""What is written about the command line is what it says itself."""

import re
import runpy
import shlex
from pathlib import Path

import pytest

from holdwatch.cli.commands import COMMANDS, load

ROOT = Path(__file__).parents[2]
PAPERS = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]
_FENCED = re.compile(r"```sh\n(?P<text>.*?)```", re.DOTALL)


def holdwatch_lines(paper: Path) -> list[str]:
    """Return the commands that a paper tells people to give."""
    lines = [
        line.strip()
        for block in _FENCED.finditer(paper.read_text(encoding="utf-8"))
        for line in block["text"].splitlines()
    ]
    return [line for line in lines if line.startswith("holdwatch ")]


def parse(words: list[str]) -> None:
    """Let a command read its options, without doing anything."""
    name, *rest = words
    command = load(name)
    while hasattr(command, "commands"):
        command = command.commands[rest.pop(0)]
    with command.make_context(name, rest):
        pass


def test_cli_page_is_what_the_help_says() -> None:
    """docs/cli.md is made from the help; `make docs` writes it again."""
    written = runpy.run_path(str(ROOT / "scripts" / "cli_docs.py"))["written"]
    assert (ROOT / "docs" / "cli.md").read_text(encoding="utf-8") == written()


@pytest.mark.parametrize("name", COMMANDS)
def test_command_teaches_what_it_does(name: str) -> None:
    """Every command and every one inside it has a help that ends its first sentence."""
    command = load(name)
    for each in (command, *getattr(command, "commands", {}).values()):
        first = (each.help or "").split("\n\n")[0].split("\n")[0]
        assert first[:1].isupper(), each.name
        assert (each.help or "").strip()[-1] not in " ,;:", each.name
    assert COMMANDS[name][1].endswith(".")


@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: paper.name)
def test_paper_gives_only_commands_that_exist(paper: Path) -> None:
    """Each command in a paper has its options spelt as the command line spells them."""
    for line in holdwatch_lines(paper):
        parse(shlex.split(line, comments=True)[1:])


def test_papers_give_commands_at_all() -> None:
    """The check above looks at something."""
    assert sum(len(holdwatch_lines(paper)) for paper in PAPERS) > 10
