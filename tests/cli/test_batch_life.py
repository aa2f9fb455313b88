"""What a person may say of a batch in the course of its life, and what is refused with a cure."""

from hashlib import sha256
from pathlib import Path

import pytest

from holdwatch.cli.batch import Beginning
from holdwatch.cli.batch_note import Delivery, Kind, Under
from holdwatch.clock import now_ms, to_iso
from holdwatch.rules.life import BEGINNINGS
from holdwatch.storage.engine import open_store, store_url
from holdwatch.storage.register import batch_named, events
from holdwatch.storage.said import DELIVERIES, UNDER
from holdwatch.storage.tables import EventKind
from tests.support.commands import printed, refused, succeed


def test_words_of_the_commands_are_those_of_the_rules() -> None:
    """Help knows the words without loading arrays or a database library."""
    assert [each.value for each in Beginning] == [process.value for process in BEGINNINGS]
    assert tuple(Under) == UNDER
    assert tuple(f"receiving-{each}" for each in Delivery) == DELIVERIES
    assert {each.value for each in Kind} <= {each.value for each in EventKind}


def test_batch_start_keeps_what_it_begins_with(kitchen: Path) -> None:
    """The processes, the evidence and the maker's date stand in the event of the start."""
    more = ("--process", "ambient-cooling", "--use-by", "2026-12-01")
    succeed("batch", "start", "--product", "Tuna salad", "--lot", "L8", *more, "--data", kitchen)
    store = open_store(store_url(kitchen, None))
    with store.read() as session:
        batch = batch_named(session, "L8")
        (start,) = events(session, batch_id=batch.id, kinds=[EventKind.BATCH_STARTED])
    store.close()
    assert (batch.step, start.facts["processes"], start.facts["use_by"]) == ("cool", ["ambient-cooling"], "2026-12-01")


def test_batch_note_removed_keeps_under_which_process(kitchen: Path) -> None:
    """Time counts from the removal on, and the room's air may stand for the food."""
    succeed("batch", "note", "L1", "removed", "--under", "time-control-6h", "--room-air", "--data", kitchen)
    store = open_store(store_url(kitchen, None))
    with store.read() as session:
        batch = batch_named(session, "L1")
        (removed,) = events(session, batch_id=batch.id, kinds=[EventKind.REMOVED])
    store.close()
    assert removed.facts == {"under": "time-control-6h", "room_air": True}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("note", "L1", "moved", "--under", "time-control-4h"), "use it with removed"),
        (("note", "L1", "removed", "--room-air"), "say under which"),
        (("note", "L1", "step"), "a step needs its name"),
        (("note", "L1", "step", "fry"), "is no step"),
        (("note", "L1", "reheating", "fun"), "hot-holding or service"),
        (("start", "--product", "Tart", "--lot", "L9", "--use-by", "soon"), "2026-12-01"),
        (("add", "L1", "L1"), "itself"),
        (("divide", "L1", "L1"), "already a batch"),
        (("divide", "L1", "L9", "--vessel", 7), "no vessel 7"),
    ],
)
def test_batch_refuses_what_cannot_be(kitchen: Path, words: tuple[object, ...], said: str) -> None:
    """One line that says what to do."""
    assert said in refused("batch", *words, "--data", kitchen)


def test_batch_divide_and_add_take_the_past_along(kitchen: Path) -> None:
    """Each side remembers the other; what is in it cannot be added back."""
    succeed("batch", "divide", "L1", "L1-b", "--data", kitchen)
    succeed("batch", "start", "--product", "Eclairs", "--lot", "E1", "--data", kitchen)
    succeed("batch", "add", "E1", "L1-b", "--data", kitchen)
    assert "already holds some" in refused("batch", "add", "L1", "E1", "--data", kitchen)
    store = open_store(store_url(kitchen, None))
    with store.read() as session:
        told = [e.kind for e in events(session, batch_id=batch_named(session, "L1-b").id)]
    store.close()
    assert sorted(told) == ["added", "batch-started", "parted"]


def test_batch_note_corrects_another_and_both_stay_readable(kitchen: Path) -> None:
    """A removal that was entered at the wrong time; the list tells what stands in its place."""
    succeed("batch", "note", "L1", "removed", "--under", "time-control-4h", "--data", kitchen)
    wrong = next(row["note"] for row in printed("batch", "notes", "L1", "--data", kitchen) if row["kind"] == "removed")
    again = ("--under", "time-control-4h", "--instead-of", wrong)
    succeed("batch", "note", "L1", "removed", *again, "--data", kitchen)
    rows = [row for row in printed("batch", "notes", "L1", "--data", kitchen) if row["kind"] == "removed"]
    assert min((row["note"], row["corrected_by_note"]) for row in rows) == (wrong, rows[-1]["note"])
    assert "was already replaced" in refused("batch", "note", "L1", "removed", *again, "--data", kitchen)


def test_a_reading_by_hand_says_with_which_thermometer(kitchen: Path) -> None:
    """It stands in the notes; of nothing else is it asked."""
    succeed("batch", "note", "L1", "reading", "68F", "--thermometer", "T2", "--data", kitchen)
    (row,) = [each for each in printed("batch", "notes", "L1", "--data", kitchen) if each["kind"] == "reading"]
    assert "thermometer T2" in row.values()
    assert "use it with reading" in refused(
        "batch", "note", "L1", "left-heat", "--thermometer", "T2", "--data", kitchen
    )


def test_batch_show_says_by_when_it_is_to_be_gone(kitchen: Path) -> None:
    """The time in use governs before the date mark, and both name what sets them."""
    succeed("batch", "note", "L1", "in-use", "90 min", "--data", kitchen)
    (first, mark) = printed("batch", "show", "L1", "--json", "--data", kitchen)["discard"]
    assert (first["clause"], first["why"]) == ("in use", "1 h 30 min in use")
    assert mark["clause"] == "3-501.17(A)"
    assert "Discard by" in succeed("batch", "show", "L1", "--data", kitchen)


def test_what_is_in_use_goes_by_the_plan_where_nobody_says_otherwise(kitchen: Path) -> None:
    """A bag by the plan in force when it became a batch of its own; without a plan the hours are asked for."""
    assert "the plan says nothing of it" in refused("batch", "note", "L1", "in-use", "--data", kitchen)
    succeed("product", "take", "pastry-cream", "--data", kitchen)
    succeed("product", "shelf-life", "Pastry cream", "--in-use", "2 h", "--data", kitchen)
    bag = ("batch", "start", "--product", "Pastry cream", "--lot", "Bag-1", "--process", "cold-holding")
    succeed(*bag, "--in-use", "plan", "--data", kitchen)
    succeed("batch", "divide", "Bag-1", "Bag-2", "--data", kitchen)
    succeed("batch", "note", "Bag-2", "in-use", "--data", kitchen)
    for lot in ("Bag-1", "Bag-2"):
        first = printed("batch", "show", lot, "--json", "--data", kitchen)["discard"][0]
        assert (first["clause"], first["why"]) == ("in use", "2 h in use")


@pytest.mark.parametrize("said", ["soon", "0 h", "200 h"])
def test_time_in_use_that_cannot_be_is_refused(kitchen: Path, said: str) -> None:
    """It says how to write it."""
    assert "4 h or 90 min" in refused("batch", "note", "L1", "in-use", said, "--data", kitchen)


def test_logger_is_read_back_after_the_handover(kitchen: Path, tmp_path: Path) -> None:
    """Both stand in the notes; a line that cannot be read is named."""
    start = ("--product", "Cake", "--lot", "K1", "--vessels", 2, "--process", "cold-holding")
    succeed("batch", "start", *start, "--data", kitchen)
    succeed("batch", "hand-over", "K1", "--to", "R. Vance", "--temperature", "39F", "--vessel", 1, "--data", kitchen)
    file = tmp_path / "logger.csv"
    file.write_text("time,temperature_c\nyesterday,3\n", encoding="utf-8")
    assert "line 2" in refused("batch", "read-back", "K1", file, "--logger", "g7", "--data", kitchen)
    now = to_iso(now_ms())
    file.write_text(f"time,temperature_c\n{now},3\n", encoding="utf-8")
    said = succeed("batch", "read-back", "K1", file, "--logger", "g7", "--vessel", 2, "--data", kitchen)
    assert sha256(file.read_bytes()).hexdigest() in said
    kinds = [note["kind"] for note in printed("batch", "notes", "K1", "--json", "--data", kitchen)]
    assert {"handed-over", "reading", "read-back"} <= set(kinds)


def test_a_loggers_file_is_read_for_a_unit(kitchen: Path, tmp_path: Path) -> None:
    """What was left out is named, a line each; the order of day and month is asked, never guessed."""
    file, here = tmp_path / "walkin.csv", ("--data", kitchen)
    said = ("probe", "read-file", file, "--logger", "g7", "--unit", "Walk-in 1", "--medium", "air")
    file.write_text("time,temperature_c\n03/04/2026 14:30,3\nsoon,3\n", encoding="utf-8")
    assert "whether the day or the month comes first" in refused(*said, *here)
    assert "line 3: not a time: 'soon'" in refused(*said, "--dates", "day-first", *here)
    told = succeed(*said, "--dates", "day-first", "--leave-out", *here).splitlines()
    assert told[0] == "left out, line 3: not a time: 'soon'"
    assert "walkin.csv: 1 readings kept of g7" in told[1]
    assert "already read back" in refused(*said, "--dates", "day-first", "--leave-out", *here)


def test_code_of_a_door_confirms_a_move(kitchen: Path, tmp_path: Path) -> None:
    """The signs are printed; a code that stands on no door is refused, and a unit beside the code as well."""
    succeed("unit", "doors", "-o", tmp_path / "doors.pdf", "--data", kitchen)
    assert (tmp_path / "doors.pdf").read_bytes().startswith(b"%PDF")
    assert "stands on no door" in refused("batch", "note", "L1", "moved", "--door", "00000", "--data", kitchen)
    both = ("--door", "00000", "--unit", "Walk-in 1")
    assert "without --unit" in refused("batch", "note", "L1", "moved", *both, "--data", kitchen)


def test_label_is_written(kitchen: Path, tmp_path: Path) -> None:
    """And a tag for each of its pans."""
    for more in ((), ("--cooling", "--size", "2x3in")):
        out = tmp_path / "labels.pdf"
        succeed("label", "L1", *more, "-o", out, "--data", kitchen)
        assert out.read_bytes().startswith(b"%PDF")


def test_how_much_there_is_of_a_batch_is_kept_and_of_its_part_too(kitchen: Path) -> None:
    """As the kitchen measures it; a batch of which nobody said it has none."""
    here = ("--data", kitchen)
    succeed("batch", "start", "--product", "Ganache", "--lot", "G1", "--amount", " 9 kg ", *here)
    succeed("batch", "divide", "G1", "G1-b", "--amount", "3 kg", *here)
    said = [printed("batch", "show", lot, *here)["amount"] for lot in ("G1", "G1-b", "L1")]
    assert said == ["9 kg", "3 kg", None]
    assert "Amount: 9 kg." in succeed("batch", "show", "G1", *here)
    assert "no amount" in refused("batch", "start", "--product", "Ganache", "--lot", "G2", "--amount", "x" * 400, *here)
