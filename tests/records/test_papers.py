"""Papers of the record beside the inspection log: a choice, a batch, a day, findings, checks; held against the store."""

import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from holdwatch.errors import ConfigError, UnknownNameError
from holdwatch.quantities import Scale, celsius_of_f, format_temperature
from holdwatch.records.blank_sheet import print_blank
from holdwatch.records.choice import Choice
from holdwatch.records.kinds import CHECKS, DAY, FINDINGS, LOG, Kind
from holdwatch.records.log import print_batches, print_log
from holdwatch.records.span import parse_span
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.findings import findings
from holdwatch.storage.readings import load_series
from holdwatch.storage.register import note_unit, probe_named, unit_named
from holdwatch.storage.tables import EventKind
from tests.records.conftest import ZONE, set_up_site
from tests.records.kitchen import HOUR, NOW, fill

pytestmark = pytest.mark.pdf

SPAN = parse_span("2026-10-31", "2026-11-02", ZONE, NOW)
SECOND = parse_span("2026-11-01", "2026-11-01", ZONE, NOW)


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Fill one kitchen for all tests here, with a hand reading in its walk-in that was written down later."""
    opened = open_store(store_url(tmp_path_factory.mktemp("kitchen"), None), migrate=True)
    set_up_site(opened)
    fill(opened)
    with opened.write() as session:
        note_unit(
            session,
            unit_named(session, "Walk-in 1"),
            EventKind.READING,
            at_ms=SECOND.first_ms + 10 * HOUR,
            now_ms=NOW - HOUR,
            by="ben",
            celsius=celsius_of_f(38.4),
        )
    yield opened
    opened.close()


def _printed(kitchen: Store, out: Path, kind: Kind = LOG, choice: Choice | None = None) -> str:
    span = SECOND if kind is DAY else SPAN
    print_log(kitchen, span.first_ms, span.last_ms, out, kind=kind, choice=choice or Choice(), by="Ana", now_ms=NOW)
    return _words(out)


def _words(pdf: Path, *options: str) -> str:
    done = subprocess.run(["pdftotext", *options, pdf, "-"], check=True, capture_output=True, text=True)
    return " ".join(done.stdout.replace("\u202f", " ").split())


def _lines(pdf: Path) -> str:
    """Read a PDF by its lines as they stand on the page."""
    done = subprocess.run(["pdftotext", "-layout", pdf, "-"], check=True, capture_output=True, text=True)
    return re.sub(r"[ \u202f]+", " ", done.stdout)


def test_a_choice_never_passes_for_the_whole(kitchen: Store, tmp_path: Path) -> None:
    """The first page says what was chosen and how much was left out; so does the head of every other page."""
    out = tmp_path / "log.pdf"
    words = _printed(kitchen, out, choice=Choice(("Walk-in 1",), ("L-102",)))
    first = _words(out, "-l", "1")
    assert "Not the whole record. Units: Walk-in 1; batches: L-102; and the findings about these." in first
    assert "Left out of this period: 1 unit, 4 batches and 5 findings." in first
    assert "inspection log, a choice" in _words(out, "-f", "2", "-l", "2")
    assert "L-102 · Custard" in words
    assert "L-101 · Pastry cream" not in words
    assert "Lemon curd" not in words
    assert "Display case kind" not in words


def test_a_choice_of_one_unit_has_no_batch(kitchen: Store, tmp_path: Path) -> None:
    """Nobody has to name batches to be spared of them."""
    words = _printed(kitchen, tmp_path / "log.pdf", choice=Choice(units=("Display case",)))
    assert "batches: none" in words
    assert "L-102 · Custard" not in words


def test_a_choice_that_cannot_be_is_refused(kitchen: Store, tmp_path: Path) -> None:
    """A name that is unknown, and a batch that did not run then."""
    out = tmp_path / "log.pdf"
    with pytest.raises(UnknownNameError, match="Walk-in 1"):
        _printed(kitchen, out, choice=Choice(units=("Walk-in 7",)))
    with pytest.raises(ConfigError, match="did not run in this period"):
        print_log(kitchen, SPAN.first_ms, SPAN.first_ms + HOUR, out, choice=Choice(lots=("L-102",)), now_ms=NOW)
    assert not out.exists()


def test_a_batch_record_has_all_of_its_batch(kitchen: Store, tmp_path: Path) -> None:
    """Curve, clauses, probes, discard times until its end, parts, its findings, and a line to sign."""
    out = tmp_path / "batch.pdf"
    print_batches(kitchen, ("L-102",), out, now_ms=NOW)
    words = _words(out)
    for told in (
        "Batch record",
        "batch record of L-102",
        "p5, food, declared the slowest",
        "end of Sat 7 Nov 3-501.17(A)",
        "No other batch is in it, and none of it went into another.",
        "corrective action: discarded all six pans",
        "Signature",
    ):
        assert told in words, told
    with kitchen.read() as session:
        about = [f.id for f in findings(session) if f.title.startswith("Custard L-102")]
    assert about
    assert all(f"No. {number} ·" in words for number in about)
    with pytest.raises(UnknownNameError):
        print_batches(kitchen, ("L-999",), out, now_ms=NOW)


def test_a_day_stands_on_few_pages(kitchen: Store, tmp_path: Path) -> None:
    """Units, the batch that ran, its findings, the round, and a line to sign: two pages of Letter."""
    out = tmp_path / "day.pdf"
    words = _printed(kitchen, out, DAY)
    info = subprocess.run(["pdfinfo", out], check=True, capture_output=True, text=True).stdout
    assert re.search(r"Pages:\s+2\b", info)
    for told in ("Daily sheet", "Walk-in 1", "Display case", "Batches that ran", "L-102 · Custard", "Signature"):
        assert told in words, told
    assert "L-103 · Lemon curd" not in words


def test_figures_on_paper_equal_the_store(kitchen: Store, tmp_path: Path) -> None:
    """Lowest, mean, highest and the count of the day of a probe, reckoned from its readings here again."""
    out = tmp_path / "day.pdf"
    _printed(kitchen, out, DAY)
    with kitchen.read() as session:
        series = load_series(session, probe_named(session, "p1").id or 0, SECOND.first_ms, SECOND.last_ms)
    figures = [format_temperature(float(each), Scale.F) for each in _three(series.celsius)]
    told = " ".join(each.replace("\u202f", " ") for each in figures)
    assert f"Walk-in 1 p1 deviation {told} {len(series)} 5 min" in _lines(out)


def _three(celsius: object) -> list[float]:
    import numpy as np

    values = np.asarray(celsius)
    return [values.min(), values.mean(), values.max()]


def test_a_hand_reading_in_a_unit_says_when_it_was_written_down(kitchen: Store, tmp_path: Path) -> None:
    """On the log and on the day's sheet, with its figure."""
    for kind in (LOG, DAY):
        _printed(kitchen, tmp_path / "paper.pdf", kind)
        assert "1 Nov 09:00 MST 38.4 °F ben 2 Nov 18:00 MST" in _lines(tmp_path / "paper.pdf")


def test_a_blank_sheet_has_the_limits_and_ruled_lines(kitchen: Store, tmp_path: Path) -> None:
    """Each limit in words with its clause; the units and running batches, so that their names are written right."""
    out = tmp_path / "blank.pdf"
    print_blank(kitchen, out, pages=3, now_ms=NOW)
    words = _words(out)
    for told in ("135 °F to 70 °F within 2 h", "3-501.14(A)(1)", "3-501.16(A)(1)", "Walk-in 1, Display case", "L-104"):
        assert told in words, told
    assert words.count("Unit, or batch and vessel") == 3
    assert words.count("Typed in later by, and when:") == 3
    assert words.count("page 4 of 4") == 1


def test_findings_and_checks_have_papers_of_their_own(kitchen: Store, tmp_path: Path) -> None:
    """Every finding of the span, and every probe with its next check."""
    words = _printed(kitchen, tmp_path / "findings.pdf", FINDINGS)
    with kitchen.read() as session:
        numbers = [f.id for f in findings(session, since_ms=SPAN.first_ms, until_ms=NOW)]
    assert all(f"No. {number} ·" in words for number in numbers)
    _printed(kitchen, tmp_path / "checks.pdf", CHECKS)
    assert "p5 food never on record – now" in _lines(tmp_path / "checks.pdf")


@pytest.mark.parametrize("kind", [LOG, DAY, FINDINGS])
def test_verdicts_read_in_black_and_white(kitchen: Store, tmp_path: Path, kind: Kind) -> None:
    """Printed grey, no word is paler than 4.5:1 on its paper, and each verdict is a word beside its shape."""
    out = tmp_path / "paper.pdf"
    words = _printed(kitchen, out, kind)
    assert "deviation" in words
    assert "not shown ?" in words
    subprocess.run(["pdftoppm", "-gray", "-r", "150", "-l", "1", out, tmp_path / "grey"], check=True)
    from PIL import Image

    (page,) = tmp_path.glob("grey*.pgm")
    with Image.open(page) as image:
        histogram = image.histogram()
    assert _contrast(_darkest_common(histogram)) >= 4.5  # WCAG 2.2, 1.4.3
    assert sum(histogram[:120]) > 0.005 * sum(histogram)


def _darkest_common(histogram: list[int]) -> int:
    """Return the grey of most printed points that are far from paper."""
    return max(range(160), key=histogram.__getitem__)


def _contrast(grey: int) -> float:
    """Return the contrast of a grey against white, WCAG 2.2 "relative luminance"."""
    value = grey / 255
    linear = value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
    return 1.05 / (linear + 0.05)
