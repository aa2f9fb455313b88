"""One spell on display: England, Wales and Northern Ireland bear one, of less than 4 h when cold, less than 2 h when hot.

SR (NI) 2006/3, Schedule 4, paragraph 5; WSI 2006/31, Schedule 4, paragraph 7.
"""

from pathlib import Path

import pytest

from holdwatch.limits import load_limits
from holdwatch.readings import Record, Series
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import ClauseVerdict, Process, Step, Verdict
from tests.rules.series_words import MINUTE, T0, declared, joined

MET, MISSED, UNPROVEN = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN
COOL, WARM = 7.5, 8.5


def stay(first: float, last: float, celsius: float, every: float = 1.0) -> Series:
    """Return readings all alike, from the first minute to the last."""
    steps = round((last - first) / every)
    return Series.of((T0 + round((first + n * every) * MINUTE), celsius) for n in range(steps + 1))


def shown(*parts: Series, since: float | None = None, until: float | None = None, code: str = "") -> ClauseVerdict:
    """Judge cold food on display."""
    probe = joined(*parts)
    notes = () if since is None else declared(("from", since))
    record = Record(probe, declared=notes)
    last = int(probe.at_ms[-1]) if until is None else T0 + round(until * MINUTE)
    limits = load_limits(code or "england-wales-ni")
    return judge(Process.COLD_HOLDING, record, limits, until_ms=last, step=Step.DISPLAY).clauses[0]


@pytest.mark.parametrize(
    ("minutes", "verdict", "said"),
    [
        # at least from the first to the last reading above 8 °C, at most from the one before to the one after
        (238, MET, "One spell of 3 h 59 min at most, borne by Sch. 4 para 5(1)."),
        (239, UNPROVEN, "The spell lasted 3 h 58 min to 4 h: whether within the 4 h of Sch. 4 para 5(1) is not shown."),
        (240, UNPROVEN, "The spell lasted 3 h 59 min to 4 h 01 min: whether within"),
        (241, MISSED, "The spell from 2026-02-25 06:21:00 UTC, for 4 h or more, is not within the 4 h"),
    ],
)
def test_display_spell_of_four_hours_is_no_longer_less_than_four(minutes: int, verdict: Verdict, said: str) -> None:
    """Less than four hours: exactly four are not borne."""
    clause = shown(stay(0, 0, COOL), stay(1, minutes, WARM), stay(minutes + 1, minutes + 10, COOL))
    assert clause.verdict is verdict
    assert said in clause.reason


def test_display_second_spell_is_missed_however_short() -> None:
    """The second spell is the deviation, and the instant told is its first reading above 8 °C."""
    clause = shown(stay(0, 0, COOL), stay(1, 3, WARM), stay(4, 9, COOL), stay(10, 12, WARM), stay(13, 20, COOL))
    assert clause.verdict is MISSED
    assert "A second spell, at 2026-02-25 06:30:00 UTC; Sch. 4 para 5(1) bears one." in clause.reason


def test_display_spell_still_running_is_counted_to_the_end_of_the_period() -> None:
    """A spell that no reading ends lasts until the instant of judging, at most."""
    warm = (stay(0, 0, COOL), stay(1, 225, WARM))
    assert shown(*warm, until=239).verdict is MET
    assert shown(*warm, until=240).verdict is UNPROVEN


def test_display_spell_begun_before_the_record_counts_from_the_declared_start() -> None:
    """Without one, how long it was so before the first reading is not shown."""
    warm = (stay(0, 225, WARM), stay(226, 240, COOL))
    assert shown(*warm, since=-13).verdict is MET  # 226 + 13 = 239 min at most
    assert shown(*warm, since=-14).verdict is UNPROVEN
    clause = shown(*warm)
    assert clause.verdict is UNPROVEN
    assert "so at the first reading already, 2026-02-25 06:20:00 UTC: how long before is not shown" in clause.reason


@pytest.mark.parametrize(
    ("first", "second", "verdict"),
    [
        (241, 300, MISSED),  # the part before the hole lasted four hours by itself
        (100, 361, MISSED),  # the part after it did
        (240, 300, UNPROVEN),  # neither did, whatever the whole
        (100, 360, UNPROVEN),
    ],
)
def test_display_hole_ends_what_is_surely_one_spell(first: int, second: int, verdict: Verdict) -> None:
    """A hole longer than the largest gap ends a spell's shortest length; each part counts by itself."""
    later = first + 21
    clause = shown(
        stay(0, 0, COOL), stay(1, first, WARM), stay(later, second, WARM), stay(second + 1, second + 5, COOL)
    )
    assert clause.verdict is verdict


def test_display_readings_as_far_apart_as_the_largest_gap_are_one_spell() -> None:
    """Every 20 min for four hours: one spell; a hole is longer than that."""
    sparse = stay(1, 241, WARM, every=20)
    assert shown(stay(0, 0, COOL), sparse, stay(242, 250, COOL)).verdict is MISSED


def test_display_code_that_writes_not_more_than_bears_its_figure(tmp_path: Path) -> None:
    """An invented code with an inclusive end bears exactly four hours."""
    packaged = Path(__file__).parents[2] / "holdwatch" / "limits" / "codes" / "england-wales-ni.toml"
    path = tmp_path / "invented.toml"
    text = packaged.read_text(encoding="utf-8")
    path.write_text(text.replace("within_inclusive = false", "within_inclusive = true"), encoding="utf-8")
    for minutes, verdict in ((239, MET), (240, UNPROVEN), (241, UNPROVEN), (242, MISSED)):
        parts = (stay(0, 0, COOL), stay(1, minutes, WARM), stay(minutes + 1, minutes + 10, COOL))
        assert shown(*parts, code=str(path)).verdict is verdict
