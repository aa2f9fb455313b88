"""The rules about a probe itself and about a delivery, whatever comes in: nothing, one reading, doubles, nonsense."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdwatch.readings import Medium, Series
from holdwatch.rules.deviceclock import Dated, judge_device_clock
from holdwatch.rules.implausible import Refusal, judge_implausible, judge_refusals
from holdwatch.rules.receiving import judge_receiving
from holdwatch.rules.signal import judge_signal
from holdwatch.rules.stuck import judge_stuck
from holdwatch.rules.verdicts import Verdict
from tests.rules.series_words import HOUR, LIMITS, MINUTE, T0

Condition = Callable[[Series, int], bool]


def _clock(series: Series, now_ms: int) -> bool:
    known = series.at_ms[series.at_ms <= now_ms]
    return judge_device_clock(Dated(known, known + 1_000, np.zeros(len(known), dtype=np.bool_))).wrong


CONDITIONS: dict[str, Condition] = {
    "silent": lambda series, now: judge_signal(series.between(0, now).at_ms, T0, now).silent,
    "stuck": lambda series, now: judge_stuck(series.between(0, now), Series.empty()).stuck,
    "implausible": lambda series, now: judge_implausible(series, now).implausible,
    "refused": lambda series, now: (
        judge_refusals([Refusal(at, "x", "none.") for at in series.between(0, now).at_ms.tolist()], [now]).implausible
    ),
    "clock": _clock,
}
conditions = pytest.mark.parametrize("condition", CONDITIONS.values(), ids=CONDITIONS.keys())


@conditions
def test_condition_of_a_probe_that_has_just_been_placed_is_well(condition: Condition) -> None:
    """No reading, or a single one, accuses nobody."""
    assert not condition(Series.empty(), T0 + MINUTE)
    for value in (4.0, 85.0, float("nan")):
        assert not condition(Series(np.array([T0]), np.array([value])), T0 + MINUTE)


@conditions
@settings(max_examples=100)
@given(
    st.lists(st.tuples(st.integers(0, 600), st.sampled_from([3.0, 3.5, 4.0, 30.0, 85.0])), max_size=60),
    st.integers(0, 700),
    st.randoms(),
)
def test_condition_knows_no_order_of_arrival_and_no_doubles(
    condition: Condition, pairs: list[tuple[int, float]], now_min: int, chance: object
) -> None:
    """The same readings in any order, some twice: the same answer."""
    one = dict(pairs)  # one value an instant
    told = [(T0 + at * MINUTE, celsius) for at, celsius in one.items()]
    mixed = [*told, *told[::2]]
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    now = T0 + now_min * MINUTE
    assert condition(Series.of(mixed), now) == condition(Series.of(told), now)


@conditions
def test_condition_sees_no_reading_of_the_far_future(condition: Condition) -> None:
    """What is dated a hundred years ahead neither heals nor accuses a probe now."""
    at = T0 + np.arange(60) * MINUTE
    series = Series(at, 4.0 + 0.1 * (np.arange(60) % 3))
    ahead = Series(np.append(at, T0 + 36_525 * 24 * HOUR), np.append(series.celsius, 4.0))
    for now in (int(at[-1]), int(at[-1]) + HOUR):
        assert condition(ahead, now) == condition(series, now)


@pytest.mark.parametrize("part", ["receiving-cold", "receiving-hot", "receiving-shell-eggs", "no-such-part"])
@pytest.mark.parametrize("celsius", [float("nan"), float("inf"), float("-inf")])
def test_delivery_that_was_not_measured_is_neither_kept_nor_missed(part: str, celsius: float) -> None:
    """What is no number shows nothing of the food."""
    medium = Medium.AIR if "eggs" in part else Medium.FOOD
    assert judge_receiving(LIMITS, part, celsius, T0, medium=medium).verdict in {Verdict.UNPROVEN, Verdict.NONE}
