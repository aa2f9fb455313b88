"""Time outside 5 °C and 60 °C, added up: the shortest and the longest that it can have been, to the minute.

FSANZ, 2 hour / 4 hour rule: under 2 h the food may go back, from 2 h to under 4 h it is used, at 4 h it is thrown away.
"""

from dataclasses import replace
from pathlib import Path

import pytest

from holdwatch.limits import load_limits
from holdwatch.quantities import celsius_of_f
from holdwatch.readings import Record, Series
from holdwatch.rules.cumulative import cooling_allowance_ms
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import ClauseVerdict, Process, Verdict
from tests.rules.series_words import HOUR, MINUTE, T0, declared, joined

MET, MISSED, UNPROVEN, OPEN = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN
AUSTRALIA = load_limits("australia")
IN, OUT, HOT = 4.0, 15.0, 65.0
Notes = tuple[tuple[str, float], ...]


def stay(first: int, last: int, celsius: float) -> Series:
    """Return a reading every minute, from the first to the last, all alike."""
    return Series.of((T0 + minute * MINUTE, celsius) for minute in range(first, last + 1))


def at(minute: float, celsius: float) -> Series:
    """Return one reading."""
    return Series.of([(T0 + round(minute * MINUTE), celsius)])


def told(
    *parts: Series,
    notes: Notes = (),
    until: float | None = None,
    hand: Series | None = None,
    finished: bool = True,
    code: str = "australia",
) -> ClauseVerdict:
    """Judge a record; `until` in minutes, default the last reading or entry."""
    probe, hand = joined(*parts), hand or Series.empty()
    entries = declared(*notes)
    last = max([*(int(s.at_ms[-1]) for s in (probe, hand) if len(s)), *(entry.at_ms for entry in entries)])
    if until is not None:
        last = T0 + round(until * MINUTE)
    record = Record(probe, hand, declared=entries)
    return judge(Process.CUMULATIVE_TIME, record, load_limits(code), until_ms=last, finished=finished).clauses[0]


@pytest.mark.parametrize(
    ("parts", "notes", "until", "most"),
    [
        # out from somewhere between 0 and 1 to somewhere between 60 and 61
        ((stay(0, 0, IN), stay(1, 60, OUT), stay(61, 70, IN)), (), None, "1 h 01 min"),
        # two spells: (0..11) and (20..31)
        ((stay(0, 0, IN), stay(1, 10, OUT), stay(11, 20, IN), stay(21, 30, OUT), stay(31, 40, IN)), (), None, "22 min"),
        # from cold to hot between two readings: it was somewhere outside in between
        ((stay(0, 0, IN), stay(1, 30, HOT)), (), None, "1 min"),
        ((stay(0, 0, HOT), stay(1, 30, IN)), (), None, "1 min"),
        # still outside at the last reading: what came after it is not known
        ((stay(0, 0, IN), stay(1, 60, OUT)), (), 65, "1 h 05 min"),
        # cold at the last reading: the largest gap after it is borne, more is not known
        ((stay(0, 0, IN), stay(1, 30, OUT), stay(31, 60, IN)), (), 80, "31 min"),
        ((stay(0, 0, IN), stay(1, 30, OUT), stay(31, 60, IN)), (), 81, "52 min"),
        # a hole of half an hour between cold readings counts wholly in the longest
        ((stay(0, 10, IN), stay(40, 50, IN)), (), None, "30 min"),
        # declared before the first reading, which is outside: it may have been outside since
        ((stay(0, 30, OUT), stay(31, 40, IN)), (("removed", -10),), None, "41 min"),
        # declared before the first reading, which is cold: within the largest gap it was cold, beyond it nobody knows
        ((stay(0, 30, IN),), (("removed", -20),), None, "0 s"),
        ((stay(0, 30, IN),), (("removed", -21),), None, "21 min"),
        # declared at the first reading, and later: nothing before it is asked
        ((stay(0, 30, OUT), stay(31, 40, IN)), (("removed", 0),), None, "31 min"),
    ],
)
def test_cumulative_longest_sum_is_told_to_the_minute(
    parts: tuple[Series, ...], notes: Notes, until: float | None, most: str
) -> None:
    """What may have been outside counts: to the readings just inside, across a hole, after the last reading."""
    clause = told(*parts, notes=notes, until=until)
    assert clause.verdict is MET
    assert clause.reason.startswith(f"Outside for {most} in all at most, less than 2 h")


@pytest.mark.parametrize(
    ("minutes", "verdict", "said"),
    [
        (241, MISSED, "Outside for 4 h in all, or more; 4 h is the most."),  # from reading 1 to reading 241
        (240, UNPROVEN, "It may have been outside for as much as 4 h in all."),  # 3 h 59 min to 4 h
        (239, MET, "Outside for 3 h 59 min in all at most, between 2 h and 4 h: use it now"),
        (120, MET, "Outside for 2 h in all at most, between 2 h and 4 h"),
        (119, MET, "Outside for 1 h 59 min in all at most, less than 2 h: it may go back"),
    ],
)
def test_cumulative_four_hours_are_too_long_and_two_are_no_longer_under_two(
    minutes: int, verdict: Verdict, said: str
) -> None:
    """The shortest sum of exactly 4 h is missed, the longest of exactly 4 h is not shown."""
    clause = told(stay(0, 0, IN), stay(1, minutes, OUT))
    assert clause.verdict is verdict
    assert clause.reason.startswith(said)
    assert f"ast {format_last(minutes)}" in clause.reason


def format_last(minutes: int) -> str:
    """Return the last reading as it is told."""
    hour, minute = divmod(6 * 60 + 20 + minutes, 60)
    return f"15.0 °C at 2026-02-25 {hour:02d}:{minute:02d}:00 UTC"


@pytest.mark.parametrize(
    ("out", "verdict", "said"),
    [
        # shortest from reading 1 to the last outside, longest to the readings just inside
        (121, MISSED, "It was back at 4.0 °C at 2026-02-25 08:22:00 UTC after 2 h outside or more"),
        (120, UNPROVEN, "It was back at 4.0 °C at 2026-02-25 08:21:00 UTC after as much as 2 h 01 min outside"),
        (119, UNPROVEN, "after as much as 2 h outside"),
        (118, MET, "Outside for 1 h 59 min in all at most"),
    ],
)
def test_cumulative_back_in_the_fridge_after_two_hours(out: int, verdict: Verdict, said: str) -> None:
    """Back at 5 °C after 2 h or more, and kept: too late; the first such reading is told."""
    clause = told(stay(0, 0, IN), stay(1, out, OUT), stay(out + 1, out + 40, IN))
    assert clause.verdict is verdict
    assert said in clause.reason


@pytest.mark.parametrize(
    ("out", "gap", "verdict", "said"),
    [
        # out from 0 or 1; outside again after a hole in which it may have been cold for an instant
        (90, 30, MET, "Outside for 2 h in all at most"),  # up to 2 h less that instant
        (
            90,
            31,
            UNPROVEN,
            "In a gap of the readings it may have been back after as much as 2 h 01 min outside. Last 15.0",
        ),
        (130, 20, MET, "Outside for 2 h 30 min in all at most"),  # no more than the largest gap
        (130, 21, UNPROVEN, "may have been back after as much as 2 h 31 min outside"),
        (30, 30, MET, "Outside for 1 h in all at most"),
    ],
)
def test_cumulative_back_in_a_hole_after_two_hours(out: int, gap: int, verdict: Verdict, said: str) -> None:
    """Put back and taken out again where nothing was read, or not: what nobody saw is not shown."""
    for clause in (
        told(stay(0, 0, IN), stay(1, out, OUT), at(out + gap, OUT)),
        told(stay(0, 0, IN), stay(1, out, OUT), until=out + gap),
    ):
        assert clause.verdict is verdict
        assert said in clause.reason


def test_cumulative_after_the_last_reading_it_is_where_it_was_declared_to_be() -> None:
    """Declared out and not back: by when it is to be gone counts on. Declared back, or nothing: it may have been cold."""
    out = (stay(0, 0, IN), stay(1, 90, OUT))
    gone = told(*out, notes=(("removed", 1),), until=180)
    assert (gone.verdict, "use it now" in gone.reason) == (MET, True)
    for notes in ((), (("removed", 1), ("returned", 60))):
        assert told(*out, notes=notes, until=180).verdict is UNPROVEN
    between = told(*out, at(121, OUT), notes=(("removed", 1),))
    assert between.verdict is UNPROVEN  # it was read again after a hole: nobody says what was meanwhile


def test_cumulative_hole_before_two_hours_is_no_late_return() -> None:
    """A hole early on, then outside without a gap: nothing was unseen after two hours."""
    clause = told(stay(0, 0, IN), at(30, OUT), stay(31, 180, OUT))
    assert clause.verdict is MET
    assert "between 2 h and 4 h" in clause.reason
    later = told(stay(0, 0, IN), at(30, OUT), stay(31, 130, OUT), at(160, OUT))
    assert later.verdict is UNPROVEN
    assert "after as much as 2 h 40 min outside" in later.reason


def test_cumulative_back_too_late_needs_no_known_beginning() -> None:
    """Outside for two hours since the first reading is two hours, whatever was before it."""
    late = (stay(0, 125, OUT), stay(126, 166, IN))
    for notes in ((), (("moved", 150),)):
        assert told(*late, notes=notes).verdict is MISSED


def test_cumulative_cold_again_before_it_was_ever_out_is_no_return() -> None:
    """Food that was never outside has not come back; food kept hot, then outside, has not come back either."""
    assert told(stay(0, 300, IN)).verdict is MET
    assert told(stay(0, 0, HOT), stay(1, 130, OUT), stay(131, 140, HOT)).verdict is MET


def test_cumulative_time_outside_before_the_first_reading_is_not_known() -> None:
    """Nothing declared, or declared after the first reading, leaves the sum without a bound."""
    warm = (stay(0, 30, OUT), stay(31, 40, IN))
    for notes in ((), (("removed", 1),)):
        clause = told(*warm, notes=notes)
        assert clause.verdict is UNPROVEN
        assert "before the first reading, 15.0 °C at 2026-02-25 06:20:00 UTC, is not shown" in clause.reason
    assert told(stay(0, 40, IN)).verdict is MET  # a first reading inside bounds it by itself
    assert told(stay(0, 40, HOT)).verdict is MET


@pytest.mark.parametrize(
    ("key", "verdict"),
    [
        ("prepared", MET),
        ("removed", MET),
        ("from", MET),
        ("left-heat", MET),
        ("placed", UNPROVEN),
        ("moved", UNPROVEN),
        ("returned", UNPROVEN),
    ],
)
def test_cumulative_time_has_a_bound_where_it_is_declared_what_the_food_came_from(key: str, verdict: Verdict) -> None:
    """Where a probe or a pan was put, says nothing of the hours before."""
    for minute in (0, -1):
        assert told(stay(0, 90, 10.0), notes=((key, minute),)).verdict is verdict
    assert told(stay(0, 90, 10.0), notes=((key, 1),)).verdict is UNPROVEN
    assert told(stay(0, 240, 10.0), notes=(("placed", 180),)).verdict is UNPROVEN  # readings before are not the food's
    assert told(stay(0, 90, 10.0), notes=(("placed", -10), ("removed", -1))).reason.startswith("Outside for 1 h 40 min")


@pytest.mark.parametrize(
    ("probe", "notes", "verdict"),
    [
        (at(0, IN), (), UNPROVEN),  # one reading shows an instant
        (at(0, OUT), (("removed", -30),), MET),
        (at(0, OUT), (), UNPROVEN),
    ],
)
def test_cumulative_one_reading(probe: Series, notes: Notes, verdict: Verdict) -> None:
    """One reading inside shows nothing of a time; one outside bounds a time that was declared to begin."""
    assert told(probe, notes=notes).verdict is verdict


def test_cumulative_nothing_to_judge() -> None:
    """No reading: not shown; while one waits for the sieve: running."""
    clause = told(notes=(("removed", 0),))
    assert clause.verdict is UNPROVEN
    assert clause.reason == "There is no reading to judge."


def test_cumulative_two_hand_checks_may_lie_four_hours_apart() -> None:
    """Between two cold hand checks four hours are borne; between a probe's reading and one hand check, twenty minutes."""
    for apart, most in ((240, "0 s"), (241, "4 h 01 min")):
        clause = told(hand=joined(at(0, IN), at(apart, IN)))
        assert most in clause.reason
        assert clause.verdict is (MET if apart == 240 else UNPROVEN)
    assert "30 min in all at most" in told(at(0, IN), hand=at(30, IN)).reason
    assert "0 s in all at most" in told(hand=joined(at(0, IN), at(60, IN)), until=300).reason  # 4 h after a hand check
    assert "30 min in all at most" in told(stay(1, 30, IN), hand=at(0, IN), until=60).reason  # after a probe's reading
    assert "4 h 01 min in all" in told(hand=joined(at(0, IN), at(60, IN)), until=301).reason


def test_cumulative_of_two_values_the_one_outside_counts() -> None:
    """Two values at one instant: the food counts as outside."""
    both = joined(stay(0, 20, IN), at(10, OUT))
    assert told(both).reason.startswith("Outside for 2 min in all at most")
    hot = joined(stay(0, 20, HOT), at(10, 55.0))
    assert told(hot).reason.startswith("Outside for 2 min in all at most")


def test_cumulative_of_two_values_the_cold_one_is_a_return() -> None:
    """Cold by one thermometer after 2 h 20 outside is back too late, whatever the other says beside it."""
    for beside in ((), (5.1,), (65.0,)):
        back = joined(at(160, 4.9), *(at(160, celsius) for celsius in beside))
        clause = told(stay(0, 9, IN), stay(10, 159, 10.0), back, stay(161, 210, 10.0))
        assert clause.verdict is MISSED
        assert clause.reason.startswith("It was back at 4.9 °C at 2026-02-25 09:00:00 UTC")
    as_much = told(stay(0, 9, IN), stay(10, 129, 10.0), at(130, 4.9), at(130, 5.1), stay(131, 210, 10.0))
    assert as_much.verdict is UNPROVEN
    assert as_much.reason.startswith("It was back at 4.9 °C at 2026-02-25 08:30:00 UTC after as much as 2 h")


def test_cumulative_time_out_of_the_cooling_counts() -> None:
    """Hot until 60, taken out, and never back: it does not cool, whatever the cooling of six hours would allow."""
    hot, out = stay(0, 60, HOT), stay(61, 354, 50.0)
    gone = told(hot, out, notes=(("left-heat", 0), ("removed", 60), ("ended", 354)))
    assert gone.verdict is MISSED
    assert gone.reason.startswith("Outside for 4 h 53 min in all, or more")
    # taken out for five minutes while it cooled, and cold at 300: one may count the rest of the cooling, or not
    cooled = (hot, stay(61, 299, 20.0), stay(300, 310, IN))
    short = told(*cooled, notes=(("left-heat", 0), ("removed", 100), ("returned", 105)))
    assert short.verdict is UNPROVEN
    assert "after as much as 3 h 20 min outside" in short.reason
    for notes in (("removed", 300),), (("removed", 0), ("returned", 30)):  # cold by then, or not off the heat yet
        assert told(*cooled, notes=(("left-heat", 0), *notes)).reason.startswith("Outside for 0 s in all at most")
    # twice out: the shortest sum has both times, and 40 min after the cooling
    twice = (("removed", 70), ("returned", 180), ("removed", 200), ("returned", 289))
    clause = told(*cooled, stay(311, 353, OUT), notes=(("left-heat", 0), *twice))
    assert clause.verdict is MISSED
    assert clause.reason.startswith("Outside for 4 h 01 min in all, or more")


def test_cumulative_cooling_span_is_the_only_time_left_out() -> None:
    """From left-heat until cold, at most the 6 h that Australia allows, nothing counts; before and after, all does."""
    assert cooling_allowance_ms(AUSTRALIA) == 6 * HOUR
    assert cooling_allowance_ms(load_limits("scotland")) == 0  # no figure for cooling
    assert cooling_allowance_ms(load_limits("us-food-code-2022")) == 6 * HOUR  # "a total of 6 hours": not 2 h more
    # out for 30 min, then on the heat and off it again at 40, cold from 100 on, out once more from 120 to 150
    clause = told(
        *(stay(0, 0, IN), stay(1, 30, OUT), stay(31, 40, HOT), stay(41, 99, OUT), stay(100, 119, IN)),
        *(stay(120, 149, OUT), stay(150, 160, IN)),
        notes=(("left-heat", 40),),
    )
    assert clause.reason.startswith("Outside for 1 h 02 min in all at most")  # 31 min before, 31 min after
    # cold when it was declared off the heat: there is no cooling to leave out
    cold = told(stay(0, 0, IN), stay(1, 60, OUT), stay(61, 70, IN), notes=(("left-heat", 0),))
    assert cold.reason.startswith("Outside for 1 h 01 min in all at most")
    # the first cold reading ends the cooling, even if it stays alone
    alone = told(
        *(stay(0, 40, HOT), stay(41, 99, OUT), stay(100, 100, IN), stay(101, 130, OUT), stay(131, 140, IN)),
        notes=(("left-heat", 40),),
    )
    assert alone.reason.startswith("Outside for 31 min in all at most")
    # never cold: after the 6 h of the clause it counts again
    warm = told(stay(0, 0, HOT), stay(1, 391, OUT), notes=(("left-heat", 0),))
    assert warm.reason.startswith("Outside for 31 min in all at most")


@pytest.mark.parametrize(("last", "verdict"), [(341, MISSED), (340.99999, UNPROVEN), (340, UNPROVEN), (339.99999, MET)])
def test_cumulative_time_beside_the_cooling_is_not_shortened_by_it(last: float, verdict: Verdict) -> None:
    """Cooled from 0 to 100; outside from 100 or 101 on: the shortest is 4 h at 341, the longest at 340."""
    cooled = (stay(0, 0, HOT), stay(1, 99, OUT), stay(100, 100, IN))
    clause = told(*cooled, stay(101, 339, OUT), at(last, OUT), notes=(("left-heat", 0),))
    assert clause.verdict is verdict


def test_cumulative_code_that_writes_not_more_than_allows_its_figures(tmp_path: Path) -> None:
    """An invented code: up to and including 2 h it may go back, up to and including 4 h it may be used."""
    packaged = Path(__file__).parents[2] / "holdwatch" / "limits" / "codes" / "australia.toml"
    text = packaged.read_text(encoding="utf-8").replace("within_inclusive = false", "within_inclusive = true")
    path = tmp_path / "invented.toml"
    path.write_text(text, encoding="utf-8")
    for minutes, verdict in ((241, UNPROVEN), (242, MISSED), (240, MET)):
        assert told(stay(0, 0, IN), stay(1, minutes, OUT), code=str(path)).verdict is verdict
    for out, verdict in ((119, MET), (120, UNPROVEN), (121, UNPROVEN), (122, MISSED)):
        parts = (stay(0, 0, IN), stay(1, out, OUT), stay(out + 1, out + 40, IN))
        assert told(*parts, code=str(path)).verdict is verdict


def test_cumulative_ends_of_the_figures_are_printed_in_celsius() -> None:
    """5 °C and 60 °C themselves are safe; a tenth inside is outside."""
    for celsius, most in ((5.0, "0 s"), (5.1, "31 min"), (60.0, "0 s"), (59.9, "31 min")):
        clause = told(stay(0, 30, celsius), notes=(("removed", -1),))
        assert clause.reason.startswith(f"Outside for {most} in all at most")
        assert clause.level_c == 5.0
    assert celsius_of_f(41) == pytest.approx(5.0)


def test_cooling_allowance_is_the_sum_of_times_that_count_on() -> None:
    """Also of a code whose first time counts on from somewhere: its 4 h, to the millisecond."""
    assert AUSTRALIA.cooling is not None
    further = AUSTRALIA.cooling.stages[1]
    alone = replace(AUSTRALIA, cooling=replace(AUSTRALIA.cooling, stages=(further,)))
    assert cooling_allowance_ms(alone) == 4 * HOUR
