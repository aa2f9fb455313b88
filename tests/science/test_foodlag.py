"""Food from air against worked examples, the exact response of a linear system, and an independent library."""

import math

import numpy as np
import pytest
from scipy import optimize, signal  # type: ignore[import-untyped]  # the library has no types

from devices.simulator.rooms import Room, lagged
from devices.simulator.rooms import air as room_air
from holdwatch.errors import OutOfRangeError
from holdwatch.readings import Series
from holdwatch.science.foodlag import USUAL_LAG_MIN, food_of_air, lagged_c
from holdwatch.science.lag_learning import learn_lag
from holdwatch.science.mean_kinetic import mean_kinetic_c
from tests.science.published import published

MINUTE = 60_000


def _by_library(at: np.ndarray, air: np.ndarray, lag_min: float) -> np.ndarray:
    """Let SciPy answer: a system 1/(τs + 1) whose input runs straight between even steps."""
    _, out, _ = signal.lsim(([1.0], [lag_min, 1.0]), air - air[0], at)
    return np.asarray(out) + air[0]


@published(lagged_c, source="Geankoplis, Transport Processes and Unit Operations, Example 5.2-1, steel ball, 474.6 K")
def test_lagged_c_matches_geankoplis_example_5_2_1() -> None:
    """A steel ball of 699.9 K in surroundings of 394.3 K is at 474.6 K after an hour; 400 K lower here, as only differences count."""
    lag_min = 7849 * 460.6 * 0.0254 / 3 / 11.36 / 60
    air = np.array([394.3, 394.3]) - 400 - 20
    got = lagged_c([0, 60], air, lag_min=lag_min, start_c=699.9 - 400 - 20)[-1] + 400 + 20
    assert got == pytest.approx(474.6, abs=0.05)


@published(lagged_c, source="Incropera, Fundamentals of Heat and Mass Transfer, Example 5.1: 199 °C after 5.2 τ")
def test_lagged_c_matches_incropera_example_5_1() -> None:
    """A junction with τ = 1 s goes from 25 to 199 °C in gas of 200 °C within 5.2 s; here with τ = 10 min."""
    got = lagged_c([0, 52], [200, 200], lag_min=10, start_c=25)[-1]
    assert 200 - got == pytest.approx(1.0, abs=0.05)


@published(lagged_c, source="SciPy, scipy.signal.lsim: response of 1/(τs+1) to an input straight between steps")
@pytest.mark.parametrize("lag_min", [5.0, 45.0, 133.4])
def test_lagged_c_is_the_response_of_the_linear_system(lag_min: float) -> None:
    """Whatever the air does, the food is what the library computes."""
    at = np.arange(0, 1440, 3.0)
    air = room_air(Room("w", 2, 1, 14, (3, 9, 15, 21), 20, 6, 7, (5, 21), 3, 4), (at * MINUTE).astype(np.int64), 4)
    assert np.abs(lagged_c(at, air, lag_min=lag_min) - _by_library(at, air, lag_min)).max() < 1e-8


def test_steps_do_not_matter() -> None:
    """A straight hour read at its ends or every second leads to the same food."""
    fine = lagged_c(np.arange(0, 60.001, 1 / 60), np.linspace(4, 12, 3601), lag_min=45)[-1]
    assert lagged_c([0, 60], [4, 12], lag_min=45)[-1] == pytest.approx(fine, abs=1e-9)


@pytest.mark.parametrize("period_min", [20.0, 60.0, 360.0])
def test_cycle_is_damped_as_a_first_order_lag_damps(period_min: float) -> None:
    """1/√(1 + (ωτ)²), as every text on process control derives it: a 20-minute cycle to 5 % at τ = 60 min."""
    omega = 2 * math.pi / period_min
    at = np.arange(0, 40 * period_min, period_min / 400)
    food = lagged_c(at, np.sin(omega * at), lag_min=60)
    settled = food[at > 30 * period_min]
    assert np.ptp(settled) / 2 == pytest.approx(1 / math.hypot(1, 60 * omega), rel=2e-3)


def test_lagged_c_pinned_defrost() -> None:
    """Our own figure: a quarter of an hour at 10 °C lifts food of 4 °C and an hour's lag to 5.3271953 °C."""
    assert lagged_c([0, 0, 15], [4, 10, 10], lag_min=60)[-1] == pytest.approx(5.3271953, abs=1e-7)


@published(food_of_air, source="SciPy, scipy.signal.lsim: response of 1/(τs+1) to an input straight between steps")
def test_food_of_air_begins_again_behind_a_hole() -> None:
    """Each stretch of air is followed from its own beginning, and each as the library says."""
    at = np.concatenate([np.arange(0, 120, 2), np.arange(180, 300, 2)]).astype(np.int64)
    air = 4 + 3 * np.sin(at / 40)
    food = food_of_air(Series(at * MINUTE, air), 45).celsius
    for part in (slice(0, 60), slice(60, 120)):
        expected = _by_library((at[part] - at[part][0]).astype(float), air[part], 45.0)
        assert np.abs(food[part] - expected).max() < 1e-8
    assert len(food_of_air(Series.empty(), 45)) == 0


# ---------------------------------------------------------------- learning


def _pair(lag_min: float, seed: int, hours: int = 24) -> tuple[Series, Series]:
    """Make a day of a walk-in's air, and of food in it, with the noise and the steps of their probes."""
    random = np.random.default_rng(seed)
    room = Room("walk-in", 2.0, 0.8, 14, (3, 9, 15, 21), 25, 6.0, 6, (12, 28), 3.0, 4)
    air_at = np.arange(0, hours * 60, 2, dtype=np.int64) * MINUTE
    food_at = np.arange(1, hours * 60, 5, dtype=np.int64) * MINUTE
    air = room_air(room, air_at, seed) + random.normal(0, 0.1, len(air_at))
    food = lagged(room, food_at, seed, lag_min * 60) + random.normal(0, 0.1, len(food_at)) + 0.4
    return Series(air_at, np.round(air * 16) / 16), Series(food_at, np.round(food * 16) / 16)


@published(learn_lag, source="SciPy, scipy.signal.lsim for the food and scipy.optimize for the fit")
@pytest.mark.parametrize("lag_min", [20.0, 44.9, 118.0])
def test_learn_lag_finds_the_lag_of_a_linear_system(lag_min: float) -> None:
    """From the library's food the lag is learned, and it is the one that the library's own search finds."""
    at = np.arange(0, 1440, 2.0)
    air = room_air(Room("w", 2, 1, 14, (3, 9, 15, 21), 20, 6, 7, (5, 21), 3, 4), (at * MINUTE).astype(np.int64), 4)
    food = _by_library(at, air, lag_min)
    made = learn_lag(Series((at * MINUTE).astype(np.int64), air), Series((at * MINUTE).astype(np.int64), food))
    found = optimize.minimize_scalar(
        lambda tau: float(((_by_library(at, air, tau) - food) ** 2).sum()), bounds=(3, 600), method="bounded"
    ).x
    assert made.lag_min == pytest.approx(found, rel=5e-3)
    assert made.low_min is not None
    assert made.high_min is not None
    assert made.low_min < lag_min < made.high_min


@pytest.mark.parametrize("lag_min", [25, 45, 90, 150])
def test_learn_lag_of_noisy_probes_is_near(lag_min: float) -> None:
    """With probes that are off, noisy and stepped the interval holds the lag, and the lag is within 15 %."""
    for seed in range(3):
        made = learn_lag(*_pair(lag_min, seed))
        assert made.lag_min == pytest.approx(lag_min, rel=0.15), made
        assert made.low_min is not None
        assert made.high_min is not None
        assert made.low_min < lag_min < made.high_min
        assert made.offset_c == pytest.approx(0.4, abs=0.15)


def test_learn_lag_says_why_it_has_no_answer() -> None:
    """Too short, too still, another place: no figure, and the reason."""
    air, food = _pair(45, 1)
    two_hours = 120 * MINUTE
    assert "too little yet" in learn_lag(air.between(0, two_hours), food.between(0, two_hours)).reason
    assert "too little yet" in learn_lag(Series.empty(), food).reason
    still = Series(air.at_ms, np.full(len(air), 3.0))
    assert "too little to learn from" in learn_lag(still, food).reason
    elsewhere = Series(food.at_ms, food.celsius + 6.0)
    assert "does not follow this air" in learn_lag(air, elsewhere).reason


def test_surroundings_are_never_fitted_freely() -> None:
    """Rumford's cannon cooled in air of 60 °F that never moved: a free fit makes it 106 °F, and this one no answer.

    D. M. Bates, D. G. Watts, Nonlinear Regression Analysis and Its Applications, Wiley 1988, data set A1.2; here with
    its minutes stretched tenfold, so that it is long enough to be looked at.
    """
    minutes = np.array([4, 5, 7, 12, 14, 16, 20, 24, 28, 31, 34, 37.5, 41]) * 10
    fahrenheit = np.array([126, 125, 123, 120, 119, 118, 116, 115, 114, 113, 112, 111, 110])
    grid = np.arange(40, 411, 5)
    food = Series(grid * MINUTE, (np.interp(grid, minutes, fahrenheit) - 32) / 1.8)
    made = learn_lag(Series(grid * MINUTE, np.full(len(grid), (60 - 32) / 1.8)), food)
    assert made.lag_min is None


# ---------------------------------------------------------------- mean kinetic temperature


@published(mean_kinetic_c, source="zelti/mkt, aggregate function for PostgreSQL, README: 2 2 5 8 8 8 8 → 6.25 °C")
def test_mean_kinetic_c_matches_an_independent_implementation() -> None:
    """Its example has the answer 6.25 °C."""
    assert mean_kinetic_c([2, 2, 5, 8, 8, 8, 8]) == pytest.approx(6.25, abs=0.005)


def test_mean_kinetic_c_pinned() -> None:
    """Our own figures from the formula of USP <1160> with ΔH/R = 10 000 K."""
    assert mean_kinetic_c([2, 4, 6, 8]) == pytest.approx(5.302088, abs=1e-6)
    assert mean_kinetic_c([15, 30]) == pytest.approx(25.224171, abs=1e-6)
    assert mean_kinetic_c([5, 25], [9, 1]) == pytest.approx(10.529226, abs=1e-6)


def test_mean_kinetic_c_is_never_below_the_mean() -> None:
    """Warm hours count more; steady temperature is its own mean."""
    values = np.random.default_rng(1).uniform(-20, 40, 200)
    assert mean_kinetic_c(values) > values.mean()
    assert mean_kinetic_c([4.0] * 12) == pytest.approx(4.0, abs=1e-9)


def test_what_is_none_is_refused() -> None:
    """A lag, a temperature or a pair of arrays that cannot be is refused."""
    with pytest.raises(OutOfRangeError, match="the lag is 0"):
        lagged_c([0, 1], [4, 4], lag_min=0)
    with pytest.raises(OutOfRangeError, match="temperature is 500"):
        lagged_c([0, 1], [4, 500], lag_min=USUAL_LAG_MIN)
    with pytest.raises(OutOfRangeError, match="temperature is nan"):
        mean_kinetic_c([math.nan])
    with pytest.raises(ValueError, match="in order of time"):
        lagged_c([1, 0], [4, 4], lag_min=45)
    with pytest.raises(ValueError, match="to be at all"):
        mean_kinetic_c([])
    assert len(lagged_c([], [], lag_min=45)) == 0
