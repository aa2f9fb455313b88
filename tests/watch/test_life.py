"""What a batch's life asks of it: time control, mixing, parts, reheating, display, date marks, deliveries.

The verdicts are reasoned from the clauses of the FDA Food Code 2022 (3-501.14, .16, .17, .19; 3-403.11; 3-202.11) and,
for a single spell on display, SR (NI) 2006/3 Schedule 4.
"""

from typing import Any

import pytest

from holdwatch.quantities import celsius_of_f
from holdwatch.rules.verdicts import Verdict
from holdwatch.storage.batching import batch_named
from holdwatch.storage.contacts import add_contact
from holdwatch.storage.events import events
from holdwatch.storage.findings import finding_versions
from holdwatch.storage.life import contents_of
from holdwatch.storage.outbox import alerts_of
from holdwatch.storage.parts import add_part, divide_batch
from holdwatch.storage.register import add_correction, end_batch, note, place, take_out
from holdwatch.storage.tables import Batch, EventKind, Finding, Unit
from holdwatch.views.batches import batch_view
from tests.watch.kitchen import DAY, HOUR, MIN, T0, Kitchen, Pair, cooling, straight

STAGE_1, STAGE_2 = "3-501.14(A)(1)", "3-501.14(A)(2)"
COLD, HOT = "3-501.16(A)(2)", "3-501.16(A)(1)"
FOUR_HOURS, SIX_HOURS, REHEATED = "3-501.19(B)", "3-501.19(C)", "3-403.11(A)"
MARK, RECEIVED = "3-501.17(A)", "3-202.11(A)"
COLD_FOOD = straight(38, 38, 30, every_min=2)
UNDER_4H: dict[str, Any] = {"facts": {"under": "time-control-4h"}}


def _verdict(kitchen: Kitchen, clause: str, batch: int = 1, occasion: str | None = None) -> str:
    rows = [row for row in kitchen.clauses() if row.batch_id == batch and row.clause == clause]
    rows = [row for row in rows if occasion is None or row.day == occasion]
    (row,) = rows
    return row.verdict


def _clause(kitchen: Kitchen, clause: str, batch: int = 1) -> dict[str, Any]:
    (row,) = [row for row in kitchen.clauses() if row.batch_id == batch and row.clause == clause]
    return row.facts


def _read(kitchen: Kitchen, code: str, readings: list[Pair], now_ms: int | None = None) -> None:
    now_ms = readings[-1][0] if now_ms is None else now_ms
    kitchen.arrive(code, readings, now_ms)
    kitchen.rounds(now_ms)


def _found(kitchen: Kitchen, clause: str) -> list[Finding]:
    return [finding for finding in kitchen.found() if finding.clause == clause]


def _held(kitchen: Kitchen, lot: str = "L1", code: str = "p1", at_ms: int = T0, **more: Any) -> Batch:
    if code not in kitchen.probes:
        kitchen.probe(code)
    return kitchen.batch(lot, code, at_ms=at_ms, processes=["cold-holding"], **more)


def _gone(kitchen: Kitchen, batch: Batch, at_ms: int, outcome: str = "sold") -> None:
    with kitchen.store.write() as session:
        end_batch(session, session.merge(batch), outcome=outcome, at_ms=at_ms, now_ms=at_ms, by="test")


def test_batch_that_was_just_put_in_store_calls_nobody(kitchen: Kitchen) -> None:
    """Its holding begins with the batch: the first reading is awaited for the largest gap, 20 min, then not shown."""
    _held(kitchen)
    kitchen.rounds(T0 + MIN)
    assert (_verdict(kitchen, COLD), kitchen.found()) == ("open", [])
    _read(kitchen, "p1", [(T0 + 2 * MIN, celsius_of_f(38))], T0 + 6 * MIN)  # settled by then
    assert (_verdict(kitchen, COLD), kitchen.found()) == ("met", [])


def test_batch_in_store_that_nobody_reads_is_not_shown(kitchen: Kitchen) -> None:
    """Twenty minutes after its start; before that its answer is on its way."""
    _held(kitchen)
    kitchen.rounds(T0 + 20 * MIN)
    assert _verdict(kitchen, COLD) == "open"
    kitchen.rounds(T0 + 20 * MIN + 1)
    assert _verdict(kitchen, COLD) == "unproven"


# ---------------------------------------------------------------- time in place of temperature


def test_time_control_is_told_half_an_hour_before_it_is_up_and_when_it_is(kitchen: Kitchen) -> None:
    """Removed at 08:30: told from 12:00 on; at 12:30 nobody recorded an end, so discard it, and record it."""
    batch = _held(kitchen)
    _read(kitchen, "p1", COLD_FOOD)
    kitchen.note(batch, EventKind.REMOVED, T0 + 30 * MIN, **UNDER_4H)
    kitchen.rounds(T0 + 30 * MIN)
    assert _verdict(kitchen, FOUR_HOURS) == "open"
    assert _clause(kitchen, FOUR_HOURS)["due"] == [T0 + 270 * MIN] * 2
    with kitchen.store.write() as session:  # the probe goes elsewhere
        take_out(session, kitchen.probes["p1"], at_ms=T0 + 31 * MIN, now_ms=T0 + 31 * MIN, by="test")
    kitchen.rounds(T0 + 4 * HOUR - MIN)
    assert _found(kitchen, FOUR_HOURS) == []
    kitchen.rounds(T0 + 4 * HOUR)
    (soon,) = _found(kitchen, FOUR_HOURS)
    assert (soon.kind, soon.source) == ("soon", "FDA Food Code 2022, 3-501.19(B)")
    kitchen.rounds(T0 + 4 * HOUR + 31 * MIN)
    (up,) = _found(kitchen, FOUR_HOURS)
    assert (up.id, up.kind, up.verdict) == (soon.id, "not-shown", "unproven")
    assert "discard it, and record it" in up.reason


def test_time_control_ended_in_time_closes_what_was_told(kitchen: Kitchen) -> None:
    """Sold three hours and fifty minutes after removal: kept, and nobody is warned any more."""
    batch = _held(kitchen)
    _read(kitchen, "p1", COLD_FOOD)
    kitchen.note(batch, EventKind.REMOVED, T0 + 30 * MIN, **UNDER_4H)
    kitchen.rounds(T0 + 4 * HOUR + 10 * MIN)
    assert [finding.kind for finding in _found(kitchen, FOUR_HOURS)] == ["soon"]
    _gone(kitchen, batch, T0 + 4 * HOUR + 20 * MIN)
    kitchen.rounds(T0 + 4 * HOUR + 21 * MIN)
    assert _verdict(kitchen, FOUR_HOURS) == "met"
    assert all(finding.closed_ms is not None for finding in _found(kitchen, FOUR_HOURS))


@pytest.mark.parametrize(("outcome", "verdict"), [("sold", "met"), ("frozen", "unproven")])
def test_freezer_is_no_end_of_time_control(kitchen: Kitchen, outcome: str, verdict: str) -> None:
    """3-501.19: served, sold, used or discarded within the time; what went into the freezer was none of these."""
    batch = _held(kitchen)
    _read(kitchen, "p1", COLD_FOOD)
    kitchen.note(batch, EventKind.REMOVED, T0 + 30 * MIN, **UNDER_4H)
    _gone(kitchen, batch, T0 + 3 * HOUR, outcome)
    kitchen.rounds(T0 + 5 * HOUR)
    assert _verdict(kitchen, FOUR_HOURS) == verdict


@pytest.mark.parametrize(
    ("kind", "text"), [(EventKind.STEP, "store"), (EventKind.REHEATING, "service"), (EventKind.FROZEN, "")]
)
def test_whatever_is_recorded_after_the_time_shows_that_food_was_still_there(
    kitchen: Kitchen, kind: EventKind, text: str
) -> None:
    """The time was up at 12:30; at 12:40 somebody did something with it."""
    batch = _held(kitchen)
    _read(kitchen, "p1", COLD_FOOD)
    kitchen.note(batch, EventKind.REMOVED, T0 + 30 * MIN, **UNDER_4H)
    kitchen.note(batch, kind, T0 + 280 * MIN, text=text)
    kitchen.rounds(T0 + 281 * MIN)
    assert _verdict(kitchen, FOUR_HOURS) == "missed"


def test_removal_entered_late_judges_again(kitchen: Kitchen) -> None:
    """The same removal corrected to an hour earlier: the time was up an hour earlier; both entries stay."""
    batch = _held(kitchen)
    _read(kitchen, "p1", straight(38, 38, 90, every_min=2))
    kitchen.note(batch, EventKind.REMOVED, T0 + 90 * MIN, **UNDER_4H)
    kitchen.rounds(T0 + 100 * MIN)
    assert _clause(kitchen, FOUR_HOURS)["due"] == [T0 + 330 * MIN] * 2
    with kitchen.store.read() as session:
        (removed,) = events(session, batch_id=batch.id, kinds=[EventKind.REMOVED])
    kitchen.note(batch, EventKind.REMOVED, T0 + 30 * MIN, replaces_id=removed.id, **UNDER_4H)
    kitchen.rounds(T0 + 101 * MIN)
    assert _clause(kitchen, FOUR_HOURS)["due"] == [T0 + 270 * MIN] * 2
    with kitchen.store.read() as session:
        told = events(session, batch_id=batch.id, kinds=[EventKind.REMOVED], all_versions=True)
    assert [event.at_ms for event in told] == [T0 + 30 * MIN, T0 + 90 * MIN]


@pytest.mark.parametrize(
    ("medium", "unit_f", "stood_min", "verdict"),
    [
        ("food", 38.0, 130, "open"),
        ("product", 38.0, 130, "open"),
        ("air", 38.0, 130, "unproven"),  # air is not food
        ("food", 44.0, 130, "unproven"),
        ("food", 38.0, 100, "unproven"),  # two hours, ours
    ],
)
def test_start_of_time_control_shown_by_the_unit(
    kitchen: Kitchen, medium: str, unit_f: float, stood_min: int, verdict: str
) -> None:
    """A batch whose cooling was kept, without a probe in it any more, in a unit that kept the limit for two hours."""
    kitchen.probe("p1")
    kitchen.probe("f1", medium)
    walk_in = kitchen.unit("Walk-in 1", "walk-in", "f1")
    batch = kitchen.batch("L1", "p1")
    kitchen.note(batch, EventKind.LEFT_HEAT, T0)
    _read(kitchen, "p1", cooling(300))
    with kitchen.store.write() as session:
        take_out(session, kitchen.probes["p1"], at_ms=T0 + 5 * HOUR, now_ms=T0 + 5 * HOUR, by="test")
    kitchen.note(batch, EventKind.MOVED, T0 + 5 * HOUR, unit=walk_in)
    removed = T0 + 5 * HOUR + stood_min * MIN
    kitchen.arrive("f1", straight(unit_f, unit_f, 500, every_min=10), removed)
    kitchen.note(batch, EventKind.REMOVED, removed, **UNDER_4H)
    kitchen.rounds(removed + MIN)
    assert _verdict(kitchen, FOUR_HOURS) == verdict
    _gone(kitchen, batch, removed + HOUR)
    kitchen.rounds(removed + HOUR)
    assert _verdict(kitchen, FOUR_HOURS) == {"open": "met"}.get(verdict, verdict)
    assert ("Walk-in 1" in _clause(kitchen, FOUR_HOURS)["reason"]) == (verdict == "open")


def _cooled_and_taken_out(kitchen: Kitchen, lot: str, *codes: str) -> Batch:
    """Give a batch that cooled in time, without a probe from 11:20 on."""
    for code in codes:
        kitchen.probe(code)
    batch = kitchen.batch(lot, *codes, vessels=len(codes))
    kitchen.note(batch, EventKind.LEFT_HEAT, T0)
    for code in codes:
        kitchen.arrive(code, cooling(200, every_min=5), T0 + 200 * MIN)
        with kitchen.store.write() as session:
            take_out(session, kitchen.probes[code], at_ms=T0 + 200 * MIN, now_ms=T0 + 200 * MIN, by="test")
    return batch


def _walk_in(kitchen: Kitchen) -> Unit:
    kitchen.probe("f1")
    unit = kitchen.unit("Walk-in 1", "walk-in", "f1")
    kitchen.arrive("f1", straight(38, 38, 400, every_min=10), T0 + 400 * MIN)
    return unit


@pytest.mark.parametrize(("cold", "verdict"), [(1, "met"), (2, "unproven")])
def test_unit_shows_the_start_of_the_vessel_that_stood_in_it(kitchen: Kitchen, cold: int, verdict: str) -> None:
    """One vessel in the walk-in, the other on the bench: the walk-in tells nothing of what stood on the bench."""
    walk_in, room = _walk_in(kitchen), kitchen.unit("Bench", "room")
    batch = _cooled_and_taken_out(kitchen, "L1", "p1", "p2")
    kitchen.note(batch, EventKind.MOVED, T0 + 200 * MIN, vessel=3 - cold, unit=room)
    kitchen.note(batch, EventKind.MOVED, T0 + 201 * MIN, vessel=cold, unit=walk_in)
    kitchen.note(batch, EventKind.REMOVED, T0 + 340 * MIN, vessel=1, **UNDER_4H)
    _gone(kitchen, batch, T0 + 390 * MIN)
    kitchen.rounds(T0 + 400 * MIN)
    assert _verdict(kitchen, FOUR_HOURS) == verdict


@pytest.mark.parametrize(("came_min", "verdict"), [(220, "met"), (221, "unproven")])
def test_unit_shows_the_start_of_food_that_stood_in_it_for_two_hours_itself(
    kitchen: Kitchen, came_min: int, verdict: str
) -> None:
    """The tray was in the walk-in for longer; the cream came into it two hours before its removal at 13:40, or later."""
    walk_in = _walk_in(kitchen)
    tray, cream = (_cooled_and_taken_out(kitchen, lot, code) for lot, code in (("Tray", "p1"), ("Cream", "p2")))
    kitchen.note(tray, EventKind.MOVED, T0 + 200 * MIN, unit=walk_in)
    _add(kitchen, tray, cream, T0 + came_min * MIN)
    kitchen.note(tray, EventKind.REMOVED, T0 + 340 * MIN, **UNDER_4H)
    _gone(kitchen, tray, T0 + 390 * MIN)
    kitchen.rounds(T0 + 400 * MIN)
    assert _verdict(kitchen, FOUR_HOURS) == verdict


@pytest.mark.parametrize(
    ("room_f", "room_air", "verdict"),
    [(68.0, True, "met"), (70.0, True, "met"), (72.0, True, "unproven"), (68.0, False, "unproven")],
)
def test_room_air_counts_where_the_written_procedure_says_so(
    kitchen: Kitchen, room_f: float, room_air: bool, verdict: str
) -> None:
    """6 h at 70 °F or less: cool air covers what no probe read; warm air breaks nothing, but shows nothing either."""
    kitchen.probe("a1", "air")
    room = kitchen.unit("Kitchen", "room", "a1")
    batch = _held(kitchen)
    _read(kitchen, "p1", COLD_FOOD)
    removed = T0 + 30 * MIN
    facts = {"under": "time-control-6h"} | ({"room_air": True} if room_air else {})
    kitchen.note(batch, EventKind.REMOVED, removed, unit=room, facts=facts)
    with kitchen.store.write() as session:
        take_out(session, kitchen.probes["p1"], at_ms=removed, now_ms=removed, by="test")
    kitchen.arrive("a1", straight(room_f, room_f, 400, every_min=10), T0 + 400 * MIN)
    _gone(kitchen, batch, removed + 5 * HOUR)
    kitchen.rounds(T0 + 400 * MIN)
    assert _verdict(kitchen, SIX_HOURS) == verdict


# ---------------------------------------------------------------- trays, parts, what goes into what


def test_food_added_to_a_tray_takes_the_earlier_time(kitchen: Kitchen) -> None:
    """A tray out since 08:30 is topped up at 10:30 with cold food: all of it is due at 12:30."""
    tray = _held(kitchen, "Tray", "p1")
    fresh = _held(kitchen, "Fresh", "p2")
    _read(kitchen, "p1", COLD_FOOD)
    kitchen.note(tray, EventKind.REMOVED, T0 + 30 * MIN, **UNDER_4H)
    _read(kitchen, "p2", straight(38, 38, 150, every_min=5))
    _add(kitchen, tray, fresh, T0 + 150 * MIN)
    kitchen.rounds(T0 + 151 * MIN)
    assert _clause(kitchen, FOUR_HOURS)["due"] == [T0 + 270 * MIN] * 2
    assert _verdict(kitchen, FOUR_HOURS) == "open"


def test_old_food_added_to_a_fresh_tray_governs(kitchen: Kitchen) -> None:
    """A tray taken out at 10:00 gets the rest of one that was out since 08:30: due at 12:30."""
    old = _held(kitchen, "Old", "p1")
    tray = _held(kitchen, "Tray", "p2")
    _read(kitchen, "p1", COLD_FOOD)
    kitchen.note(old, EventKind.REMOVED, T0 + 30 * MIN, **UNDER_4H)
    _read(kitchen, "p2", straight(38, 38, 120, every_min=5))
    kitchen.note(tray, EventKind.REMOVED, T0 + 120 * MIN, **UNDER_4H)
    _add(kitchen, tray, old, T0 + 130 * MIN)
    kitchen.rounds(T0 + 131 * MIN)
    assert _clause(kitchen, FOUR_HOURS, batch=2)["due"] == [T0 + 270 * MIN] * 2


def test_warm_food_added_to_a_tray_misses_the_start(kitchen: Kitchen) -> None:
    """Food at 60 °F that was never under time control may not be put on it."""
    tray, warm = _held(kitchen, "Tray", "p1"), _held(kitchen, "Warm", "p2")
    _read(kitchen, "p1", COLD_FOOD)
    kitchen.note(tray, EventKind.REMOVED, T0 + 30 * MIN, **UNDER_4H)
    _read(kitchen, "p2", straight(60, 60, 60, every_min=5))
    _add(kitchen, tray, warm, T0 + 60 * MIN)
    kitchen.rounds(T0 + 61 * MIN)
    assert _verdict(kitchen, FOUR_HOURS) == "missed"


def test_part_divided_off_inherits_the_clock(kitchen: Kitchen) -> None:
    """Half of a custard that left 135 °F before is poured off at an hour: its two hours run from the first."""
    kitchen.probe("p1")
    kitchen.probe("p2")
    batch = kitchen.batch("L1", "p1")
    slow = cooling(300, half_min=120)
    kitchen.arrive("p1", [pair for pair in slow if pair[0] <= T0 + HOUR], T0 + HOUR)
    with kitchen.store.write() as session:
        part = divide_batch(session, session.merge(batch), lot="L1-b", at_ms=T0 + HOUR, now_ms=T0 + HOUR, by="test")
        place(session, kitchen.probes["p2"], batch=part, vessel=1, at_ms=T0 + HOUR, now_ms=T0 + HOUR, by="test")
    kitchen.arrive("p2", [pair for pair in slow if pair[0] > T0 + HOUR], slow[-1][0])
    kitchen.arrive("p1", [pair for pair in slow if pair[0] > T0 + HOUR], slow[-1][0])
    kitchen.rounds(slow[-1][0])
    whole, part_facts = _clause(kitchen, STAGE_1), _clause(kitchen, STAGE_1, batch=2)
    assert (whole["verdict"], part_facts["verdict"]) == ("missed", "missed")
    assert part_facts["started"] == whole["started"]


def test_correction_of_the_parent_judges_the_part_again(kitchen: Kitchen) -> None:
    """Readings of the first hour that come late change the part too."""
    kitchen.probe("p1")
    kitchen.probe("p2")
    batch = kitchen.batch("L1", "p1")
    curve = cooling(200, half_min=45)
    with kitchen.store.write() as session:
        part = divide_batch(session, session.merge(batch), lot="L1-b", at_ms=T0 + HOUR, now_ms=T0 + HOUR, by="test")
        place(session, kitchen.probes["p2"], batch=part, vessel=1, at_ms=T0 + HOUR, now_ms=T0 + HOUR, by="test")
    kitchen.arrive("p2", [pair for pair in curve if pair[0] > T0 + HOUR], curve[-1][0])
    kitchen.rounds(curve[-1][0])
    assert _verdict(kitchen, STAGE_1, batch=2) == "unproven"
    kitchen.arrive("p1", [pair for pair in curve if pair[0] <= T0 + HOUR], curve[-1][0] + MIN)
    kitchen.rounds(curve[-1][0] + MIN)
    assert _verdict(kitchen, STAGE_1, batch=2) == "met"


def test_what_a_filling_goes_into_inherits_its_clock(kitchen: Kitchen) -> None:
    """Éclairs filled with a half-cooled cream are due when the cream is."""
    kitchen.probe("p1")
    cream = kitchen.batch("Cream", "p1")
    curve = cooling(90, half_min=60)
    _read(kitchen, "p1", curve)
    eclairs = kitchen.batch("Eclairs", at_ms=T0 + 90 * MIN)
    _add(kitchen, eclairs, cream, T0 + 90 * MIN)
    kitchen.note(eclairs, EventKind.READING, T0 + 200 * MIN, celsius=celsius_of_f(50), vessel=1)
    kitchen.rounds(T0 + 200 * MIN)
    assert _clause(kitchen, STAGE_2, batch=2)["started"] == _clause(kitchen, STAGE_2)["started"]
    assert _verdict(kitchen, STAGE_2, batch=2) == "open"


def test_end_of_a_part_is_no_end_of_what_it_went_into(kitchen: Kitchen) -> None:
    """All of a warm cream is used for éclairs, and ended at that minute: they are still 100 °F two hours later."""
    kitchen.probe("p1")
    cream = kitchen.batch("Cream", "p1")
    _read(kitchen, "p1", cooling(60, half_min=200, every_min=5))
    eclairs = kitchen.batch("Eclairs", at_ms=T0 + HOUR)
    _add(kitchen, eclairs, cream, T0 + HOUR)
    _gone(kitchen, cream, T0 + HOUR, "used")
    for after_h, fahrenheit in ((3, 100), (7, 63)):
        kitchen.note(eclairs, EventKind.READING, T0 + after_h * HOUR, celsius=celsius_of_f(fahrenheit), vessel=1)
    kitchen.rounds(T0 + 7 * HOUR)
    assert [_verdict(kitchen, clause) for clause in (STAGE_1, STAGE_2)] == ["none", "none"]
    assert [_verdict(kitchen, clause, batch=2) for clause in (STAGE_1, STAGE_2)] == ["missed", "missed"]


NOT_TCS = "baked shells, aw 0.60"


@pytest.mark.parametrize(("into", "half_min", "verdict"), [("Shells", 200, "missed"), ("Cream", 50, "met")])
def test_what_is_declared_of_shells_is_not_said_of_the_cream(
    kitchen: Kitchen, into: str, half_min: float, verdict: str
) -> None:
    """Cream put into shells of no TCS is asked all that it was asked; shells put into cream ask nothing of their own."""
    kitchen.probe("p1")
    cream = kitchen.batch("Cream", "p1")
    kitchen.note(cream, EventKind.LEFT_HEAT, T0)
    shells = kitchen.batch("Shells", at_ms=T0, not_tcs=NOT_TCS)
    both = (shells, cream) if into == "Shells" else (cream, shells)
    curve = cooling(300, half_min=half_min, every_min=5)
    kitchen.arrive("p1", [pair for pair in curve if pair[0] <= T0 + 40 * MIN], T0 + 40 * MIN)
    _add(kitchen, *both, T0 + 40 * MIN)
    with kitchen.store.write() as session:
        at_ms = T0 + 40 * MIN
        into_it = session.merge(both[0])
        place(session, kitchen.probes["p1"], batch=into_it, vessel=1, at_ms=at_ms, now_ms=at_ms, by="test")
    kitchen.arrive("p1", [pair for pair in curve if pair[0] > T0 + 40 * MIN], T0 + 5 * HOUR)
    kitchen.rounds(T0 + 5 * HOUR)
    assert _verdict(kitchen, STAGE_1, batch=both[0].id or 0) == verdict
    if into == "Cream":
        assert _verdict(kitchen, STAGE_1, batch=shells.id or 0) == "none"


def test_part_of_what_needs_no_temperature_control_needs_none(kitchen: Kitchen) -> None:
    """Half of the shells in another box: what is known of them goes along, and who said it."""
    shells = kitchen.batch("Shells", not_tcs=NOT_TCS)
    with kitchen.store.write() as session:
        divide_batch(session, session.merge(shells), lot="Half", at_ms=T0 + MIN, now_ms=T0 + MIN, by="test")
    kitchen.rounds(T0 + HOUR)
    assert {row.verdict for row in kitchen.clauses()} == {"none"}
    assert NOT_TCS in _clause(kitchen, STAGE_1, batch=2)["reason"]


def test_part_of_any_vessel_is_shown_by_none_of_six(kitchen: Kitchen) -> None:
    """One of six is measured, and not said to be the slowest: nobody knows whether the part comes from it."""
    kitchen.probe("p1")
    batch = kitchen.batch("L1", "p1", vessels=6)
    kitchen.note(batch, EventKind.LEFT_HEAT, T0)
    _read(kitchen, "p1", cooling(180, every_min=5))
    with kitchen.store.write() as session:
        at_ms = T0 + 3 * HOUR
        for lot, vessel in (("Any", None), ("First", 1)):
            divide_batch(session, session.merge(batch), lot=lot, vessel=vessel, at_ms=at_ms, now_ms=at_ms, by="test")
    kitchen.rounds(T0 + 3 * HOUR)
    assert [_verdict(kitchen, STAGE_1, batch=number) for number in (1, 2, 3)] == ["met", "unproven", "met"]


def test_part_of_any_vessel_follows_what_is_written_down_later(kitchen: Kitchen) -> None:
    """The other of two vessels was read by hand at 95 °F in the fourth hour, and that is noted after the dividing."""
    kitchen.probe("p1")
    batch = kitchen.batch("L1", "p1", vessels=2)
    kitchen.note(batch, EventKind.LEFT_HEAT, T0)
    _read(kitchen, "p1", cooling(240, every_min=5))
    with kitchen.store.write() as session:
        at_ms = T0 + 4 * HOUR
        divide_batch(session, session.merge(batch), lot="L1-b", at_ms=at_ms, now_ms=at_ms, by="test")
    for after_min, fahrenheit in ((60, 130), (220, 95)):
        kitchen.note(batch, EventKind.READING, T0 + after_min * MIN, celsius=celsius_of_f(fahrenheit), vessel=2)
    kitchen.rounds(T0 + 4 * HOUR)
    assert _verdict(kitchen, STAGE_1, batch=2) == "missed"


def _add(kitchen: Kitchen, batch: Batch, part: Batch, at_ms: int) -> None:
    with kitchen.store.write() as session:
        add_part(session, session.merge(batch), session.merge(part), at_ms=at_ms, now_ms=at_ms, by="test")


# ---------------------------------------------------------------- reheating


def _reheated(kitchen: Kitchen, purpose: str) -> tuple[Batch, int]:
    """Give a custard cooled in time, then heated from 38 to 168 °F within the hour; and when it was hot."""
    kitchen.probe("p1")
    batch = kitchen.batch("L1", "p1")
    kitchen.note(batch, EventKind.LEFT_HEAT, T0)
    begins = T0 + 6 * HOUR
    kitchen.note(batch, EventKind.REHEATING, begins, text=purpose)
    hot = straight(40, 168, 60, start_ms=begins + MIN)
    kitchen.arrive("p1", [*cooling(360), *hot, *straight(168, 168, 20, start_ms=begins + 62 * MIN)], begins + 82 * MIN)
    kitchen.rounds(begins + 82 * MIN)
    return batch, begins + 82 * MIN


def test_reheating_for_hot_holding_is_judged_and_then_hot_holding(kitchen: Kitchen) -> None:
    """To 165 °F within two hours: kept; the first cooling and its holding stay kept, hot holding runs."""
    _reheated(kitchen, "hot-holding")
    assert [_verdict(kitchen, clause, occasion="") for clause in (STAGE_1, STAGE_2, COLD)] == ["met", "met", "met"]
    assert (_verdict(kitchen, REHEATED), _verdict(kitchen, HOT)) == ("met", "met")
    assert _verdict(kitchen, STAGE_1, occasion="after reheating") == "open"
    assert kitchen.found() == []


def test_second_cooling_has_a_verdict_of_its_own(kitchen: Kitchen) -> None:
    """Cooled again too slowly: the second cooling is missed, the first stays kept."""
    batch, hot_ms = _reheated(kitchen, "hot-holding")
    kitchen.note(batch, EventKind.LEFT_HEAT, hot_ms)
    again = cooling(400, from_f=168, half_min=140, start_ms=hot_ms + MIN, every_min=2)
    _read(kitchen, "p1", again)
    assert _verdict(kitchen, STAGE_1, occasion="") == "met"
    assert _verdict(kitchen, STAGE_1, occasion="after reheating") == "missed"
    assert _verdict(kitchen, HOT) == "met"  # until it left the heat
    (finding,) = _found(kitchen, STAGE_1)
    assert (finding.kind, finding.facts["requires"]) == ("deviation", "after reheating, 135 °F to 70 °F within 2 h")


def test_second_leaving_of_the_heat_settles_no_doubt_of_the_first_cooling(kitchen: Kitchen) -> None:
    """A probe that read 60 °F more within the first cooling stays in doubt, whatever is cooked later."""
    kitchen.probe("p1")
    batch = kitchen.batch("L1", "p1")
    kitchen.note(batch, EventKind.LEFT_HEAT, T0)
    curve = [(at, c + 33 if 60 <= (at - T0) // MIN < 140 else c) for at, c in cooling(300)]
    _read(kitchen, "p1", curve)
    before = _clause(kitchen, STAGE_1)
    kitchen.note(batch, EventKind.REHEATING, T0 + 301 * MIN, text="hot-holding")
    kitchen.note(batch, EventKind.LEFT_HEAT, T0 + 310 * MIN)
    kitchen.rounds(T0 + 311 * MIN)
    (row,) = [row for row in kitchen.clauses() if row.clause == STAGE_1 and row.day == ""]
    assert before["doubtful"]
    assert (row.verdict, row.facts["doubtful"]) == (before["verdict"], True)


def test_reheating_for_immediate_service_is_asked_nothing(kitchen: Kitchen) -> None:
    """No limit is asked of food reheated to be served at once; neither hot holding nor a second cooling begins."""
    _reheated(kitchen, "service")
    assert _verdict(kitchen, REHEATED) == "none"
    assert {row.clause for row in kitchen.clauses()} == {STAGE_1, STAGE_2, COLD, REHEATED}


def test_missed_reheating_begins_no_second_cooling(kitchen: Kitchen) -> None:
    """Only 150 °F: a deviation, and no second cooling."""
    kitchen.probe("p1")
    batch = _held(kitchen)
    kitchen.note(batch, EventKind.REHEATING, T0 + 30 * MIN, text="hot-holding")
    _read(kitchen, "p1", [*COLD_FOOD, *straight(45, 150, 140, start_ms=T0 + 31 * MIN)], T0 + 171 * MIN)
    assert _verdict(kitchen, REHEATED) == "missed"
    assert {row.clause for row in kitchen.clauses()} == {COLD, REHEATED}
    assert [finding.kind for finding in _found(kitchen, REHEATED)] == ["deviation"]


# ---------------------------------------------------------------- none


def test_food_that_is_not_tcs_is_asked_nothing_and_says_on_what_evidence(kitchen: Kitchen) -> None:
    """A dry meringue out of temperature for a day: no finding."""
    kitchen.probe("p1")
    kitchen.batch("L1", "p1", not_tcs="aw 0.80, measured 2 November")
    _read(kitchen, "p1", straight(70, 70, 600, every_min=10))
    assert {row.verdict for row in kitchen.clauses()} == {"none"}
    assert "aw 0.80, measured 2 November" in _clause(kitchen, STAGE_1)["reason"]
    assert kitchen.found() == []


def test_code_without_a_figure_says_so(kitchen: Kitchen) -> None:
    """Scots law has no figure for cooling."""
    kitchen.limits("scotland")
    kitchen.probe("p1")
    kitchen.batch("L1", "p1")
    _read(kitchen, "p1", cooling(300, half_min=200))
    assert {row.verdict for row in kitchen.clauses()} == {"none"}
    assert all(row.facts["requires"] == "no figure" for row in kitchen.clauses())


# ---------------------------------------------------------------- on display


@pytest.mark.parametrize(("stored_f", "verdict"), [(44.0, "met"), (48.0, "missed")])
def test_spell_is_borne_on_display_only(kitchen: Kitchen, stored_f: float, verdict: str) -> None:
    """Above 8 °C in store is missed at once; one spell of less than four hours on display is borne."""
    kitchen.limits("england-wales-ni")
    batch = _held(kitchen)
    kitchen.note(batch, EventKind.STEP, T0 + HOUR, text="display")
    stored = straight(44, 44, 20, every_min=5) + straight(stored_f, stored_f, 35, start_ms=T0 + 25 * MIN, every_min=5)
    shown = straight(50, 50, 180, start_ms=T0 + 65 * MIN, every_min=5)
    _read(kitchen, "p1", [*stored, *shown, *straight(44, 44, 30, start_ms=T0 + 250 * MIN, every_min=5)])
    assert _verdict(kitchen, "Sch. 4 para 2") == verdict


@pytest.mark.parametrize(
    ("told", "ends"),
    [
        ([(EventKind.MOVED, 90, "Walk-in 1")], True),
        ([(EventKind.MOVED, 90, "Case")], False),
        ([(EventKind.MOVED, 90, None)], False),  # turned round, for instance
        ([(EventKind.MOVED, 30, "Walk-in 1")], False),
        ([(EventKind.REMOVED, 30, None), (EventKind.RETURNED, 90, None)], True),  # to where it came from
        ([(EventKind.REMOVED, 80, None), (EventKind.RETURNED, 90, None)], False),
        ([(EventKind.REMOVED, 80, None), (EventKind.RETURNED, 90, "Walk-in 1")], True),
    ],
)
def test_display_ends_with_a_move_into_store_or_a_return_to_it(
    kitchen: Kitchen, told: list[tuple[EventKind, int, str | None]], ends: bool
) -> None:
    """On display at 09:00: nobody says a step when it is put away at 09:30."""
    units = {"Walk-in 1": kitchen.unit("Walk-in 1", "walk-in"), "Case": kitchen.unit("Case", "display-case")}
    batch = _held(kitchen)
    kitchen.note(batch, EventKind.STEP, T0 + HOUR, text="display")
    for kind, at_min, unit in told:
        kitchen.note(batch, kind, T0 + at_min * MIN, unit=None if unit is None else units[unit])
    with kitchen.store.read() as session:
        (content,) = contents_of(session, session.merge(batch), 1, T0 + 2 * HOUR, readings=False)
    assert content.life.off_display == (((T0 + 90 * MIN, None),) if ends else ())


def test_spell_after_the_display_is_missed(kitchen: Kitchen) -> None:
    """Displayed cold from 09:00 to 09:30, and warm in store from 09:40 on."""
    kitchen.limits("england-wales-ni")
    batch = _held(kitchen)
    kitchen.note(batch, EventKind.STEP, T0 + HOUR, text="display")
    kitchen.note(batch, EventKind.STEP, T0 + 90 * MIN, text="store")
    cold = straight(44, 44, 95, every_min=5)
    _read(kitchen, "p1", [*cold, *straight(50, 50, 180, start_ms=T0 + 100 * MIN, every_min=10)])
    assert _verdict(kitchen, "Sch. 4 para 2") == "missed"
    assert "It was not on display at" in _clause(kitchen, "Sch. 4 para 2")["reason"]


# ---------------------------------------------------------------- date marks, deliveries


def _marked(kitchen: Kitchen, days: int, batch: int = 1) -> dict[str, Any] | None:
    kitchen.rounds(T0 + days * DAY)
    rows = [row for row in kitchen.clauses() if row.batch_id == batch and row.clause == MARK]
    return rows[0].facts if rows else None


def test_day_of_preparation_is_day_one(kitchen: Kitchen) -> None:
    """Made on the 24th: to be used by the end of the 30th, told from its noon on, a deviation from midnight on."""
    _held(kitchen)
    assert _marked(kitchen, 1) is None  # held 24 h exactly
    assert _marked(kitchen, 2)["verdict"] == "met"  # type: ignore[index]
    assert "30 Nov 2026" in str(_marked(kitchen, 6)["reason"])  # type: ignore[index]
    kitchen.rounds(T0 + 6 * DAY + 3 * HOUR)
    assert _found(kitchen, MARK) == []
    kitchen.rounds(T0 + 6 * DAY + 5 * HOUR)
    assert [finding.kind for finding in _found(kitchen, MARK)] == ["soon"]
    kitchen.rounds(T0 + 6 * DAY + 17 * HOUR)
    assert [(finding.kind, finding.verdict) for finding in _found(kitchen, MARK)] == [("deviation", "missed")]


def test_earliest_ingredient_governs_the_date_mark(kitchen: Kitchen) -> None:
    """A cream of the 24th goes into a cake of the 26th: to be used by the 30th."""
    cream = _held(kitchen, "Cream", "p1")
    cake = _held(kitchen, "Cake", "p2", at_ms=T0 + 2 * DAY)
    _add(kitchen, cake, cream, T0 + 2 * DAY)
    assert "30 Nov 2026" in str(_marked(kitchen, 4, batch=2)["reason"])  # type: ignore[index]


def test_freezing_pauses_the_date_mark(kitchen: Kitchen) -> None:
    """Frozen on day 3, thawed a week later: the day of thawing is day 3 (North Carolina's worked example)."""
    batch = _held(kitchen)
    kitchen.note(batch, EventKind.FROZEN, T0 + 2 * DAY)
    kitchen.rounds(T0 + 3 * DAY)
    assert _marked(kitchen, 4)["verdict"] == "open"  # type: ignore[index]
    kitchen.note(batch, EventKind.THAWED, T0 + 9 * DAY)
    assert "7 Dec 2026" in str(_marked(kitchen, 10)["reason"])  # type: ignore[index]


def test_opened_container_counts_from_its_opening_and_not_past_the_makers_date(kitchen: Kitchen) -> None:
    """Bought on the 24th, opened on the 26th: day 1 is the 26th; the maker says 28 November."""
    batch = _held(kitchen, use_by="2026-11-28")
    kitchen.note(batch, EventKind.OPENED, T0 + 2 * DAY)
    assert "28 Nov 2026" in str(_marked(kitchen, 4)["reason"])  # type: ignore[index]


@pytest.mark.parametrize("later", [EventKind.OPENED, EventKind.PREPARED])
@pytest.mark.parametrize("begins", [["cold-holding"], ["cooling"], []])
def test_what_is_declared_days_later_moves_no_day_one_forward(
    kitchen: Kitchen, begins: list[str], later: EventKind
) -> None:
    """Off the heat, or begun to cool, on the 24th and opened, or finished, on the 27th: to be used by the 30th."""
    kitchen.probe("p1")
    batch = kitchen.batch("L1", "p1", processes=begins)
    if begins == ["cold-holding"]:
        kitchen.note(batch, EventKind.LEFT_HEAT, T0)
    kitchen.note(batch, later, T0 + 3 * DAY)
    assert "30 Nov 2026" in str(_marked(kitchen, 5)["reason"])  # type: ignore[index]


@pytest.mark.parametrize(
    ("part", "clause", "fahrenheit", "verdict"),
    [
        ("receiving-cold", "3-202.11(A)", 41.0, "met"),
        ("receiving-cold", "3-202.11(A)", 41.1, "missed"),
        ("receiving-shell-eggs", "3-202.11(C)", 45.0, "met"),
        ("receiving-shell-eggs", "3-202.11(C)", 45.1, "missed"),
        ("receiving-hot", "3-202.11(D)", 135.0, "met"),
        ("receiving-hot", "3-202.11(D)", 134.9, "missed"),
    ],
)
def test_delivery_is_held_against_the_receiving_limit(
    kitchen: Kitchen, part: str, clause: str, fahrenheit: float, verdict: str
) -> None:
    """41 °F or less at the door, 45 °F or less in the air around shell eggs, 135 °F or above of hot food."""
    batch = _held(kitchen)
    kitchen.note(batch, EventKind.RECEIVED, T0, celsius=celsius_of_f(fahrenheit), facts={"part": part})
    kitchen.rounds(T0 + MIN)
    assert _verdict(kitchen, clause) == verdict
    assert len(_found(kitchen, clause)) == (verdict == "missed")


@pytest.mark.parametrize(("facts", "verdict"), [({"part": "receiving-cold"}, ["unproven"]), ({}, [])])
def test_delivery_that_nobody_measured_is_not_shown(
    kitchen: Kitchen, facts: dict[str, Any], verdict: list[str]
) -> None:
    """Of one that was held against a limit; a note that only says when it came asks nothing at the door."""
    kitchen.note(_held(kitchen), EventKind.RECEIVED, T0, facts=facts)
    kitchen.rounds(T0 + MIN)
    assert [row.verdict for row in kitchen.clauses() if row.clause == RECEIVED] == verdict


def test_what_is_asked_of_the_whole_batch_is_found_once(kitchen: Kitchen) -> None:
    """A delivery in three vessels that was too warm at the door is one deviation, and one date mark runs."""
    for code in ("p1", "p2", "p3"):
        kitchen.probe(code)
    batch = kitchen.batch("L1", "p1", "p2", "p3", vessels=3, processes=["cold-holding"])
    kitchen.note(batch, EventKind.RECEIVED, T0, celsius=celsius_of_f(45), facts={"part": "receiving-cold"})
    kitchen.rounds(T0 + 2 * DAY)
    assert len(_found(kitchen, RECEIVED)) == 1
    assert [row.vessel for row in kitchen.clauses() if row.clause in {MARK, RECEIVED}] == [1, 1]


# ---------------------------------------------------------------- raw egg


@pytest.mark.parametrize(
    ("food", "verdict"),
    [(["susceptible", "raw-egg"], "missed"), (["susceptible", "no-egg"], "met"), (["susceptible"], "unproven")],
)
def test_raw_egg_for_the_susceptible_is_not_put_on_time_control(
    kitchen: Kitchen, food: list[str], verdict: str
) -> None:
    """3-501.19(D): where highly susceptible people are served, time does not stand in for raw egg's temperature."""
    batch = _held(kitchen, food=food)
    _read(kitchen, "p1", COLD_FOOD)
    kitchen.note(batch, EventKind.REMOVED, T0 + 30 * MIN, **UNDER_4H)
    kitchen.rounds(T0 + 31 * MIN)
    (clause,) = [row for row in kitchen.clauses() if row.day == "time-control-4h" and row.clause != FOUR_HOURS]
    assert clause.verdict == verdict


# ---------------------------------------------------------------- looking ahead, late words, corrections


def test_slow_ambient_cooling_is_warned_of(kitchen: Kitchen) -> None:
    """A filling that will not be at 41 °F within four hours is told of while an ice bath still helps."""
    kitchen.probe("p1")
    batch = kitchen.batch("L1", "p1", processes=["ambient-cooling"])
    kitchen.note(batch, EventKind.PREPARED, T0)
    slow = cooling(240, from_f=70, around_f=36, half_min=150)
    _read(kitchen, "p1", [pair for pair in slow if pair[0] <= T0 + 90 * MIN])
    (soon,) = kitchen.found()
    assert (soon.kind, soon.clause) == ("soon", "3-501.14(B)")
    _read(kitchen, "p1", [pair for pair in slow if pair[0] > T0 + 90 * MIN])
    kitchen.arrive("p1", straight(46, 46, 20, start_ms=T0 + 241 * MIN), T0 + 261 * MIN)
    kitchen.rounds(T0 + 261 * MIN)
    (missed,) = _found(kitchen, "3-501.14(B)")
    assert (missed.id, missed.kind, missed.verdict) == (soon.id, "deviation", "missed")


def test_correction_of_the_probe_judges_the_start_again_and_keeps_what_was_found(kitchen: Kitchen) -> None:
    """42 °F at the removal is a deviation; the probe read 2 °F too warm, so it was 40 °F: kept, and both are told."""
    batch = _held(kitchen)
    kitchen.note(batch, EventKind.REMOVED, T0 + 30 * MIN, **UNDER_4H)
    _read(kitchen, "p1", straight(42, 42, 30, every_min=2))
    (found,) = _found(kitchen, FOUR_HOURS)
    assert found.kind == "deviation"
    with kitchen.store.write() as session:
        add_correction(
            session,
            kitchen.probes["p1"],
            offset_c=celsius_of_f(30) - celsius_of_f(32),
            from_ms=T0,
            to_ms=None,
            now_ms=T0 + 40 * MIN,
            by="test",
            why="ice point",
        )
    kitchen.rounds(T0 + 40 * MIN)
    assert _verdict(kitchen, FOUR_HOURS) == "open"
    (closed,) = _found(kitchen, FOUR_HOURS)
    assert closed.closed_ms == T0 + 40 * MIN
    with kitchen.store.read() as session:
        versions = finding_versions(session, closed.id or 0)
    assert [version.verdict for version in versions] == ["missed", "open"]
    assert "42" in versions[0].reason


def test_placement_set_back_brings_the_cold_start_to_light(kitchen: Kitchen) -> None:
    """The probe was in the food before anybody said so: with the placement set back the start is shown."""
    kitchen.probe("p1")
    batch = kitchen.batch("L1", at_ms=T0, processes=["cold-holding"])
    kitchen.arrive("p1", COLD_FOOD, T0 + 31 * MIN)
    kitchen.note(batch, EventKind.REMOVED, T0 + 31 * MIN, **UNDER_4H)
    with kitchen.store.write() as session:
        merged = session.merge(batch)
        at_ms = T0 + 32 * MIN
        place(session, kitchen.probes["p1"], batch=merged, vessel=1, at_ms=at_ms, now_ms=at_ms, by="test")
    kitchen.rounds(T0 + 33 * MIN)
    assert _verdict(kitchen, FOUR_HOURS) == "unproven"
    with kitchen.store.write() as session:
        merged = session.merge(batch)
        place(session, kitchen.probes["p1"], batch=merged, vessel=1, at_ms=T0, now_ms=T0 + 34 * MIN, by="test")
    kitchen.rounds(T0 + 34 * MIN)
    assert _verdict(kitchen, FOUR_HOURS) == "open"


def test_alert_about_a_time_that_runs_out_names_no_temperature_to_get_to(kitchen: Kitchen) -> None:
    """The phone tells how long is left and what to do; 41 °F is where time control began, not where it ends."""
    with kitchen.store.write() as session:
        add_contact(session, "mgr", "json://127.0.0.1:9/", now_ms=T0, by="test")
    batch = _held(kitchen)
    _read(kitchen, "p1", COLD_FOOD)
    kitchen.note(batch, EventKind.REMOVED, T0 + 30 * MIN, **UNDER_4H)
    kitchen.rounds(T0 + 4 * HOUR)
    (soon,) = _found(kitchen, FOUR_HOURS)
    with kitchen.store.read() as session:
        (alert,) = alerts_of(session, soon.id or 0)
    assert "30 min left" in alert.title
    assert "41" not in alert.title
    assert "Serve, sell or use it by then" in alert.body


# ---------------------------------------------------------------- one vessel that was treated otherwise


@pytest.fixture
def two(kitchen: Kitchen) -> Kitchen:
    """A kitchen with a batch in two vessels, held cold: a probe in the first, which is declared the slowest."""
    kitchen.probe("p1")
    batch = kitchen.batch("L1", vessels=2, processes=["cold-holding"])
    with kitchen.store.write() as session:
        into: dict[str, Any] = {"batch": session.merge(batch), "vessel": 1, "slowest": True}
        place(session, kitchen.probes["p1"], **into, at_ms=T0, now_ms=T0, by="test")
    return kitchen


def _batch(kitchen: Kitchen, lot: str = "L1") -> Batch:
    with kitchen.store.read() as session:
        return batch_named(session, lot)


def test_time_control_of_a_vessel_without_a_probe_is_asked(two: Kitchen) -> None:
    """The slowest stays in the cold and speaks for none that was taken out: its start is not shown, and it is due."""
    two.note(_batch(two), EventKind.REMOVED, T0 + HOUR, vessel=2, **UNDER_4H)
    now_ms = T0 + 8 * HOUR
    _read(two, "p1", straight(38, 38, 8 * 60, every_min=5), now_ms)
    assert _verdict(two, FOUR_HOURS) == "unproven"
    with two.store.read() as session:
        view = batch_view(session, 1, now_ms)
        assert view is not None
        assert view.verdict is Verdict.UNPROVEN
        assert FOUR_HOURS in {each.clause for each in view.discard}


def test_food_that_came_into_a_vessel_without_a_probe_is_asked(two: Kitchen) -> None:
    """Cream that had an hour of its cooling behind it goes on where nobody measures it: not shown."""
    two.probe("p2")
    cream = two.batch("CREAM", "p2")
    _read(two, "p2", cooling(60, half_min=200, every_min=5))
    with two.store.write() as session:
        into = session.merge(_batch(two))
        add_part(session, into, session.merge(cream), vessel=2, at_ms=T0 + HOUR, now_ms=T0 + HOUR, by="test")
    _read(two, "p1", straight(38, 38, 8 * 60, every_min=5))
    assert (_verdict(two, STAGE_1), _verdict(two, STAGE_2)) == ("unproven", "unproven")


def test_delivery_measured_in_another_vessel_is_held_against_the_limit(two: Kitchen) -> None:
    """3-202.11(A) is asked of the vessel that it was measured in, and once where it was noted of all."""
    into = _batch(two)
    two.note(into, EventKind.RECEIVED, T0, vessel=2, celsius=celsius_of_f(60), facts={"part": "receiving-cold"})
    two.note(into, EventKind.RECEIVED, T0 + MIN, celsius=celsius_of_f(40), facts={"part": "receiving-cold"})
    _read(two, "p1", straight(38, 38, 60, every_min=5))
    rows = sorted((row.subject, row.verdict) for row in two.clauses() if row.clause == RECEIVED)
    assert rows == [("batch:1:1", "met"), ("batch:1:2", "missed")]


def test_date_mark_counts_from_the_vessel_that_was_opened_first(two: Kitchen) -> None:
    """3-501.17(B): from the day on which the container is opened, whichever of them it is."""
    two.note(_batch(two), EventKind.OPENED, T0 + DAY, vessel=2)
    two.note(_batch(two), EventKind.OPENED, T0 + 5 * DAY, vessel=1)
    two.rounds(T0 + 6 * DAY)
    assert _verdict(two, MARK) == "met"
    two.rounds(T0 + 9 * DAY)
    assert _verdict(two, MARK) == "missed"


def test_note_of_a_vessel_that_is_taken_back_leaves_nothing_of_it(two: Kitchen) -> None:
    """The other one was meant: vessel 2 is that of which the slowest speaks again, with no verdict of its own."""
    with two.store.write() as session:
        shared: dict[str, Any] = {"by": "test", "at_ms": T0 + HOUR, "now_ms": T0 + HOUR}
        batch = session.merge(_batch(two))
        wrong = note(session, batch, EventKind.REMOVED, vessel=2, **UNDER_4H, **shared).id
    _read(two, "p1", straight(38, 38, 60, every_min=5), T0 + HOUR)
    two.note(_batch(two), EventKind.NOTE, T0 + HOUR, text="it stayed in", replaces_id=wrong)
    two.rounds(T0 + 2 * HOUR)
    assert {row.subject for row in two.clauses()} == {"batch:1:1"}
    assert [finding for finding in two.found(open_only=True) if finding.subject == "batch:1:2"] == []
