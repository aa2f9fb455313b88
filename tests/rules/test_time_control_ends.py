"""Time instead of temperature at its edges: Food Code 3-501.19, the tray it is added to, the air of the room."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from holdwatch.limits import load_limits
from holdwatch.readings import Record, Series
from holdwatch.rules.judge import sit
from holdwatch.rules.processes import judge_clause
from holdwatch.rules.verdicts import ClauseVerdict, Process, Verdict
from tests.rules.series_words import HOUR, LIMITS, MINUTE, T0, declared, joined, line, points

MET, MISSED, UNPROVEN, OPEN, NONE = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN, Verdict.NONE
FOUR, SIX = Process.TIME_CONTROL_4H, Process.TIME_CONTROL_6H
COLD = line((-30, 38), (0, 38))
Notes = tuple[tuple[str, float], ...]
OUT: Notes = (("removed", 0),)


def asked(
    process: Process,
    probe: Series,
    notes: Notes = OUT,
    *,
    until: float,
    hand: Series | None = None,
    code: str = "",
    **beside: Any,
) -> ClauseVerdict:
    """Return the answer at an instant, in minutes; `beside` is what else was declared."""
    record = Record(probe, hand or Series.empty(), declared=declared(*notes))
    sitting = sit(record, until_ms=T0 + round(until * MINUTE), out_of_food=False)
    limits = load_limits(code) if code else LIMITS
    return judge_clause(sitting, process, limits, finished=False, beside=beside).clauses[0]


# ---------------------------------------------------------------- the end


@pytest.mark.parametrize(
    ("notes", "until", "verdict", "said"),
    [
        ((*OUT, ("ended", 240)), 300, MET, "In time: all of it was gone at 2026-02-25 10:20:00 UTC, 4 h after"),
        ((*OUT, ("ended", 240.001)), 300, MISSED, "Too late"),
        ((*OUT, ("ended", 0)), 300, MET, "0 s after"),  # gone as soon as it was out
        ((*OUT, ("ended", -0.001)), 300, NONE, "before it was removed"),
        (OUT, 240, OPEN, "discarded by 2026-02-25 10:20:00 UTC"),
        (OUT, 240.001, UNPROVEN, "The time was up at 2026-02-25 10:20:00 UTC and no end is recorded"),
        (
            (*OUT, ("returned", 240)),
            241,
            UNPROVEN,
            "no end is recorded",
        ),  # an entry just in time shows nothing after it
        (
            (*OUT, ("returned", 241), ("removed", 250)),
            300,
            MISSED,
            "Still there at 2026-02-25 10:21:00 UTC: the time was up at 2026-02-25 10:20:00 UTC",
        ),
    ],
)
def test_time_control_four_hours_to_the_millisecond(notes: Notes, until: float, verdict: Verdict, said: str) -> None:
    """Food Code 3-501.19(B): within four hours, the end included."""
    clause = asked(FOUR, COLD, notes, until=until)
    assert clause.verdict is verdict
    assert said in clause.reason
    assert clause.started == (T0, T0)
    assert clause.due == (T0 + 4 * HOUR, T0 + 4 * HOUR)
    ended = dict(notes).get("ended")
    assert clause.reached == (None if ended is None else (T0 + round(ended * MINUTE),) * 2)


def test_time_control_code_that_writes_less_than_four_hours(tmp_path: Path) -> None:
    """An invented code with a strict end: exactly four hours are too long."""
    packaged = Path(__file__).parents[2] / "holdwatch" / "limits" / "codes" / "us-food-code-2022.toml"
    path = tmp_path / "strict.toml"
    text = packaged.read_text(encoding="utf-8")
    path.write_text(text.replace("within_inclusive = true", "within_inclusive = false"), encoding="utf-8")
    for ended, verdict in ((240, MISSED), (239.999, MET)):
        assert asked(FOUR, COLD, (*OUT, ("ended", ended)), until=300, code=str(path)).verdict is verdict


def test_time_control_first_reading_after_the_time_is_told() -> None:
    """Food that is still read shows that it is still there."""
    still = joined(COLD, line((1, 39), (60, 60)), line((235, 66), (245, 66)))
    clause = asked(FOUR, still, until=245)
    assert clause.verdict is MISSED
    assert "Still there: 66.0 °F at 2026-02-25 10:21:00 UTC, and the time was up" in clause.reason
    assert asked(FOUR, still, until=240).verdict is OPEN


def test_time_control_nobody_declared() -> None:
    """Without the instant at which it was removed there is no start and no end."""
    clause = asked(FOUR, COLD, (("prepared", 0),), until=10)
    assert clause.verdict is UNPROVEN
    assert clause.started == clause.due == (None, None)


# ---------------------------------------------------------------- the start


@pytest.mark.parametrize(
    ("probe", "verdict", "said"),
    [
        (points((-1, 42), (0, 41), (1, 60)), MET, "It was 41.0 °F at 2026-02-25 06:20:00 UTC when it was removed"),
        (
            points((-1, 41), (0, 41.1), (1, 41)),
            MISSED,
            "It was 41.1 °F at 2026-02-25 06:20:00 UTC, neither 41 °F or less nor",
        ),
        (points((-1, 60), (0, 135), (1, 134)), MET, "135.0 °F"),
        (points((-1, 140), (0, 134.9), (1, 140)), MISSED, "nor 135 °F or above, when it was removed"),
        (
            points((0.001, 38)),
            UNPROVEN,
            "No reading shows how warm it was when it was removed at 2026-02-25 06:20:00 UTC",
        ),
    ],
)
def test_time_control_start_is_the_last_reading_up_to_the_removal(probe: Series, verdict: Verdict, said: str) -> None:
    """41 °F or less, or 135 °F or above, in the last reading at or before it."""
    clause = asked(FOUR, probe, until=2, notes=(*OUT, ("ended", 2)))
    assert clause.verdict is verdict
    assert said in clause.reason


def test_time_control_start_by_hand_may_be_four_hours_old() -> None:
    """Ours: a hand check speaks for 4 h, a probe's reading for 20 min."""
    ended: Notes = (*OUT, ("ended", 2))
    for age, verdict in ((240, MET), (240.1, UNPROVEN)):
        assert asked(FOUR, Series.empty(), ended, until=2, hand=points((-age, 38))).verdict is verdict
    stale = asked(FOUR, points((-21, 38)), ended, until=2, hand=points((-30, 38)))
    assert stale.verdict is UNPROVEN  # the last of all is the probe's
    assert asked(FOUR, points((-30, 60)), ended, until=2, hand=points((-21, 38))).verdict is MET


def test_time_control_start_of_two_values_takes_the_worse() -> None:
    """Both are to be permitted."""
    ended: Notes = (*OUT, ("ended", 2))
    assert asked(FOUR, points((0, 38), (0, 42)), ended, until=2).verdict is MISSED
    assert asked(FOUR, points((0, 38), (0, 40)), ended, until=2).verdict is MET


def test_time_control_start_shown_by_the_unit_it_stood_in() -> None:
    """Where no reading of the food is near, a unit that kept the limit can stand for it; a reading goes before it."""
    ended: Notes = (*OUT, ("ended", 2))
    stood = "it stood in the walk-in, which kept 41 °F for 2 h"
    clause = asked(FOUR, Series.empty(), ended, until=2, stood=stood)
    assert clause.verdict is MET
    assert f"When it was removed at 2026-02-25 06:20:00 UTC, {stood}." in clause.reason
    assert asked(FOUR, points((0, 50)), ended, until=2, stood=stood).verdict is MISSED


@pytest.mark.parametrize(("tray", "counts_from"), [(-60, -60), (0, 0), (60, 0)])
def test_time_control_food_added_to_a_tray_takes_its_earlier_time(tray: float, counts_from: float) -> None:
    """The oldest content governs, and a younger one lends nothing."""
    tray_ms = T0 + round(tray * MINUTE)
    clause = asked(FOUR, COLD, (*OUT, ("ended", 200)), until=300, tray_ms=tray_ms)
    begins = T0 + round(counts_from * MINUTE)
    assert clause.started == (begins, begins)
    assert clause.due == (begins + 4 * HOUR, begins + 4 * HOUR)
    assert clause.verdict is (MISSED if tray < -40 else MET)
    if tray < 0:
        assert "4 h 20 min after" in clause.reason


# ---------------------------------------------------------------- six hours, never above 70 °F


def six(
    *parts: Series, ended: float = 60, until: float | None = None, hand: Series | None = None, **beside: Any
) -> ClauseVerdict:
    """Ask the six hours of food that was gone in time."""
    return asked(SIX, joined(*parts), (*OUT, ("ended", ended)), until=until or ended, hand=hand, **beside)


@pytest.mark.parametrize(("degrees", "verdict"), [(70.0, MET), (70.1, MISSED)])
def test_time_control_six_hours_never_above_70(degrees: float, verdict: Verdict) -> None:
    """Food Code 3-501.19(C): every reading from the removal to the end; the first above it is told."""
    clause = six(
        COLD,
        line((1, 40), (30, 60)),
        points((31, degrees), (32, degrees + 0.5 * (degrees > 70))),
        line((33, 60), (60, 65)),
    )
    assert clause.verdict is verdict
    if verdict is MISSED:
        assert "It was above 70 °F: 70.1 °F at 2026-02-25 06:51:00 UTC." in clause.reason
    else:
        assert "It was 70 °F or less in 61 readings without a gap." in clause.reason
    assert clause.level_c == pytest.approx(21.1111, abs=1e-4)


def test_time_control_six_hours_ask_nothing_before_the_removal_and_after_the_end() -> None:
    """A reading at the very instant of either is asked."""
    warm = 75.0
    assert six(points((-0.001, 40)), line((0, 40), (60, 60))).verdict is MET
    before = joined(points((-2, warm), (-1, warm)), line((0, 40), (60, 60)))
    assert six(before).verdict is MET
    assert six(line((0, 40), (59, 60)), points((60, warm))).verdict is MISSED
    assert six(line((0, 40), (60, 60)), points((61, warm)), until=61).verdict is MET
    late = joined(COLD, line((1, 40), (360, 69)), line((361, 69), (370, 75)))
    assert "above 70" not in asked(SIX, late, until=370).reason  # six hours are over: what is read then is not asked


@pytest.mark.parametrize(
    ("first", "last", "ended", "verdict"),
    [
        (20, 60, 80, MET),  # 20 min after the reading at the removal, 20 min before the end
        (20.001, 60, 80, UNPROVEN),
        (20, 60, 80.001, UNPROVEN),
    ],
)
def test_time_control_six_hours_bear_no_hole(first: float, last: float, ended: float, verdict: Verdict) -> None:
    """From the last reading before the removal to the end, the largest gap is borne."""
    clause = six(COLD, points((first, 50)), line((21, 50), (last, 60)), ended=ended)
    assert clause.verdict is verdict
    if verdict is UNPROVEN:
        assert "No reading for 20 min" in clause.reason
        assert "whether it was 70 °F or less is not shown" in clause.reason


def test_time_control_six_hours_count_a_hole_from_the_reading_before_the_removal() -> None:
    """The food was read 15 min before it was removed and 10 min after: 25 min without a reading."""
    rest = line((11, 40), (60, 60))
    assert six(points((-15, 38), (10, 40)), rest).verdict is UNPROVEN
    assert six(points((-10, 38), (10, 40)), rest).verdict is MET
    assert six(points((-15, 38), (0, 38), (10, 40)), rest).verdict is MET
    alone = six(points((-15, 38)))
    assert "No reading for 1 h 15 min from 2026-02-25 06:05:00 UTC" in alone.reason


def test_time_control_six_hours_count_a_hole_from_the_removal_where_nothing_was_read_before() -> None:
    """The unit it stood in stands for the start; from the removal on the food is read."""
    stood = "it stood in the walk-in"
    for first, verdict in ((20, MET), (20.001, UNPROVEN)):
        assert six(points((first, 40)), line((21, 40), (60, 60)), stood=stood).verdict is verdict
    nothing = six(Series.empty(), stood=stood)
    assert nothing.verdict is UNPROVEN
    assert "No reading for 1 h from 2026-02-25 06:20:00 UTC" in nothing.reason
    by_hand, probe = points((100, 50)), line((101, 50), (120, 55))
    assert six(probe, hand=by_hand, ended=140, stood=stood).verdict is MET  # 4 h before a hand check
    assert six(probe, hand=by_hand, ended=141, stood=stood).verdict is UNPROVEN  # 20 min after a probe's reading
    assert six(line((0, 38), (30, 50)), hand=points((31, 50)), ended=271).verdict is MET  # 4 h after a hand check
    assert six(line((0, 38), (30, 50)), hand=points((31, 50)), ended=272).verdict is UNPROVEN


def test_time_control_six_hours_by_hand() -> None:
    """Two hand checks may lie 4 h apart; a check and a probe's reading 20 min."""
    for second, verdict in ((240, MET), (240.1, UNPROVEN)):
        hand = points((0, 38), (second, 60))
        assert six(Series.empty(), hand=hand, ended=second + 1).verdict is verdict
    assert six(line((0, 38), (30, 50)), hand=points((51, 60)), ended=52).verdict is UNPROVEN
    assert six(line((0, 38), (30, 50)), hand=points((50, 60)), ended=52).verdict is MET


def test_time_control_room_air_stands_for_the_food_where_the_procedure_says_so() -> None:
    """Air at 70 °F or less covers what the food's readings do not; warmer air proves nothing of the food."""
    start = points((0, 38))
    room = line((0, 66), (60, 70))
    clause = six(start, room=room)
    assert clause.verdict is MET
    assert "It was 70 °F or less in 1 readings, the room in 61." in clause.reason
    assert six(start).verdict is UNPROVEN
    warm = six(start, room=line((0, 66), (60, 71)))
    assert warm.verdict is UNPROVEN
    assert (
        "The room was 70.1 °F at 2026-02-25 07:09:00 UTC: whether the food kept 70 °F or less is not shown"
        in warm.reason
    )
    assert six(start, room=line((0, 66), (39, 66))).verdict is UNPROVEN  # 21 min without either
    assert six(start, room=line((0, 66), (40, 66))).verdict is MET
    outside = joined(line((-30, 80), (-1, 80)), room, line((61, 80), (90, 80)))
    assert six(start, room=outside, until=90).verdict is MET  # before and after it is nobody's
    assert six(points((0, 38), (30, 71)), room=room).verdict is MISSED  # the food itself breaks the limit


@pytest.mark.parametrize(
    ("sent_c", "verdict"), [(-127.0, UNPROVEN), (-60.01, UNPROVEN), (-60.0, MET), (85.0, UNPROVEN), (999.0, UNPROVEN)]
)
def test_time_control_room_air_that_is_no_temperature_covers_nothing(sent_c: float, verdict: Verdict) -> None:
    """An error value of the air probe leaves a hole; colder than −60 °C is no temperature to the sieve."""
    room, start = line((0, 66), (60, 66)), points((0, 38))
    sent = Series(room.at_ms, np.where((room.at_ms > T0 + 20 * MINUTE) & (room.at_ms < T0 + 41 * MINUTE), sent_c, 19.0))
    assert six(start, room=sent).verdict is verdict
    if sent_c < -60:
        assert "No reading for 21 min from 2026-02-25 06:40:00 UTC" in six(start, room=sent).reason
        one = Series(room.at_ms, np.where(room.at_ms == T0 + 30 * MINUTE, sent_c, 19.0))
        assert "1 readings, the room in 60." in six(start, room=one).reason  # 2 min without one are no hole


def test_time_control_six_hours_last_reading_not_judged_yet_may_end_a_hole() -> None:
    """A jump of more than 20 °F waits for the next readings: it may cover the end, but no hole before it."""
    jumped = points((51, 80))
    assert asked(SIX, joined(COLD, line((1, 40), (30, 50)), jumped), until=51).verdict is OPEN
    assert asked(SIX, joined(COLD, line((1, 40), (30, 50))), until=51).verdict is UNPROVEN
    assert asked(SIX, joined(COLD, line((25, 40), (50, 50)), jumped), until=51).verdict is UNPROVEN
