"""Holding at its edges: where a preparation, a hole, a hand check or a doubtful last reading meets the period."""

import numpy as np
import pytest

from holdwatch.readings import Series
from holdwatch.rules.holding import Gap
from holdwatch.rules.verdicts import ClauseVerdict, Process, Verdict
from tests.rules.series_words import MINUTE, T0, ask, cold, joined, line, points

MET, MISSED, UNPROVEN, OPEN = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN
Notes = list[tuple[str, float]]


def clause(probe: Series, process: Process = Process.COLD_HOLDING, **options: object) -> ClauseVerdict:
    """Return the answer of holding."""
    return ask(process, probe, **options).clauses[0]  # type: ignore[arg-type]


# ---------------------------------------------------------------- preparation


@pytest.mark.parametrize(
    ("removed", "returned", "verdict"),
    [
        (30, 60, MISSED),  # a reading at the return is asked again
        (30, 60.001, MET),
        (30.001, 61, MISSED),  # one just before it was taken out is asked still
        (30, 61, MET),  # one at the instant is not
    ],
)
def test_holding_preparation_begins_with_its_instant_and_ends_before_the_return(
    removed: float, returned: float, verdict: Verdict
) -> None:
    """From `removed` on nothing is asked; from `returned` on it is again."""
    record = joined(line((0, 40), (29, 40)), line((30, 41.5), (60, 41.5)), line((61, 40), (90, 40)))
    assert cold(record, notes=[("removed", removed), ("returned", returned)]) is verdict


@pytest.mark.parametrize(
    ("removed", "returned", "verdict"),
    [
        (40, 110, MET),
        (40.001, 110, UNPROVEN),
        (40, 109.999, UNPROVEN),
        (50, 100, UNPROVEN),  # nobody read anything when it came back
        (50, 120, MET),
        (50.001, 120, UNPROVEN),
        (30, 120, MET),
        (20, 130, MET),
    ],
)
def test_holding_hole_around_a_preparation_is_no_longer_without_it_than_any_other(
    removed: float, returned: float, verdict: Verdict
) -> None:
    """Readings end at 30 and begin again at 120: what is asked of both parts together is the largest gap, 20 min."""
    record = joined(line((0, 38), (30, 38)), line((120, 38), (150, 38)))
    assert cold(record, notes=[("removed", removed), ("returned", returned)]) is verdict


@pytest.mark.parametrize(
    ("removed", "returned", "read", "verdict"),
    [
        (50, 100, 70, MET),
        (50.001, 100, 70, UNPROVEN),
        (50, 99.999, 70, UNPROVEN),
        (50, 100, 50, MET),  # when it was taken out
    ],
)
def test_holding_hole_around_a_preparation_with_a_reading_in_it_is_borne_in_each_part(
    removed: float, returned: float, read: float, verdict: Verdict
) -> None:
    """Readings end at 30 and begin again at 120, and one at 60 °F between: 20 min in each part."""
    record = joined(line((0, 38), (30, 38)), points((read, 60)), line((120, 38), (150, 38)))
    assert cold(record, notes=[("removed", removed), ("returned", returned)]) is verdict


@pytest.mark.parametrize(
    ("out", "back", "verdict"),
    [
        ((45, 75), (60, 95), UNPROVEN),  # 15 min in each part: nobody read anything of the middle one
        ((32, 45), (40, 105), MET),  # 2, 5 and 5 min
        ((32, 48), (40, 100), MET),  # 2, 8 and 10 min: together no longer than the largest gap
        ((32, 48.001), (40, 100), UNPROVEN),
        ((50, 60 + 1 / MINUTE), (60, 90), UNPROVEN),  # 20 min, a thousandth of a second, 20 min
    ],
)
def test_holding_part_between_two_preparations_has_no_reading_to_bear_it(
    out: tuple[float, float], back: tuple[float, float], verdict: Verdict
) -> None:
    """Readings end at 30 and begin again at 110; ours: it is borne where all the parts are no longer than 20 min."""
    record = joined(line((0, 38), (30, 38)), line((110, 38), (140, 38)))
    notes = [note for pair in zip(out, back, strict=True) for note in zip(("removed", "returned"), pair, strict=True)]
    assert cold(record, notes=notes) is verdict
    assert cold(record, notes=notes[:2]) is UNPROVEN


def test_holding_short_preparations_do_not_stand_for_checks() -> None:
    """Two checks 8 h apart, and out for a minute once or twice: whoever took it out read nothing."""
    once: Notes = [("removed", 240), ("returned", 241)]
    told = clause(Series.empty(), hand=points((0, 38), (480, 38)), notes=once)
    assert told.verdict is UNPROVEN
    assert "No reading for 4 h, from 2026-02-25 06:20:00 UTC to 2026-02-25 10:20:00 UTC" in told.reason
    assert cold(Series.empty(), hand=points((0, 38), (240, 38), (480, 38)), notes=once) is MET
    notes: Notes = [("removed", 180), ("returned", 181), ("removed", 360), ("returned", 361)]
    told = clause(Series.empty(), hand=points((0, 38), (480, 38)), notes=notes)
    assert told.verdict is UNPROVEN
    assert "No reading for 3 h" in told.reason
    assert cold(Series.empty(), hand=points((0, 38), (240, 38), (480, 38)), notes=notes) is MET


def test_holding_short_preparations_cover_no_end_of_the_period() -> None:
    """One reading, and out for a minute in every twenty, before it or after it."""
    often: Notes = [(key, at + n) for at in range(20, 480, 20) for n, key in enumerate(("removed", "returned"))]
    assert cold(points((0, 38)), notes=[("from", 0), *often], until=480) is UNPROVEN
    assert cold(points((480, 38)), notes=[("from", 0), *often], until=480) is UNPROVEN
    back: Notes = [("removed", 35), ("returned", 100)]  # read until 30
    assert cold(line((0, 38), (30, 38)), notes=back, until=115) is MET
    assert cold(line((0, 38), (30, 38)), notes=back, until=115.001) is UNPROVEN


@pytest.mark.parametrize(
    ("probe", "hand", "notes", "verdict"),
    [
        # the part next to the hand check may last 4 h, the part next to the probe's reading 20 min
        (line((0, 38), (30, 38)), points((200, 38)), [("removed", 50), ("returned", 60)], MET),
        (line((0, 38), (30, 38)), points((200, 38)), [("removed", 50.001), ("returned", 60)], UNPROVEN),
        (line((200, 38), (230, 38)), points((0, 38)), [("removed", 170), ("returned", 180)], MET),
        (line((200, 38), (230, 38)), points((0, 38)), [("removed", 170), ("returned", 179)], UNPROVEN),
        (line((200, 38), (230, 38)), points((0, 38)), [], UNPROVEN),
        # and both of them together 4 h
        (line((0, 38), (30, 38)), points((280, 38)), [("removed", 50), ("returned", 60)], MET),
        (line((0, 38), (30, 38)), points((281, 38)), [("removed", 50), ("returned", 60)], UNPROVEN),
        (Series.empty(), points((0, 38), (240, 38)), [], MET),
    ],
)
def test_holding_part_of_a_hole_bears_what_the_reading_beside_it_bears(
    probe: Series, hand: Series, notes: Notes, verdict: Verdict
) -> None:
    """Ours: 20 min beside a probe's reading, 4 h beside a hand check; across both only where both are checks."""
    assert cold(probe, hand=hand, notes=notes) is verdict


def test_holding_ends_of_the_period_bear_what_the_reading_beside_them_bears() -> None:
    """Four hours before a hand check that comes first, or after one that comes last; else twenty minutes."""
    probe = line((1, 38), (30, 38))
    for notes, until, hand, verdict in (
        ([("from", -240)], 30, points((0, 38)), MET),
        ([("from", -241)], 30, points((0, 38)), UNPROVEN),
        ([("from", -20)], 31, points((31, 38)), UNPROVEN),
        ([("from", -19)], 271, points((31, 38)), MET),
        ([("from", -19)], 272, points((31, 38)), UNPROVEN),
        ([("from", 0)], 51, points((0, 38)), UNPROVEN),
    ):
        assert cold(probe, hand=hand, notes=notes, until=until) is verdict


def test_holding_not_returned_is_not_asked_to_the_end() -> None:
    """Taken out and not back: nothing is asked to the end of the period, however long."""
    assert cold(line((0, 38), (30, 38)), notes=[("removed", 50)], until=500) is MET
    assert cold(line((0, 38), (30, 38)), notes=[("removed", 50.001)], until=500) is UNPROVEN
    back: Notes = [("removed", 50), ("returned", 60), ("removed", 60 + 1 / MINUTE)]
    assert cold(line((0, 38), (30, 38)), notes=back, until=500) is UNPROVEN  # for a thousandth of a second


def test_holding_start_of_the_period_in_preparation_is_no_gap() -> None:
    """Asked from 0, out until 60, first read at 80."""
    late = line((80, 38), (120, 38))
    assert cold(late, notes=[("from", 0), ("removed", 0), ("returned", 60)]) is MET
    assert cold(late, notes=[("from", 0), ("removed", 0), ("returned", 59)]) is UNPROVEN


def test_holding_tells_only_preparation_that_falls_into_the_period() -> None:
    """What ended when the period began, or begins after it, is not told; what touches it is."""
    kept = line((0, 38), (90, 38))
    before: Notes = [("removed", 5), ("returned", 10)]
    assert "Not asked" not in clause(kept, notes=[*before, ("from", 10)]).reason
    assert "Not asked for 5 min from" in clause(kept, notes=[*before, ("from", 9)]).reason
    both = clause(kept, notes=[*before, ("removed", 30), ("returned", 32), ("from", 20)]).reason
    assert both.endswith("Not asked for 2 min from 2026-02-25 06:50:00 UTC: removed until returned.")
    assert "Not asked for 0 s so far" in clause(kept, notes=[("removed", 60)], until=60).reason
    assert (
        "Not asked for 1 min so far, since 2026-02-25 07:20:00 UTC"
        in clause(kept, notes=[("removed", 60)], until=61).reason
    )


def test_holding_reading_at_the_very_start_of_the_period_is_asked() -> None:
    """One a millisecond before it is not."""
    record = joined(points((0, 41.5)), line((1, 40), (30, 40)))
    assert cold(record, notes=[("from", 0)]) is MISSED
    assert cold(record, notes=[("from", 0.001)]) is MET
    assert cold(record, notes=[("from", 0), ("from", 10)]) is MISSED  # declared twice, the first counts


# ---------------------------------------------------------------- what is told


def test_holding_tells_the_longest_hole_and_how_many_there_are() -> None:
    """Holes of 30, 50 and 40 min: the middle one is named."""
    record = joined(line((0, 38), (5, 38)), points((35, 38), (85, 38), (125, 38), (126, 38)))
    reason = clause(record).reason
    assert "No reading for 50 min, from 2026-02-25 06:55:00 UTC to 2026-02-25 07:45:00 UTC" in reason
    assert "(3 such gaps, this is the longest)" in reason
    assert "(2 such gaps" in clause(joined(line((0, 38), (5, 38)), points((35, 38), (85, 38)))).reason
    assert "such gaps" not in clause(joined(line((0, 38), (5, 38)), line((35, 38), (40, 38)))).reason


def test_holding_names_the_first_of_the_warmest_and_of_the_coldest() -> None:
    """Kept cold: the warmest reading; kept hot: the coldest; of several alike the first."""
    record = points((0, 38), (1, 40), (2, 39), (3, 40), (4, 37))
    told = clause(record)
    assert (
        told.reason
        == "Kept in 5 readings without a gap: 41 °F or less; the warmest was 40.0 °F at 2026-02-25 06:21:00 UTC."
    )
    assert told.started == (T0, T0)
    told = clause(points((0, 140), (1, 136), (2, 139), (3, 136), (4, 137)), Process.HOT_HOLDING)
    assert "the coldest was 136.0 °F at 2026-02-25 06:21:00 UTC" in told.reason
    mixed = clause(record, hand=points((5, 38)))
    assert mixed.reason.startswith("Kept in 6 readings without a gap")  # not by checks alone
    assert clause(points((0, 38)), notes=[("from", -5)]).reason.startswith("Kept in 1 reading without a gap")
    named = clause(record, notes=[("from", -5)])
    assert named.started == (T0 - 5 * MINUTE, T0 - 5 * MINUTE)


def test_holding_one_reading_beyond_the_level_is_told_alone() -> None:
    """No count of readings where there is one; the farthest of all spells where there are several."""
    one = joined(line((0, 40), (9, 40)), points((10, 41.5)), line((11, 40), (20, 40)))
    assert clause(one).reason == "41.5 °F at 2026-02-25 06:30:00 UTC, above 41 °F."
    two = joined(one, line((21, 41.5), (22, 42)), line((23, 40), (30, 40)))
    told = "41.5 °F at 2026-02-25 06:30:00 UTC, above 41 °F; 3 such readings in 2 spells, farthest 42.0 °F."
    assert clause(two).reason == told
    cool = joined(line((0, 136), (9, 136)), points((10, 134), (11, 134.5)), line((12, 136), (20, 136)))
    told = clause(cool, Process.HOT_HOLDING)
    assert "; 2 such readings in 1 spell, farthest 134.0 °F" in told.reason


# ---------------------------------------------------------------- last readings that are not judged yet


def test_holding_last_reading_not_judged_yet_leaves_it_open() -> None:
    """More than 20 °F from the one before: whether it was a spike is shown by the next readings, or by 2 min."""
    jumped = joined(line((0, 38), (30, 38)), points((31, 70)))
    told = clause(jumped)
    assert told.verdict is OPEN
    assert "Kept up to the reading before 70.0 °F at 2026-02-25 06:51:00 UTC, which is not judged yet" in told.reason
    assert clause(jumped, notes=[("from", 31.001)], until=31.5).verdict is OPEN  # nothing else was read
    again = clause(joined(jumped, points((31.5, 75))))
    assert "before 70.0 °F at 2026-02-25 06:51:00 UTC" in again.reason  # the first of them
    out: Notes = [("removed", 31), ("returned", 40)]
    assert clause(jumped, notes=out).verdict is MET  # it was in preparation then


def test_holding_end_covered_only_by_a_reading_not_judged_yet_is_open_and_a_start_is_not() -> None:
    """The reading that waits may cover the end of the period; it covers no start, and no hole before it."""
    jumped = joined(line((0, 38), (30, 38)), points((50.5, 70)))
    assert clause(jumped, until=51).verdict is OPEN
    assert clause(line((0, 38), (30, 38)), until=51).verdict is UNPROVEN
    assert clause(jumped, until=51, notes=[("from", -21)]).verdict is UNPROVEN
    alone = points((0, 38), (1, 70))
    assert clause(alone, notes=[("from", -20)]).verdict is OPEN
    assert clause(alone, notes=[("from", -20.001)]).verdict is UNPROVEN
    torn = joined(line((0, 38), (5, 38)), line((30, 38), (40, 38)), points((41, 70)))
    assert clause(torn).verdict is UNPROVEN


def test_holding_one_reading_and_one_that_waits() -> None:
    """One reading without a period is not shown, but the one that waits may be the second."""
    assert clause(points((0, 38), (1, 70))).verdict is OPEN
    assert clause(points((0, 38))).verdict is UNPROVEN


@pytest.mark.parametrize(("readings", "between"), [(0, 0), (1, 0), (2, 1)])
def test_holding_has_a_largest_gap_between_each_two_readings(readings: int, between: int) -> None:
    """None where there is one reading, or none."""
    assert len(Gap().between(np.zeros(readings, dtype=np.bool_))) == between


def test_holding_largest_gap_is_the_longer_one_only_between_two_checks() -> None:
    """A probe's reading, two checks, a probe's reading."""
    by_hand = np.array([False, True, True, False])
    gap = Gap()
    assert gap.between(by_hand).tolist() == [gap.probe_ms, gap.hand_ms, gap.probe_ms]
