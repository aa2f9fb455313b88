"""Reheating for hot holding, Food Code 3-403.11: 41 °F to 165 °F within 2 h, and 165 °F for 15 s; a code without a time."""

from dataclasses import replace

import pytest

from holdwatch.limits import load_limits
from holdwatch.limits.model import ReheatingLimits
from holdwatch.readings import Record, Series
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import ClauseVerdict, Process, Verdict
from tests.rules.series_words import HOUR, LIMITS, MINUTE, T0, declared, joined, line, points

MET, MISSED, UNPROVEN, OPEN, NONE = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN, Verdict.NONE
Notes = tuple[tuple[str, float], ...]


def heated(
    *parts: Series, notes: Notes = (), until: float | None = None, finished: bool = True, code: str = ""
) -> ClauseVerdict:
    """Return the answer; instants in minutes."""
    probe = joined(*parts)
    entries = declared(*notes)
    last = max([*([int(probe.at_ms[-1])] if len(probe) else []), *(entry.at_ms for entry in entries)], default=T0)
    if until is not None:
        last = T0 + round(until * MINUTE)
    limits = load_limits(code) if code else LIMITS
    record = Record(probe, declared=entries)
    return judge(Process.REHEATING, record, limits, until_ms=last, finished=finished).clauses[0]


def held(minute: float, seconds: int = 15) -> Series:
    """Return 165 °F every five seconds, for so long."""
    return points(*((minute + n / 60, 165.0) for n in range(0, seconds + 1, 5)))


@pytest.mark.parametrize(
    ("hot_at", "verdict"),
    [
        (120, MET),  # within two hours of the last reading at 41 °F
        (120.001, UNPROVEN),
    ],
)
def test_reheating_two_hours_to_the_millisecond(hot_at: float, verdict: Verdict) -> None:
    """The last reading at 41 °F and the first at 165 °F decide."""
    clause = heated(line((-5, 40), (0, 41)), line((1, 42), (119, 164)), held(hot_at))
    assert clause.verdict is verdict
    assert clause.started == (T0, T0 + MINUTE)
    assert clause.due == (T0 + 2 * HOUR, T0 + 2 * HOUR + MINUTE)
    assert clause.reached == (T0 + 119 * MINUTE, T0 + round(hot_at * MINUTE))
    assert "it left 41 °F between 2026-02-25 06:20:00 UTC and 2026-02-25 06:21:00 UTC" in clause.reason


def test_reheating_too_slow_is_missed_whatever_the_dwell() -> None:
    """Below 165 °F two hours after the first reading above 41 °F."""
    clause = heated(line((-5, 40), (0, 41)), line((1, 42), (121, 164)), held(122, 60))
    assert clause.verdict is MISSED
    assert "165 °F for 15 s: from 165.0 °F at 2026-02-25 08:22:00 UTC, for 1 min at least" in clause.reason


@pytest.mark.parametrize(
    ("seconds", "cooler_after", "verdict"), [(15, 5, MET), (10, 5, UNPROVEN), (10, 4.9, UNPROVEN), (5, 4.9, MISSED)]
)
def test_reheating_dwell_of_fifteen_seconds(seconds: int, cooler_after: float, verdict: Verdict) -> None:
    """At least from the first to the last reading at 165 °F, at most from the one before to the one after."""
    start = 100.0
    before = points((start - 5 / 60, 164))
    after = points((start + (seconds + cooler_after) / 60, 164), (start + 1, 163))
    clause = heated(line((0, 41), (99, 160)), before, held(start, seconds), after)
    assert clause.verdict is verdict
    if verdict is MISSED:
        assert "Not 165 °F for 15 s: the warmest was 165.0 °F at 2026-02-25 08:00:00 UTC." in clause.reason
    if verdict is UNPROVEN:
        assert "whether it was 165 °F for 15 s: the warmest was 165.0 °F" in clause.reason


def test_reheating_dwell_before_it_was_cold_again_does_not_count() -> None:
    """Hot once, cold again, and heated anew: the last cold reading before it got hot starts the time."""
    first = joined(line((0, 41), (60, 164)), held(61))
    assert heated(first).verdict is MET
    again = joined(first, line((62, 160), (200, 38)), line((201, 42), (250, 150)))
    assert heated(again).started == (T0, T0 + MINUTE)  # once met it stays: what comes later is another story
    hot_again = joined(again, line((251, 152), (260, 164)), held(261))
    assert heated(hot_again).started == (T0, T0 + MINUTE)
    assert heated(line((-30, 40), (0, 40)), points((1, 42))).started == (T0, T0 + MINUTE)  # the last reading of all
    hot_before = joined(held(-60, 60), line((-50, 150), (0, 41)), line((1, 42), (60, 164)), held(61))
    clause = heated(hot_before)
    assert clause.verdict is MET
    assert clause.started == (T0, T0 + MINUTE)
    cold_later = joined(hot_before, line((62, 160), (200, 38)), line((201, 42), (250, 150)))
    assert heated(cold_later).started == (T0, T0 + MINUTE)


def touched_and_held(again_at: float) -> Series:
    """Return one reading of 165 °F at 70 min, 120 °F, and 165 °F for 15 s from `again_at` on."""
    up = line((0, 40), (69, 160))
    down = points((70, 165), (72, 150), (74, 135))
    again = points((again_at - 3, 130), (again_at - 2, 142), (again_at - 1, 155))
    return joined(up, down, line((76, 120), (again_at - 4, 120)), again, held(again_at))


@pytest.mark.parametrize(
    ("again_at", "verdict"),
    [
        (120, MET),  # within two hours of the last reading at 41 °F
        (120.001, UNPROVEN),
        (323, UNPROVEN),
    ],
)
def test_reheating_dwell_begins_within_the_two_hours(again_at: float, verdict: Verdict) -> None:
    """Food Code 3-403.11(D): a touch of 165 °F, hours at 120 °F and a dwell then are more than two hours in all."""
    for finished in (True, False):
        clause = heated(touched_and_held(again_at), finished=finished)
        assert clause.verdict is verdict
    if verdict is UNPROVEN:
        assert "165 °F for 15 s, but not shown in time: from 165.0 °F at 2026-02-25 " in clause.reason


def test_reheating_dwell_that_begins_at_the_end_of_a_time_without_its_end_is_late() -> None:
    """Where "less than 2 h" is printed, as in no published code."""
    part = LIMITS.part("reheating", ReheatingLimits)
    assert part is not None
    code = replace(LIMITS, more={**LIMITS.more, "reheating": replace(part, within_inclusive=False)})
    for again_at, verdict in ((119.999, MET), (120, UNPROVEN)):
        probe = touched_and_held(again_at)
        answer = judge(Process.REHEATING, Record(probe), code, until_ms=int(probe.at_ms[-1]), finished=True)
        assert answer.verdict is verdict


@pytest.mark.parametrize(
    ("notes", "s1", "verdict"),
    [
        ((), None, UNPROVEN),
        ((("removed", -20),), -20, MET),
        ((("removed", 0),), 0, MET),
        ((("removed", 0.001),), None, UNPROVEN),  # it was read warmer before that
    ],
)
def test_reheating_start_declared_where_no_reading_is_cold(notes: Notes, s1: float | None, verdict: Verdict) -> None:
    """Removed from the cold, not later than the first reading."""
    clause = heated(line((0, 60), (90, 160)), held(91), notes=notes)
    assert clause.verdict is verdict
    assert clause.started == (None if s1 is None else T0 + round(s1 * MINUTE), T0)
    assert ("when it left 41 °F is not shown" in clause.reason) is (s1 is None)


@pytest.mark.parametrize(("until", "verdict"), [(124, OPEN), (124.001, UNPROVEN)])
def test_reheating_not_begun_is_awaited_from_its_last_cold_reading(until: float, verdict: Verdict) -> None:
    """Still cold: it can be met for two hours and two usual intervals."""
    clause = heated(line((-30, 40), (0, 40)), until=until)
    assert clause.verdict is verdict
    assert clause.started == (T0, None)
    assert clause.due == (T0 + 2 * HOUR, None)
    assert clause.reason == "Reheating has not been seen to begin."


@pytest.mark.parametrize(("ended", "verdict"), [(119.999, NONE), (120, OPEN)])
def test_reheating_served_before_it_was_due_is_asked_nothing(ended: float, verdict: Verdict) -> None:
    """Served cold within two hours of the last cold reading, or of the removal."""
    assert heated(line((-30, 40), (0, 40)), notes=(("ended", ended),)).verdict is verdict
    assert heated(Series.empty(), notes=(("removed", 0), ("ended", ended))).verdict is verdict


def test_reheating_without_anything_is_not_shown() -> None:
    """No reading, nothing declared."""
    clause = heated(Series.empty(), until=0)
    assert clause.verdict is UNPROVEN
    assert clause.started == clause.due == (None, None)


def test_reheating_dwell_is_open_until_the_step_ends() -> None:
    """Hot in time, not yet for 15 s: running; a last reading that is not judged yet leaves it open too."""
    warm = (line((0, 41), (99, 160)), points((100, 165)))
    assert heated(*warm, finished=False).verdict is OPEN
    assert heated(*warm).verdict is UNPROVEN
    assert "Not yet 165 °F for 15 s." in heated(*warm, finished=False).reason
    assert heated(*warm, points((100.2, 190))).verdict is OPEN


def test_reheating_in_a_code_without_a_time_asks_the_temperature_alone() -> None:
    """Food Standards Code 3.2.2 cl. 7(4): 60 °C or above, "rapidly", with no figure for the time."""
    slow = line((0, 40), (600, 139), (610, 141))
    clause = heated(slow, code="australia")
    assert clause.verdict is MET
    assert clause.level_c == 60.0
    assert clause.reached is not None
    assert clause.started is None
    short = heated(line((0, 40), (600, 139)), code="australia")
    assert short.verdict is MISSED
    assert heated(Series.empty(), code="australia", until=0).verdict is UNPROVEN
    assert "there is no reading" in heated(Series.empty(), code="australia", until=0).reason
    falling = heated(line((0, 138), (10, 120)), code="australia")
    assert falling.verdict is UNPROVEN  # who knows how warm it was before
    assert "whether it was 60 °C for an instant: the warmest was 58.9 °C at 2026-02-25 06:20:00 UTC" in falling.reason
