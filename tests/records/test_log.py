"""The inspection log, printed from a kitchen that the real watch has judged, and read back."""

import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from holdwatch.errors import ConfigError, StoreMissingError
from holdwatch.quantities import Scale
from holdwatch.records.log import print_log
from holdwatch.records.span import parse_span
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.register import add_unit, batch_named, end_batch, set_site, start_batch
from tests.records.conftest import ZONE, set_up_site
from tests.records.kitchen import HOUR, NOW, T0, fill

pytestmark = pytest.mark.pdf

SPAN = parse_span("2026-10-31", "2026-11-02", ZONE, NOW)
ONE_DAY = parse_span("2026-10-31", "2026-10-31", ZONE, NOW)
CAUTION = "your local code and inspector decide"


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Fill one kitchen for all tests here; none of them writes into it."""
    opened = open_store(store_url(tmp_path_factory.mktemp("kitchen"), None), migrate=True)
    set_up_site(opened)
    fill(opened)
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def printed(kitchen: Store, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Print the log once."""
    out = tmp_path_factory.mktemp("log") / "log.pdf"
    print_log(kitchen, SPAN.first_ms, SPAN.last_ms, out, paper="a4", by="Ana", now_ms=NOW)
    return out


def _text(pdf: Path, *options: str) -> str:
    """Read a PDF as text, each run of blanks as one."""
    done = subprocess.run(["pdftotext", "-layout", *options, pdf, "-"], check=True, capture_output=True, text=True)
    return re.sub(r"[ \u202f]+", " ", done.stdout)


def _words(pdf: Path, *options: str) -> str:
    """Read a PDF as one line, so that a sentence may be looked for wherever it breaks."""
    done = subprocess.run(["pdftotext", *options, pdf, "-"], check=True, capture_output=True, text=True)
    return " ".join(done.stdout.replace("\u202f", " ").split())


def _info(pdf: Path) -> str:
    """Read a PDF's properties."""
    return subprocess.run(["pdfinfo", pdf], check=True, capture_output=True, text=True).stdout


def _pages(pdf: Path) -> int:
    """Count the pages of a PDF."""
    found = re.search(r"Pages:\s+(\d+)", _info(pdf))
    assert found is not None
    return int(found[1])


@pytest.mark.parametrize("word", ["kept", "deviation", "not shown", "running", "no limit asked"])
def test_log_prints_every_word_of_a_verdict(printed: Path, word: str) -> None:
    """What was kept, what was not, what cannot be shown, what still runs and what no limit is asked of."""
    assert word in _words(printed)


def test_log_first_page_says_what_an_inspector_asks_first(printed: Path) -> None:
    """Premises, period, zone, limits in force with edition and clause, probes, and what is not covered."""
    first = _words(printed, "-l", "1")
    for told in (
        "Linden Street Patisserie",
        "Sat 31 Oct 2026 00:00 MDT (UTC−06:00) to Mon 2 Nov 2026 23:59 MST (UTC−07:00)",
        "the record ends at the instant of printing",
        "the clocks go back on Sun 1 Nov 2026, from 02:00 MDT to 01:00 MST",
        "3-501.14(A)(1)",
        "3-501.16(A)(2)",
        "Not confirmed with your authority",
        "Hands and sickness",
        "sous-vide",
    ):
        assert told in first, told
    assert "p1 food Walk-in 1 no calibration check on record" in _text(printed)


def test_log_prints_every_gap(printed: Path) -> None:
    """The walk-in's silence, the hole in a cooling, and the probe that never spoke are all listed."""
    text = _text(printed)
    gaps = text[text.index("Gaps: stretches without readings") :]
    assert re.search(r"Walk-in 1 p1 31 Oct 13:55 MDT 31 Oct 16:20 MDT 2 h 25 min", gaps)
    assert re.search(r"L-103, vessel 2 p4 2 Nov 05:30 MST 2 Nov 07:30 MST 2 ?h", gaps)
    assert re.search(r"Display case p3 .*no reading before.*no reading after.* 2 d", gaps)


def test_log_prints_each_batch_with_its_clauses_and_brackets(printed: Path) -> None:
    """A missed custard stands with clause, verdict, and the two readings between which its clock began."""
    text = _text(printed)
    custard = text[text.index("L-102 · Custard") : text.index("L-103 · Lemon curd")]
    assert "deviation" in custard
    assert "3-501.14(A)(1)" in custard
    assert re.search(r"1 Nov \d\d:\d\d–\d\d:\d\d MST", custard)
    assert "discarded all six pans" in custard
    assert "L-105 · Ganache" in text
    assert "No vessel was measured" in text


def test_log_tells_hand_readings_who_and_when_they_were_written_down(printed: Path) -> None:
    """A hand reading written down an hour later says so."""
    text = _text(printed)
    curd = text[text.index("L-103 · Lemon curd") : text.index("L-104 · Crème anglaise")]
    assert re.search(r"2 Nov 09:00 MST .* 39\.6 °F ben 2 Nov 10:00 MST", curd)


def test_log_prints_findings_with_versions_alerts_and_actions(printed: Path) -> None:
    """What was found, who was to be told, and what was done about it."""
    text = _text(printed)
    found = text[text.index("\nFindings") :]
    assert "Custard L-102" in found
    assert re.search(r"mgr .*Deviation: .*L-102.*", found)
    assert "action: discarded all six pans" in found
    assert "No action is recorded." in found


def test_log_says_on_every_page_what_it_is_worth_and_which_page_it_is(printed: Path) -> None:
    """Caution, page x of y, printed when and by whom."""
    pages = _pages(printed)
    for page in range(1, pages + 1):
        text = _text(printed, "-f", str(page), "-l", str(page))
        assert CAUTION in text
        assert f"page {page} of {pages}" in text
        assert "Printed Mon 2 Nov 2026 19:00 MST (UTC−07:00) by Ana" in text


def test_log_ends_with_a_line_for_the_manager_to_sign(printed: Path) -> None:
    """Verification needs a name, a signature and a date."""
    text = _text(printed)
    assert "Verification by the manager" in text
    assert re.search(r"Name\s+Signature\s+Date and time", text)


def test_log_never_says_safe(printed: Path) -> None:
    """The one place that names safety says that nothing here asserts it."""
    words = _words(printed)
    assert words.count("safe") == 1
    assert "nothing here says that food is safe" in words


@pytest.mark.parametrize(("paper", "size"), [("a4", "595.276 x 841.89"), ("letter", "612 x 792")])
def test_log_is_an_archive_pdf_on_either_paper(kitchen: Store, tmp_path: Path, paper: str, size: str) -> None:
    """A4 and US Letter, PDF/A-2b by its own metadata."""
    out = tmp_path / "log.pdf"
    print_log(kitchen, ONE_DAY.first_ms, ONE_DAY.last_ms, out, paper=paper, now_ms=NOW)
    assert re.search(rf"Page size:\s+{re.escape(size)} pts", _info(out))
    assert b"pdfaid:part" in out.read_bytes()


def test_log_of_the_same_record_at_the_same_instant_is_the_same_to_the_byte(
    kitchen: Store, printed: Path, tmp_path: Path
) -> None:
    """Two prints can be compared."""
    again = tmp_path / "again.pdf"
    print_log(kitchen, SPAN.first_ms, SPAN.last_ms, again, paper="a4", by="Ana", now_ms=NOW)
    assert again.read_bytes() == printed.read_bytes()


def test_log_in_celsius_prints_the_days_in_celsius(kitchen: Store, tmp_path: Path) -> None:
    """The paper's unit can be chosen; what the watch wrote down, and the code's figures, stay as they are."""
    out = tmp_path / "log.pdf"
    print_log(kitchen, ONE_DAY.first_ms, ONE_DAY.last_ms, out, scale=Scale.C, now_ms=NOW)
    assert re.search(r"Sat 31 Oct p1 not shown \? 2\.4 °C 3\.0 °C 3\.7 °C 260 2 ?h 25 min", _text(out))
    assert "135 °F to 70 °F within 2 h" in _words(out)


HOSTILE = ["#set page(fill: red)", "<script>alert(1)</script>", "$x^2$ *b* _i_ `c` @ref // no", "🍰 日本", "x" * 60]


def test_log_prints_names_literally(store: Store, tmp_path: Path) -> None:
    """A name is text: it can neither set the page nor vanish; what no font has is printed by its number."""
    with store.write() as session:
        for number, name in enumerate(HOSTILE):
            add_unit(session, name, "walk-in", now_ms=T0, by=name)
            start_batch(session, product=name, lot=f"H{number}", at_ms=T0, now_ms=T0, by=name)
    out = tmp_path / "log.pdf"
    print_log(store, T0, T0 + HOUR, out, by="#pagebreak() ana", now_ms=T0 + HOUR)
    words = _words(out)
    for name in HOSTILE[:3]:
        assert name in words
    assert "[U+1F370] [U+65E5][U+672C]" in words
    assert "x" * 60 in re.sub(r"[\u200b ]", "", words)
    assert "by #pagebreak() ana" in words


def test_log_of_a_kitchen_that_nothing_happened_in_says_so(store: Store, tmp_path: Path) -> None:
    """An empty span is a page that says that it is empty, not an error and not a blank."""
    out = tmp_path / "log.pdf"
    print_log(store, T0, T0 + HOUR, out, now_ms=T0 + HOUR)
    words = _words(out)
    assert "No batch ran, and no unit is registered" in words
    assert "no open warning is recorded in this period" in words


def test_log_of_what_was_not_judged_does_not_say_that_nothing_is_wrong(store: Store, tmp_path: Path) -> None:
    """A watch that was not there found nothing; that is not the same as nothing to find."""
    with store.write() as session:
        start_batch(session, product="Lemon curd", lot="L1", at_ms=T0, now_ms=T0, by="ana")
        end_batch(session, batch_named(session, "L1"), outcome="sold", at_ms=T0 + HOUR, now_ms=T0 + HOUR, by="ana")
    out = tmp_path / "log.pdf"
    print_log(store, T0, T0 + 2 * HOUR, out, now_ms=T0 + 2 * HOUR)
    words = _words(out)
    assert "No finding is recorded, and yet 1 of the batches" in words
    assert "no open warning" not in words


def test_log_with_ends_exchanged_says_so(store: Store, tmp_path: Path) -> None:
    """One clear line."""
    with pytest.raises(ConfigError, match="ends before it begins"):
        print_log(store, T0 + 1, T0, tmp_path / "log.pdf", now_ms=T0 + HOUR)


def test_log_of_the_future_says_so(store: Store, tmp_path: Path) -> None:
    """Nothing is recorded of tomorrow."""
    with pytest.raises(ConfigError, match="lies ahead"):
        print_log(store, T0 + 2, T0 + 3, tmp_path / "log.pdf", now_ms=T0 + 1)


def test_log_of_a_store_without_a_site_says_what_to_do(empty_store: Store, tmp_path: Path) -> None:
    """There is nobody's log to print."""
    with pytest.raises(StoreMissingError, match="holdwatch init"):
        print_log(empty_store, T0, T0 + 1, tmp_path / "log.pdf", now_ms=T0 + HOUR)


def test_log_that_cannot_be_written_leaves_the_old_one(store: Store, tmp_path: Path) -> None:
    """A place that is not there, or is a directory, is told in one line; no part of a file stays."""
    with pytest.raises(ConfigError, match="cannot be written"):
        print_log(store, T0, T0 + HOUR, tmp_path / "nowhere" / "log.pdf", now_ms=T0 + HOUR)
    (tmp_path / "log.pdf").mkdir()
    (tmp_path / "log.pdf" / "keep").write_text("kept")
    with pytest.raises(ConfigError, match="cannot be written"):
        print_log(store, T0, T0 + HOUR, tmp_path / "log.pdf", now_ms=T0 + HOUR)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["data", "log.pdf"]


def test_log_names_a_change_of_the_site_within_the_span(store: Store, tmp_path: Path) -> None:
    """A log over a change of settings says when it was."""
    with store.write() as session:
        set_site(
            session,
            name="Linden Street Patisserie",
            timezone=ZONE,
            limits="us-food-code-2022",
            unit="C",
            from_ms=T0 + HOUR,
            now_ms=T0 + HOUR,
            by="ana",
        )
    out = tmp_path / "log.pdf"
    print_log(store, T0, T0 + 2 * HOUR, out, now_ms=T0 + 3 * HOUR)
    assert "The site's settings were changed on 31 Oct 01:00" in _words(out)


def test_log_names_the_record_that_it_was_printed_from(kitchen: Store, printed: Path) -> None:
    """The digest can be typed into `holdwatch verify`; every page has its beginning; what it proves is said."""
    from holdwatch.records.verify import verify

    words = _words(printed)
    found = re.search(r"line (\d+) of its chain, digest ((?:[0-9a-f]{8} ?){8})", words)
    assert found is not None, words
    digest = found[2].replace(" ", "")
    assert verify(kitchen, [digest]).held_until == int(found[1])
    assert words.count(f"record {found[1]} · {digest[:16]}") == _pages(printed)
    assert "not that nothing was changed before" in words
    assert "no day is sealed yet" in words


def test_log_names_the_key_of_the_seals(kitchen: Store, tmp_path: Path) -> None:
    """As soon as a day is sealed, with the last one that is."""
    import shutil

    from holdwatch.storage.sealing import seal_next
    from holdwatch.trust.keys import key_in, public_hex

    kitchen.checkpoint()
    (tmp_path / "copy").mkdir()
    shutil.copy(str(kitchen.parsed.database), tmp_path / "copy" / "holdwatch.db")
    copy = open_store(store_url(tmp_path / "copy", None))
    try:
        key = key_in(tmp_path)
        seal = seal_next(copy, key, NOW + 48 * HOUR)
        assert seal is not None
        print_log(copy, ONE_DAY.first_ms, ONE_DAY.last_ms, tmp_path / "log.pdf", now_ms=NOW)
    finally:
        copy.close()
    words = _words(tmp_path / "log.pdf").replace(" ", "")
    assert seal.day == "2026-10-31"
    assert f"until31Oct2026(UTC),bythekey{public_hex(key)}" in words


@pytest.fixture
def copy(kitchen: Store, tmp_path: Path) -> Iterator[Store]:
    """A copy of the kitchen that may be written into."""
    import shutil

    kitchen.checkpoint()
    (tmp_path / "copy").mkdir()
    shutil.copy(str(kitchen.parsed.database), tmp_path / "copy" / "holdwatch.db")
    opened = open_store(store_url(tmp_path / "copy", None))
    yield opened
    opened.close()


def test_log_prints_checks_of_probes_with_the_actual_values(copy: Store, tmp_path: Path) -> None:
    """21 CFR 117.305(a): actual values. What it showed, what is true, what was found and done, by whom."""
    from holdwatch.calculators.calibration import melting_ice
    from holdwatch.storage.calibration import Done, record_check
    from holdwatch.storage.register import probes

    with copy.write() as session:
        probe = probes(session)[0]
        record_check(
            session,
            probe,
            [melting_ice(2.0)],
            asked_c=2 / 1.8,
            done=Done.CORRECTED,
            text="after it fell",
            at_ms=NOW - HOUR,
            now_ms=NOW,
            by="Ana",
        )
        code = probe.code
    print_log(copy, SPAN.first_ms, SPAN.last_ms, tmp_path / "log.pdf", now_ms=NOW)
    words = _words(tmp_path / "log.pdf")
    for told in ("ice: 35.6 °F, true 32.0 °F ± 0.2 °F", "beyond what is asked (± 2.0 °F); corrected (after it fell)"):
        assert told in words, words
    assert "corrected by −3.6 °F from" in words
    assert code in words


def test_log_says_who_has_gone_over_its_days_and_what_changed_since(copy: Store, tmp_path: Path) -> None:
    """A review of one of its days, and an entry about that day afterwards."""
    from holdwatch.storage.day_reviews import review_days
    from holdwatch.storage.register import batches, note
    from holdwatch.storage.tables import EventKind

    def printed() -> str:
        print_log(copy, SPAN.first_ms, SPAN.last_ms, tmp_path / "log.pdf", now_ms=NOW)
        return _words(tmp_path / "log.pdf")

    assert "Nobody has gone over a day of this period" in printed()
    with copy.write() as session:
        day = "2026-11-01"
        review_days(session, day, day, ended_before="2026-11-02", by="Ines Okafor", manager=None, now_ms=NOW)
    words = printed()
    assert "Ines Okafor (not signed)" in words
    assert "nothing changed since" in words
    with copy.write() as session:
        note(session, batches(session)[0], EventKind.NOTE, at_ms=ONE_DAY.last_ms + 1, now_ms=NOW, by="x", text="y")
    assert "changed since: 1 entry" in printed()
