"""A long log is set in pieces and joined: nobody who reads it can tell, and it keeps the marks of an archive file."""

import re
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from sqlalchemy import event

from holdwatch.errors import ConfigError
from holdwatch.records import gathering, pieces
from holdwatch.records.blank_sheet import print_blank
from holdwatch.records.kinds import CHECKS, DAY, FINDINGS
from holdwatch.records.labels import LabelWanted, print_labels
from holdwatch.records.log import print_batches, print_log
from holdwatch.records.plan_paper import Wanted, print_plan
from holdwatch.records.span import parse_span
from holdwatch.storage.engine import Store, open_store, store_url
from tests.records.archive import archive_faults
from tests.records.conftest import ZONE, set_up_site
from tests.records.kitchen import NOW, fill

pytestmark = pytest.mark.pdf

SPAN = parse_span("2026-10-31", "2026-11-02", ZONE, NOW)


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Fill one kitchen for all tests here."""
    opened = open_store(store_url(tmp_path_factory.mktemp("kitchen"), None), migrate=True)
    set_up_site(opened)
    fill(opened)
    yield opened
    opened.close()


def log(kitchen: Store, out: Path, at_once: int) -> Path:
    """Print the log with so many subjects a piece."""
    print_log(kitchen, SPAN.first_ms, SPAN.last_ms, out, by="Ana", now_ms=NOW, at_once=at_once)
    return out


@pytest.fixture(scope="module")
def whole(kitchen: Store, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The log in one piece."""
    return log(kitchen, tmp_path_factory.mktemp("whole") / "log.pdf", 60)


@pytest.fixture(scope="module")
def joined(kitchen: Store, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same log in five pieces."""
    return log(kitchen, tmp_path_factory.mktemp("joined") / "log.pdf", 3)


REPEATED = (
    *(
        "Linden Street Patisserie ·",
        "Shows what the record shows",
        "Printed ",
        "At Declared",
        "Written As",
        "Clause Asks",
    ),
    *("Alert to", "Action at", "Day Probe", "Subject Probe", "Probe Measures", "No. Since"),
)
"""How the heads and feet of pages and tables begin."""


def pages(pdf: Path) -> list[str]:
    """Return the words of each page, in the order in which they were set."""
    done = subprocess.run(["pdftotext", "-raw", pdf, "-"], check=True, capture_output=True, text=True)
    return [" ".join(page.split()) for page in done.stdout.split("\f")[:-1]]


def outline(pdf: Path) -> list[tuple[str, list[str]]]:
    """Return the titles of an outline, with those under each."""
    with pikepdf.open(pdf) as opened, opened.open_outline() as found:
        return [(str(item.title), [str(under.title) for under in item.children]) for item in found.root]


def test_pieces_say_what_one_piece_says(whole: Path, joined: Path) -> None:
    """The same words in the same order, but for table heads that are repeated where a page ends elsewhere."""

    def body(pdf: Path) -> list[str]:
        done = subprocess.run(["pdftotext", "-raw", pdf, "-"], check=True, capture_output=True, text=True)
        return [line for line in done.stdout.replace("\f", "").splitlines() if not line.startswith(REPEATED)]

    assert body(joined) == body(whole)


def test_pieces_are_numbered_over_the_whole(joined: Path) -> None:
    """Page x of y, heads, the instant of printing and the digest stand on every page."""
    found = pages(joined)
    assert len(found) > 5
    digest = re.search(r"record \d+ · [0-9a-f]{16}", found[0])
    assert digest is not None
    for number, page in enumerate(found, 1):
        assert f"page {number} of {len(found)} " in page
        assert digest[0] in page
        assert ("Linden Street Patisserie · inspection log" in page) is (number > 1)


def test_pieces_have_one_outline(whole: Path, joined: Path) -> None:
    """A batch of a later piece still stands under Batches, and each line leads to its page."""
    assert outline(joined) == outline(whole)
    (batches,) = [under for title, under in outline(joined) if title == "Batches"]
    assert [each.split(" · ")[0] for each in batches] == ["L-101", "L-102", "L-103", "L-105", "L-104"]
    found = pages(joined)
    with pikepdf.open(joined) as opened, opened.open_outline() as lines:
        numbers = {page.obj.objgen: number for number, page in enumerate(opened.pages)}
        for item in [*lines.root, *(under for line in lines.root for under in line.children)]:
            assert str(item.title) in found[numbers[item.destination[0].objgen]]  # type: ignore[index,union-attr]


def test_pieces_are_the_same_to_the_byte(kitchen: Store, joined: Path, tmp_path: Path) -> None:
    """Two prints of the same record, declared to be of the same instant, can be compared."""
    assert log(kitchen, tmp_path / "again.pdf", 3).read_bytes() == joined.read_bytes()


def test_subjects_gathered_in_one_look_say_what_each_says_alone(
    kitchen: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """They share the answers about the site: at least a fifth of all questions is not asked again."""
    asked: list[str] = []

    def gathered() -> tuple[list[tuple[int, dict[str, Any]]], int]:
        asked.clear()
        found = list(gathering.gather(kitchen, SPAN, NOW, gathering.Wanted(DAY), lambda _: None))
        return found, len(asked)

    def notice(_connection: object, _cursor: object, statement: str, *_: object) -> None:
        asked.append(statement)

    event.listen(kitchen.engine, "before_cursor_execute", notice)
    try:
        together, few = gathered()
        monkeypatch.setattr(gathering, "_IN_A_LOOK", 1)
        alone, many = gathered()
    finally:
        event.remove(kitchen.engine, "before_cursor_execute", notice)
    assert together == alone
    assert few < 0.8 * many, (few, many)


def test_a_child_that_is_killed_is_told_to_the_cook(
    kitchen: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A machine short of memory kills: no half of a paper is left, and the message says what to do."""
    killed = pieces._child

    def dying() -> "subprocess.Popen[str]":
        child = killed()
        child.kill()
        return child

    monkeypatch.setattr(pieces, "_child", dying)
    with pytest.raises(ConfigError, match="print fewer days"):
        log(kitchen, tmp_path / "log.pdf", 60)
    assert list(tmp_path.iterdir()) == []


# ---------------------------------------------------------------- the marks of an archive file


def _paper(kitchen: Store, name: str, out: Path) -> None:
    """Print a paper by its name."""
    kinds = {"day": DAY, "findings": FINDINGS, "checks": CHECKS}
    if name in kinds:
        print_log(kitchen, SPAN.first_ms, SPAN.last_ms, out, kind=kinds[name], paper="a4", now_ms=NOW)
    elif name == "batch":
        print_batches(kitchen, ("L-102",), out, now_ms=NOW)
    elif name == "plan":
        print_plan(kitchen, out, Wanted(), now_ms=NOW)
    elif name == "blank":
        print_blank(kitchen, out, now_ms=NOW)
    else:
        print_labels(kitchen, out, LabelWanted(("L-104",)), now_ms=NOW, base_url="http://192.0.2.7:8501")


def test_a_joined_log_is_an_archive_file(joined: Path) -> None:
    """The marks are looked for after joining."""
    with pikepdf.open(joined) as opened:
        assert archive_faults(opened) == []


@pytest.mark.parametrize("name", ["day", "findings", "checks", "batch", "plan", "blank", "label"])
def test_every_paper_is_an_archive_file(kitchen: Store, tmp_path: Path, name: str) -> None:
    """Fonts embedded, ICC profile, XMP in agreement with the file, file identifier, nothing that runs or is locked."""
    out = tmp_path / "paper.pdf"
    _paper(kitchen, name, out)
    with pikepdf.open(out) as opened:
        assert archive_faults(opened) == []


def _without_font(pdf: pikepdf.Pdf) -> None:
    for each in pdf.objects:
        if isinstance(each, pikepdf.Dictionary) and each.get("/Type") == "/FontDescriptor":
            for name in ("/FontFile2", "/FontFile3"):
                if name in each:
                    del each[name]


def _metadata(pdf: pikepdf.Pdf, old: bytes, new: bytes) -> None:
    xml = pdf.Root.Metadata.read_bytes()
    assert old in xml
    pdf.Root.Metadata.write(xml.replace(old, new))


def _link(pdf: pikepdf.Pdf, action: str) -> None:
    annotation = pikepdf.Dictionary(
        Type=pikepdf.Name.Annot, Subtype=pikepdf.Name.Link, Rect=[0, 0, 9, 9], F=4, A={"/S": pikepdf.Name(action)}
    )
    pdf.pages[0].obj.Annots = pikepdf.Array([pdf.make_indirect(annotation)])


BROKEN: dict[str, Callable[[pikepdf.Pdf], object]] = {
    "output intents": lambda pdf: pdf.Root.__delitem__("/OutputIntents"),
    "none for RGB": lambda pdf: pdf.Root.OutputIntents[0].DestOutputProfile.write(b"no profile at all" * 9),
    "no XMP": lambda pdf: pdf.Root.__delitem__("/Metadata"),
    "say PDF/A-2b": lambda pdf: _metadata(pdf, b"<pdfaid:part>2", b"<pdfaid:part>1"),
    "number of pages": lambda pdf: pdf.pages.append(pdf.pages[0]),
    "/Title is another": lambda pdf: pdf.docinfo.__setitem__("/Title", "Another"),
    "/CreationDate is another": lambda pdf: pdf.docinfo.__setitem__("/CreationDate", "D:20200101000000Z"),
    "is not embedded": _without_font,
    "/OpenAction": lambda pdf: pdf.Root.__setitem__("/OpenAction", pikepdf.Dictionary(S=pikepdf.Name.JavaScript)),
    "an action /JavaScript": lambda pdf: _link(pdf, "/JavaScript"),
    "have /EmbeddedFiles": lambda pdf: pdf.Root.__setitem__("/Names", pikepdf.Dictionary(EmbeddedFiles={})),
    "of a printing press": lambda pdf: pdf.pages[0].contents_add(b"0 0 0 1 k"),
    "no file identifier": lambda pdf: pdf.trailer.__delitem__("/ID"),
}


@pytest.mark.parametrize("fault", BROKEN)
def test_a_mark_that_is_missing_is_noticed(joined: Path, fault: str) -> None:
    """The check is no rubber stamp: each thing that is broken on purpose is named."""
    with pikepdf.open(joined) as opened:
        BROKEN[fault](opened)
        assert any(fault in each for each in archive_faults(opened))


def test_a_locked_paper_is_noticed(joined: Path, tmp_path: Path) -> None:
    """A file that asks for a password is no archive file, even where the password is empty."""
    locked = tmp_path / "locked.pdf"
    with pikepdf.open(joined) as opened:
        opened.save(locked, encryption=pikepdf.Encryption(owner="owner", user=""))
    with pikepdf.open(locked) as opened:
        assert any("encrypted" in each for each in archive_faults(opened))
