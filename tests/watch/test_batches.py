"""What the watch finds in batches: the clause, once, and what late readings change of it."""

import pytest

from holdwatch.quantities import celsius_of_f
from holdwatch.storage.contacts import add_contact
from holdwatch.storage.findings import finding_versions
from holdwatch.storage.outbox import alerts_of
from holdwatch.storage.register import add_correction, end_batch, note, place
from holdwatch.storage.tables import Batch, EventKind, Finding
from holdwatch.views.batches import batch_view
from holdwatch.views.words import Mark
from holdwatch.watch import rounds
from holdwatch.watch.answer import Answer
from tests.watch.kitchen import HOUR, MIN, T0, Kitchen, Pair, cooling, minutes, straight

STAGE_1, STAGE_2, COLD = "3-501.14(A)(1)", "3-501.14(A)(2)", "3-501.16(A)(2)"
SLOW = cooling(160, half_min=120)
"""Leaves 135 °F after 24 min, and is above 80 °F two hours and a quarter later."""


def _live(kitchen: Kitchen, readings: list[Pair], every: int = 15) -> None:
    for at in range(0, len(readings), every):
        part = readings[at : at + every]
        kitchen.arrive("p1", part, part[-1][0])
        kitchen.rounds(part[-1][0])


def _of(kitchen: Kitchen, clause: str) -> Finding:
    (found,) = [finding for finding in kitchen.found() if finding.clause == clause]
    return found


@pytest.fixture
def batch(kitchen: Kitchen) -> Batch:
    """A batch with a probe in it, and someone to tell."""
    kitchen.probe("p1")
    with kitchen.store.write() as session:
        add_contact(session, "mgr", "json://127.0.0.1:9/", now_ms=T0, by="test")
    return kitchen.batch("L1", "p1")


def _reasons(kitchen: Kitchen, finding: Finding) -> list[str]:
    with kitchen.store.read() as session:
        return [alert.reason for alert in alerts_of(session, finding.id or 0)]


@pytest.mark.usefixtures("batch")
def test_batch_that_cools_in_time_gives_no_finding(kitchen: Kitchen) -> None:
    """Both stages kept, and cold afterwards: nothing is found."""
    _live(kitchen, cooling(300), every=20)
    assert kitchen.found() == []
    assert set(kitchen.verdicts().values()) == {"met"}


def test_batch_that_misses_stage_1_gives_a_deviation_with_its_clause(kitchen: Kitchen, batch: Batch) -> None:
    """A custard above 70 °F two hours after leaving 135 °F is a deviation of (A)(1), told once."""
    _live(kitchen, SLOW)
    found = _of(kitchen, STAGE_1)
    assert (found.kind, found.verdict, found.batch_id) == ("deviation", "missed", batch.id)
    assert found.facts["due_ms"] <= found.since_ms
    assert "Decide with the plan" in found.reason
    assert _reasons(kitchen, found)[-1] in {"first", "worse"}
    assert len(_reasons(kitchen, found)) <= 2


@pytest.mark.usefixtures("batch")
def test_batch_that_will_be_late_is_warned_of_before_it_is(kitchen: Kitchen) -> None:
    """The forecast says so an hour ahead; the same finding becomes the deviation."""
    _live(kitchen, [pair for pair in SLOW if pair[0] <= T0 + HOUR])
    (soon,) = kitchen.found()
    assert (soon.kind, soon.clause, soon.verdict) == ("soon", STAGE_1, "open")
    assert set(kitchen.verdicts().values()) == {"open"}
    _live(kitchen, [pair for pair in SLOW if pair[0] > T0 + HOUR])
    assert (_of(kitchen, STAGE_1).id, _of(kitchen, STAGE_1).kind) == (soon.id, "deviation")
    with kitchen.store.read() as session:
        kinds = [version.kind for version in finding_versions(session, soon.id or 0)]
    assert kinds[0] == "soon"
    assert kinds[-1] == "deviation"


@pytest.mark.usefixtures("batch")
def test_late_burst_gives_the_finding_and_its_alert(kitchen: Kitchen) -> None:
    """Readings of hours ago that come at once are a deviation at once, and somebody is told."""
    kitchen.arrive("p1", SLOW, T0 + 5 * HOUR)
    kitchen.rounds(T0 + 5 * HOUR)
    found = _of(kitchen, STAGE_1)
    assert (found.kind, _reasons(kitchen, found)) == ("deviation", ["first"])
    assert _of(kitchen, STAGE_1).opened_ms == T0 + 5 * HOUR


@pytest.mark.usefixtures("batch")
def test_late_readings_that_show_the_target_reached_close_what_was_not_shown(kitchen: Kitchen) -> None:
    """A hole where the target was due is not shown; the readings of the hole, sent later, close it with the reason."""
    curve = cooling(200, half_min=45)
    hole = [pair for pair in curve if 40 * MIN < pair[0] - T0 < 165 * MIN]
    rest = [pair for pair in curve if pair not in hole]
    kitchen.arrive("p1", rest, rest[-1][0])
    kitchen.rounds(rest[-1][0])
    assert (_of(kitchen, STAGE_1).kind, _of(kitchen, STAGE_1).closed_ms) == ("not-shown", None)
    later = rest[-1][0] + MIN
    kitchen.arrive("p1", hole, later)
    kitchen.rounds(later)
    closed = _of(kitchen, STAGE_1)
    assert closed.closed_ms == later
    assert closed.close_reason.startswith("a later reading shows that the limit was kept")
    assert kitchen.verdicts()[("batch:1:1", "", STAGE_1)] == "met"
    assert _reasons(kitchen, closed) == ["first"]  # not sent yet, and taken back: nobody is told of what was over


@pytest.mark.usefixtures("batch")
def test_gap_never_closes_a_finding(kitchen: Kitchen) -> None:
    """A deviation stays open however long the probe says nothing."""
    _live(kitchen, SLOW, every=40)
    for hours in (4, 8, 30):
        kitchen.rounds(T0 + hours * HOUR)
        assert _of(kitchen, STAGE_1).closed_ms is None


def test_end_of_the_batch_closes_its_findings_as_they_stand(kitchen: Kitchen, batch: Batch) -> None:
    """A discarded batch needs nobody any more; its deviation stays on record, and nobody is told again."""
    _live(kitchen, SLOW, every=40)
    ended_ms = SLOW[-1][0] + MIN
    with kitchen.store.write() as session:
        end_batch(session, session.merge(batch), outcome="discarded", at_ms=ended_ms, now_ms=ended_ms, by="test")
    kitchen.rounds(ended_ms)
    found = _of(kitchen, STAGE_1)
    assert (found.closed_ms, found.close_reason, found.verdict) == (ended_ms, "the batch ended: discarded", "missed")
    assert "closed" not in _reasons(kitchen, found)


def test_correction_that_takes_the_deviation_away_withdraws_it(kitchen: Kitchen, batch: Batch) -> None:
    """A probe that read 20 °F too high: the corrected record kept the limit, the raw readings stay."""
    curve = [(at, c + 20 / 1.8) for at, c in cooling(300, half_min=60, from_f=160)]
    _live(kitchen, curve, every=60)
    assert _of(kitchen, STAGE_1).kind == "deviation"
    now = curve[-1][0] + MIN
    with kitchen.store.write() as session:
        add_correction(
            session, kitchen.probes["p1"], from_ms=T0, to_ms=None, offset_c=-20 / 1.8, by="test", why="dip", now_ms=now
        )
    kitchen.rounds(now)
    assert (_of(kitchen, STAGE_1).closed_ms, _of(kitchen, STAGE_1).facts["stands"]) == (now, False)
    assert kitchen.verdicts()[(f"batch:{batch.id}:1", "", STAGE_1)] == "met"


def test_step_noted_after_cooling_keeps_the_cooling_verdicts(kitchen: Kitchen, batch: Batch) -> None:
    """A batch that goes on display is still held to its cooling."""
    _live(kitchen, SLOW, every=40)
    kitchen.note(batch, EventKind.STEP, SLOW[-1][0], text="display")
    kitchen.rounds(SLOW[-1][0])
    assert kitchen.verdicts()[("batch:1:1", "", STAGE_1)] == "missed"
    assert _of(kitchen, STAGE_1).closed_ms is None


def test_warm_spell_after_cooling_is_a_deviation_of_holding_and_is_over_when_cold_again(
    kitchen: Kitchen, batch: Batch
) -> None:
    """Cold food that is above 41 °F again is told with its first reading; half an hour cold again closes it."""
    end = cooling(300)[-1][0]
    warm = minutes(*[44] * 25, start_ms=end + MIN)
    _live(kitchen, cooling(300) + warm, every=25)
    found = _of(kitchen, COLD)
    assert (found.kind, found.since_ms, found.closed_ms) == ("deviation", warm[0][0], None)
    _live(kitchen, straight(44, 38, 15, start_ms=end + 26 * MIN) + minutes(*[38] * 40, start_ms=end + 42 * MIN))
    over = _of(kitchen, COLD)
    assert over.id == found.id
    assert over.closed_ms is not None
    assert over.close_reason.startswith("within 41 °F again at")
    assert kitchen.verdicts()[(f"batch:{batch.id}:1", "", COLD)] == "missed"


def test_two_spells_that_a_late_reading_joins_become_one(kitchen: Kitchen, batch: Batch) -> None:
    """The older finding takes in the newer, which closes with its number."""
    end = cooling(300)[-1][0]
    first = straight(38, 44, 10, start_ms=end + MIN)
    cold = straight(44, 38, 10, start_ms=end + 12 * MIN) + straight(38, 38, 35, start_ms=end + 23 * MIN, every_min=5)
    second = straight(39, 44, 10, start_ms=end + 59 * MIN)
    _live(kitchen, cooling(300) + first + cold + second, every=60)
    one, other = [f for f in kitchen.found() if f.clause == COLD]
    assert other.replaced_by is None
    started_ms = one.since_ms
    now = second[-1][0] + MIN
    kitchen.arrive("p1", [(end + m * MIN + 1, celsius_of_f(42)) for m in (24, 34, 44, 54)], now)
    kitchen.rounds(now)
    one, other = [f for f in kitchen.found() if f.clause == COLD]
    assert (one.closed_ms, one.since_ms, other.replaced_by) == (None, started_ms, one.id)
    assert other.closed_ms == now
    assert batch.id == one.batch_id


@pytest.mark.usefixtures("batch")
def test_silent_probe_owns_the_hole_it_leaves(kitchen: Kitchen) -> None:
    """While the probe is silent there is one finding about it and none about the clause, whose verdict changes."""
    heard = [pair for pair in cooling(300, half_min=45) if pair[0] <= T0 + 40 * MIN]
    _live(kitchen, heard)
    for minute in (44, 47, 60, 120, 200):
        kitchen.rounds(T0 + minute * MIN)
    (silent,) = kitchen.found(open_only=True)
    assert (silent.kind, silent.subject, silent.since_ms) == ("system", "probe:1", heard[-1][0])
    assert silent.title == "Probe p1 in Pastry cream L1"
    assert kitchen.verdicts()[("batch:1:1", "", STAGE_1)] == "unproven"
    assert _reasons(kitchen, silent) == ["first"]
    back = T0 + 201 * MIN
    kitchen.arrive("p1", [(back, celsius_of_f(40))], back)
    kitchen.rounds(back)
    by_id = {finding.id: finding for finding in kitchen.found()}
    assert by_id[silent.id].close_reason.startswith("it was heard again")
    assert kitchen.verdicts()[("batch:1:1", "", STAGE_1)] == "open"  # so far from the one before, it waits for the next
    kitchen.rounds(back + 2 * MIN)
    assert [f.kind for f in kitchen.found(open_only=True)] == ["not-shown"]


@pytest.mark.usefixtures("batch")
def test_probe_that_never_spoke_is_told(kitchen: Kitchen) -> None:
    """A probe that was placed and says nothing is told after the largest gap."""
    kitchen.rounds(T0)
    kitchen.rounds(T0 + 19 * MIN)
    assert kitchen.found() == []
    kitchen.rounds(T0 + 21 * MIN)
    (found,) = kitchen.found()
    assert found.reason.startswith("not heard since it was placed")


@pytest.mark.usefixtures("batch")
def test_vessels_are_judged_one_by_one(kitchen: Kitchen) -> None:
    """Two vessels of a batch have two verdicts; the finding names the vessel."""
    kitchen.probe("p2")
    kitchen.probe("p3")
    kitchen.batch("L2", "p2", "p3", vessels=6)
    kitchen.arrive("p2", cooling(160), T0 + 160 * MIN)
    kitchen.arrive("p3", SLOW, T0 + 160 * MIN)
    kitchen.rounds(T0 + 160 * MIN)
    found = next(f for f in kitchen.found() if f.clause == STAGE_1 and f.kind == "deviation")
    assert (found.subject, found.title) == ("batch:2:2", "Pastry cream L2, vessel 2 of 6")
    assert kitchen.verdicts()[("batch:2:1", "", STAGE_1)] == "met"


def test_delivery_measured_twice_is_judged_on(kitchen: Kitchen) -> None:
    """Two packs at the door are one answer, and six hours at 55 °F afterwards are found (Food Code 3-501.16)."""
    kitchen.probe("p1")
    batch = kitchen.batch("L1", "p1", processes=["cold-holding"])
    for minute in (0, 1):
        facts = {"part": "receiving-cold"}
        kitchen.note(batch, EventKind.RECEIVED, T0 + minute * MIN, celsius=celsius_of_f(39), facts=facts)
    warm = straight(55, 55, 360, start_ms=T0 + 65 * MIN, every_min=5)
    kitchen.arrive("p1", [*straight(38, 38, 60, every_min=5), *warm], T0 + 7 * HOUR)
    assert kitchen.watch.go_round(T0 + 7 * HOUR).trouble == ""
    assert kitchen.verdicts() == {
        ("batch:1:1", "receiving", "3-202.11(A)"): "met",
        ("batch:1:1", "", COLD): "missed",
    }


def test_vessel_whose_probe_was_placed_by_mistake_keeps_no_verdict(kitchen: Kitchen) -> None:
    """Not of an occasion either: a warm probe that was never in the food misses no start of time control."""
    kitchen.probe("p2")
    kitchen.probe("p3")
    batch = kitchen.batch("L2", "p2", "p3", vessels=2, processes=["cold-holding"])
    kitchen.note(batch, EventKind.REMOVED, T0 + 60 * MIN, facts={"under": "time-control-4h"})
    kitchen.arrive("p2", straight(38, 38, 60, every_min=5), T0 + 60 * MIN)
    kitchen.arrive("p3", straight(70, 70, 60, every_min=5), T0 + 60 * MIN)
    kitchen.rounds(T0 + 60 * MIN)
    assert kitchen.verdicts()[("batch:1:2", "time-control-4h", "3-501.19(B)")] == "missed"
    bench = kitchen.unit("Bench", "room")
    with kitchen.store.write() as session:
        place(session, kitchen.probes["p3"], unit=bench, at_ms=T0, now_ms=T0 + 60 * MIN, by="test")
    kitchen.rounds(T0 + 61 * MIN)
    assert [key for key in kitchen.verdicts() if key[0] == "batch:1:2"] == []


@pytest.mark.parametrize("warm_f", [38, 45])
def test_batch_that_cannot_be_judged_is_shown_as_kept_no_longer(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch, warm_f: int
) -> None:
    """Not shown and one fault of the system while it lasts; with the next judgement it is as if nothing had been."""
    kitchen.probe("p1")
    batch = kitchen.batch("L1", "p1", processes=["cold-holding"])
    kitchen.arrive("p1", straight(38, 38, 60, every_min=5), T0 + HOUR)
    kitchen.rounds(T0 + HOUR)
    assert kitchen.verdicts() == {("batch:1:1", "", COLD): "met"}

    def broken(*_: object, **__: object) -> Answer:
        message = "a figure is missing\nin a long row"
        raise LookupError(message)

    with monkeypatch.context() as patched:
        patched.setattr(rounds, "judge_batch_vessel", broken)
        kitchen.arrive("p1", straight(38, warm_f, 60, start_ms=T0 + 65 * MIN, every_min=5), T0 + 125 * MIN)
        for minute in (125, 126, 127, 140):
            assert "cannot be judged" in kitchen.watch.go_round(T0 + minute * MIN).trouble
            kitchen.restart()
    assert kitchen.verdicts() == {("batch:1:1", "", COLD): "unproven"}
    (row,) = kitchen.clauses()
    (fault,) = [found for found in kitchen.found() if found.subject == "system:batch:1:1"]
    assert (fault.kind, fault.batch_id, fault.title, fault.version) == ("system", batch.id, "Pastry cream L1", 1)
    assert "since Tue 24 Nov 10:05 MST (LookupError: a figure is missing)" in fault.reason
    assert str(row.facts["reason"]).lower() == fault.reason.lower()
    with kitchen.store.read() as session:
        view = batch_view(session, batch.id or 0, T0 + 140 * MIN)
    assert view.mark is Mark.NOT_SHOWN
    assert fault.reason in [found.reason for found in view.findings]
    kitchen.rounds(T0 + 142 * MIN)
    assert kitchen.verdicts() == {("batch:1:1", "", COLD): "met" if warm_f == 38 else "missed"}
    (over,) = [found for found in kitchen.found() if found.subject == "system:batch:1:1"]
    assert (over.closed_ms, over.close_reason) == (T0 + 142 * MIN, "it is judged again")


def test_batch_that_was_missed_stays_missed_while_it_cannot_be_judged(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault of the program takes no deviation back; that it cannot be told either stops nothing."""

    def broken(*_: object, **__: object) -> Answer:
        raise LookupError

    kitchen.probe("p1")
    kitchen.batch("L1", "p1", processes=["cold-holding"])
    kitchen.arrive("p1", straight(45, 45, 60, every_min=5), T0 + HOUR)
    kitchen.rounds(T0 + HOUR)
    monkeypatch.setattr(rounds, "judge_batch_vessel", broken)
    monkeypatch.setattr(rounds, "unjudged", broken)
    kitchen.arrive("p1", straight(38, 38, 60, start_ms=T0 + 65 * MIN, every_min=5), T0 + 125 * MIN)
    kitchen.watch.go_round(T0 + 125 * MIN)
    monkeypatch.undo()
    monkeypatch.setattr(rounds, "judge_batch_vessel", broken)
    assert "cannot be judged" in kitchen.watch.go_round(T0 + 126 * MIN).trouble
    assert kitchen.verdicts() == {("batch:1:1", "", COLD): "missed"}
    assert [found.kind for found in kitchen.found(open_only=True)][:1] == ["deviation"]


def test_time_control_declared_a_minute_ahead_is_begun_when_the_clock_gets_there(kitchen: Kitchen) -> None:
    """No reading wakes it: after four hours it is to be discarded all the same (Food Code 3-501.19(B))."""
    batch = kitchen.batch("L1", processes=["cold-holding"])
    kitchen.rounds(T0 + 30 * MIN)
    with kitchen.store.write() as session:
        at_ms, facts = T0 + 31 * MIN, {"under": "time-control-4h"}
        note(
            session, session.merge(batch), EventKind.REMOVED, at_ms=at_ms, now_ms=T0 + 30 * MIN, by="test", facts=facts
        )
    for minute in range(30, 280, 10):
        kitchen.rounds(T0 + minute * MIN)
    assert kitchen.verdicts()[("batch:1:1", "time-control-4h", "3-501.19(B)")] == "unproven"
    assert _of(kitchen, "3-501.19(B)").kind == "not-shown"
