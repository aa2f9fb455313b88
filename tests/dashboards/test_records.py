"""The Records page."""

import re
import subprocess
from datetime import date

import pytest

from dashboards.parts.records.spans import OTHER
from holdwatch.clock import to_iso
from holdwatch.language import ENGLISH, LANGUAGES, speaking
from holdwatch.storage.calibration import checks_of
from holdwatch.storage.day_reviews import day_reviews
from holdwatch.storage.engine import Store
from holdwatch.storage.logger_files import MOST_BYTES
from holdwatch.storage.people import add_person, keep_pin
from holdwatch.storage.people_tables import Person
from holdwatch.storage.register import batches, events, set_site, units
from holdwatch.storage.tables import Batch, EventKind
from tests.dashboards.conftest import Opener, empty, morning, press, shown, unfold
from tests.views.conftest import BY, NOW, Morning

__all__ = ["empty", "morning"]


@pytest.fixture
def manager(morning: Morning) -> Person:
    """A manager with the PIN 2739, and a cook with 4816."""
    from holdwatch.people.pins import hash_pin

    with morning.store.write() as session:
        person = add_person(session, "Ines Okafor", "IO", "manager", now_ms=NOW, by=BY)
        cook = add_person(session, "Tomas Ek", "TE", "cook", now_ms=NOW, by=BY)
        keep_pin(session, person, hash_pin("2739"), now_ms=NOW, by=BY)
        keep_pin(session, cook, hash_pin("4816"), now_ms=NOW, by=BY)
    return person


@pytest.mark.pdf
def test_yesterday_is_printed_in_two_touches(morning: Morning, open_page: Opener) -> None:
    """One prints, one takes the file: the log, yesterday and the paper stand there already."""
    assert morning.well
    at = open_page("records")
    press(at, "Print")
    (button,) = at.get("download_button")
    assert button.proto.label == "Take log-2026-10-13.pdf"


@pytest.mark.pdf
def test_every_paper_can_be_chosen(morning: Morning, open_page: Opener) -> None:
    """A day, a batch, findings, checks, and a log of one unit; a file of other choices is not offered."""
    with morning.store.read() as session:
        lot, unit = batches(session)[0].lot, units(session)[0].name
    at = open_page("records")
    for which, name in (
        ("A day", "day-2026-10-13.pdf"),
        ("Findings and actions", "findings-2026-10-13.pdf"),
        ("Checks of probes", "checks-2026-10-13.pdf"),
    ):
        at.button_group(key="records-kind").set_value(which).run()
        assert not at.get("download_button")
        press(at, "Print")
        assert at.get("download_button")[0].proto.label == f"Take {name}"
    at.button_group(key="records-kind").set_value("A batch").run()
    at.selectbox(key="records-lot").set_value(lot).run()
    press(at, "Print")
    assert at.get("download_button")[0].proto.label == f"Take batch-{lot}.pdf"
    at.button_group(key="records-kind").set_value("The inspection log").run()
    unfold(at, "Only some units or batches")
    at.multiselect(key="records-units").set_value([unit]).run()
    press(at, "Print")
    assert at.get("download_button")[0].proto.label == "Take log-2026-10-13.pdf"


def test_lots_are_listed_once_somebody_chooses_and_stay_chosen_when_folded(morning: Morning, open_page: Opener) -> None:
    """A log of one batch never becomes a log of everything by a fold."""
    assert morning.well
    at = open_page("records")
    assert not at.multiselect
    unfold(at, "Only some units or batches")
    at.multiselect(key="records-lots").set_value(["L-0412"]).run()
    at.session_state["records-some"] = False
    at.run()
    assert at.multiselect(key="records-lots").value == ["L-0412"]
    at.multiselect(key="records-lots").set_value([]).run()
    at.run()
    assert not at.multiselect


@pytest.mark.pdf
def test_temperatures_are_printed_as_chosen(morning: Morning, open_page: Opener) -> None:
    """The site's own unit stands there already; in the other one the paper says so, and the file set before is not offered."""
    assert morning.well
    at = open_page("records")
    at.button_group(key="records-kind").set_value("A day").run()
    assert at.button_group(key="records-scale").value == "F"
    for scale, other in ("F", "C"), ("C", "F"):
        at.button_group(key="records-scale").set_value(scale).run()
        assert not at.get("download_button")
        press(at, "Print")
        _, pdf = at.session_state["records-log"]
        said = subprocess.run(["pdftotext", "-", "-"], input=pdf, capture_output=True, check=True).stdout.decode()
        assert f"in °{scale}; compared" in said
        assert f"in °{other}; compared" not in said


def test_a_written_sheet_is_typed_in(morning: Morning, open_page: Opener) -> None:
    """What is wrong is said, nothing is recorded until every row can be; then each says entered later and by whom."""
    with morning.store.read() as session:
        batch = session.get_one(Batch, morning.well)
        lot, product, vessels = batch.lot, batch.product, batch.vessels
        unit = units(session)[0].name
        before = len(events(session, kinds=[EventKind.READING]))
    at = open_page("records", part="sheet")

    def typed(row: int, **said: str) -> None:
        for field, text in said.items():
            box = at.selectbox if field == "subject" else at.text_input
            widget = box(key=f"records-sheet-{row}-{field}")
            widget.set_value(text) if field == "subject" else widget.input(text)

    at.selectbox(key="records-sheet-who").set_value(BY)
    press(at, "Record these rows")
    assert "No row has anything in it" in shown(at)
    typed(0, time="09:10", subject=f"{lot} · {product}", temperature="warm", initials="TE")
    typed(1, time="00:01", subject=f"{unit} (unit)", temperature="39.5", done="shut the door")
    press(at, "Record these rows")
    assert "“warm” is not a temperature" in shown(at)
    typed(0, temperature="900")
    press(at, "Record these rows")
    with morning.store.read() as session:
        assert len(events(session, kinds=[EventKind.READING])) == before
    typed(0, temperature="60", time="00:00")
    press(at, "Record these rows")
    assert "had not started then" in shown(at)
    with morning.store.read() as session:
        assert len(events(session, kinds=[EventKind.READING])) == before
    typed(0, time="11:30")
    press(at, "Record these rows")
    assert f"Entered later by {BY}: 2 rows." in shown(at), shown(at)
    assert vessels >= 1
    with morning.store.read() as session:
        found = events(session, kinds=[EventKind.READING])[-2:]
        (done,) = [e for e in events(session, kinds=[EventKind.ACTION]) if "shut the door" in e.text]
    assert {event.by for event in found} == {BY}
    assert f"measured by TE; entered later by {BY} from a written log sheet" in {event.text for event in found}
    assert "entered later by" in done.text


def test_a_manager_goes_over_yesterday_and_signs(morning: Morning, manager: Person, open_page: Opener) -> None:
    """What is not in order stands first; the signature needs the PIN of somebody who may."""
    at = open_page("records", part="days")
    text = shown(at)
    assert "Nobody has gone over 1 of the last days: 13 Oct 2026" in text
    assert "nobody has settled it" in text
    for name, pin, says in (
        ("Ines Okafor", "", "signed with your PIN"),
        ("Tomas Ek", "4816", "may not do this: a manager does"),
    ):
        at.selectbox(key="records-review-who").set_value(name)
        at.text_input(key="records-review-pin").input(pin)
        press(at, "I have gone over these days")
        assert says in shown(at)
    with morning.store.read() as session:
        assert day_reviews(session) == []
    at.selectbox(key="records-review-who").set_value("Ines Okafor")
    at.text_input(key="records-review-pin").input("2739")
    press(at, "I have gone over these days")
    assert "Reviewed by Ines Okafor, " in shown(at)
    with morning.store.read() as session:
        (review,) = day_reviews(session)
    assert (review.by, review.signed, review.first_day) == (manager.name, True, "2026-10-13")


def test_the_record_is_held_against_its_chain(morning: Morning, open_page: Opener) -> None:
    """Whole; and a digest of something else is not found in it."""
    assert morning.slow
    at = open_page("records", part="whole")
    press(at, "Hold the record against its chain")
    assert "Whole up to line" in shown(at)
    at.text_input(key="records-digest").input("ab" * 32)
    press(at, "Hold the record against its chain")
    assert "The record is not whole: 1 places" in shown(at)


def test_a_probe_is_checked(morning: Morning, open_page: Opener) -> None:
    """Due probes stand on top; what is missing or no temperature is said, and nothing typed is lost."""
    at = open_page("records", part="probes")
    assert "never checked" in shown(at)
    press(at, "Record the check")
    assert "at least one bath" in shown(at)
    at.text_input(key="records-check-hot").input("203")
    press(at, "Record the check")
    assert "depends on the pressure" in shown(at)
    at.text_input(key="records-check-hot").input("")
    at.text_input(key="records-check-ice").input("cold")
    press(at, "Record the check")
    assert "is not a temperature" in shown(at)
    at.text_input(key="records-check-ice").input("32.5")
    at.selectbox(key="records-check-who").set_value(BY)
    press(at, "Record the check")
    assert "within what is asked" in shown(at)
    with morning.store.read() as session:
        (check,) = checks_of(session)
    assert check.by == BY
    assert check.points[0].shows_c == pytest.approx(0.5 / 1.8)


def test_handing_over_offers_the_checker(morning: Morning, open_page: Opener) -> None:
    """The file that needs nothing else."""
    assert morning.well
    at = open_page("records", part="hand")
    assert "holdwatch export record" in shown(at)
    (button,) = at.get("download_button")
    assert button.proto.label == "Take check_record.py"


def test_a_file_that_is_too_large_is_refused_in_words(morning: Morning, open_page: Opener) -> None:
    """Where more than the pages take comes all the same: nothing of it is read, and no page breaks off."""
    assert morning.well
    at = open_page("records", part="file")
    key = "logger-file"
    at.file_uploader(key=f"{key}-file").set_value(("year.csv", b"0" * (MOST_BYTES + 1), "text/csv"))
    at.text_input(key=f"{key}-code").input("logger-7")
    press(at, "Keep its readings")
    assert "year.csv is larger than 8 MB" in shown(at)


def test_a_loggers_file_is_read(morning: Morning, open_page: Opener) -> None:
    """A row that is none is named and nothing is kept; then it is left out, and the page of the unit says so."""
    with morning.store.read() as session:
        unit = units(session)[0]
    at = open_page("records", part="file")
    rows = f"time,temperature_c\n{to_iso(NOW - 60_000)},3\n{to_iso(NOW)},err\n"

    def keep(key: str) -> None:
        at.file_uploader(key=f"{key}-file").set_value(("walkin.csv", rows.encode(), "text/csv"))
        at.text_input(key=f"{key}-code").input("logger-7")
        at.selectbox(key=f"{key}-unit").set_value(unit.name)
        at.selectbox(key=f"{key}-who").set_value(BY)
        press(at, "Keep its readings")

    keep("logger-file")
    assert "line 3: not a number: &#x27;err&#x27;" in shown(at) or "line 3: not a number: 'err'" in shown(at)
    at.checkbox(key="logger-file-leave").check()
    keep("logger-file")
    assert f"1 readings of walkin.csv are kept for {unit.name}; 1 row left out" in shown(at)
    assert "Read from a logger’s file, " in shown(open_page("units", unit=str(unit.id)))


def test_rows_are_taken_with_what_they_mean(morning: Morning, open_page: Opener) -> None:
    """How much it is stands there before; another choice is another file."""
    assert morning.well
    at = open_page("records", part="hand")
    at.button_group(key="records-what").set_value("What was done").run()
    at.button_group(key="records-hand-days").set_value("Other days").run()
    at.date_input(key="records-hand-first").set_value(date(2026, 10, 14)).run()
    at.radio(key="records-form").set_value("Parquet").run()
    assert re.search(r"About [1-9]\d* rows, 1 kB", shown(at))
    press(at, "Make the file")
    labels = [button.proto.label for button in at.get("download_button")]
    assert labels[:2] == ["Take events-2026-10-14.parquet", "Take what its columns mean"]
    at.radio(key="records-form").set_value("JSON lines").run()
    assert len(at.get("download_button")) == 1


def test_a_recall_is_answered_on_the_page(morning: Morning, open_page: Opener) -> None:
    """What contains a lot, and what stood in a unit or may have; a span that cannot be is told beside its fields."""
    with morning.store.read() as session:
        lot, unit = session.get_one(Batch, morning.slow).lot, units(session)[0].name
    at = open_page("records", part="recall")
    at.selectbox(key="recall-lot").set_value(lot).run()
    assert f'<a href="/batches?batch={morning.slow}" target="_self">{lot}</a>' in shown(at)
    assert "itself" in shown(at)
    at.radio(key="recall-question").set_value("What stood in a unit").run()
    at.selectbox(key="recall-unit").set_value(unit)
    at.text_input(key="recall-from").set_value("2026-10-14 11:00").run()
    assert "may have stood there" in shown(at)
    at.text_input(key="recall-to").set_value("2026-10-14 10:00").run()
    assert "exchange the two" in shown(at)
    at.text_input(key="recall-to").set_value("noon").run()
    assert "is not a time" in shown(at)


@pytest.mark.parametrize("language", [each for each in LANGUAGES if each != ENGLISH])
def test_days_are_chosen_in_every_language(empty: Store, open_page: Opener, language: str) -> None:
    """The form in which a day is written is asked of the field, and is no word of a language."""
    with empty.write() as session:
        set_site(session, from_ms=NOW - 1, now_ms=NOW, by=BY, language=language)
    assert open_page("records", part="sheet").date_input
    at = open_page("records", part="print")
    with speaking(language):
        at.button_group(key="records-print-days").select(OTHER).run()
    assert not at.exception
    assert len(at.date_input) == 2
