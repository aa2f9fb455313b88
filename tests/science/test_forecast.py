"""The cooling forecast: on a measured curve, on published arithmetic, and on slabs that it never saw."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.optimize import brentq

from holdwatch.errors import OutOfRangeError
from holdwatch.quantities import Scale, celsius_of_f
from holdwatch.readings import Series
from holdwatch.science._cooling import PARAMETERS, course, slopes
from holdwatch.science.conduction import slab_theta
from holdwatch.science.forecast import forecast
from tests.science.published import published
from tests.science.published_tables import published_rows

SEVENTY, FORTY_ONE = celsius_of_f(70), celsius_of_f(41)
MINUTE, HOUR = 60_000, 3_600_000


def exponential(start: float, around: float, tau_h: float, hours: float, every_s: int = 60) -> Series:
    """Return a curve without curved beginning, in °C."""
    at = np.arange(0, int(hours * 3600) + 1, every_s)
    return Series(at.astype(np.int64) * 1000, around + (start - around) * np.exp(-at / 3600 / tau_h))


def rumford() -> Series:
    """Return the measured curve of the cannon."""
    rows = published_rows("rumford_1798.csv")
    return Series.of((round(float(r["minutes"]) * MINUTE), celsius_of_f(float(r["fahrenheit"]))) for r in rows)


@published(forecast, source="Count Rumford 1798, in Bates and Watts, Nonlinear Regression Analysis, A1.2")
def test_forecast_with_known_surroundings_matches_the_measured_cannon() -> None:
    """Rumford's cannon in air of 60 °F: the book's own model, 60 + 70 exp(−θt), lies before a line through its last part.

    Fitting θ to all readings gives .0094 a minute, or .0074 with a free start (Bates and Watts, A1.2): 70 °F after 207 or
    257 min. The line through the later readings, ln(56/50) in the last 21 min, gives 339 min.
    """
    made = forecast(rumford(), target_c=SEVENTY, now_ms=41 * MINUTE, surroundings_c=celsius_of_f(60))
    assert made.reaches is True
    assert made.expected_ms is not None
    assert 207 * MINUTE < made.expected_ms < 360 * MINUTE


def test_forecast_with_unknown_surroundings_does_not_run_away_on_the_measured_cannon() -> None:
    """A free fit finds 106 °F for the air of 60 °F and says "never 70 °F"; the forecast never says so."""
    made = forecast(rumford(), target_c=SEVENTY, now_ms=41 * MINUTE, surroundings_c=None)
    assert made.reaches is not False
    assert made.earliest_ms is not None
    assert made.earliest_ms < 257 * MINUTE, "the fit of the book with a free start lies inside the interval"
    assert made.latest_ms is None or made.latest_ms > 339 * MINUTE


def apple() -> Series:
    """Return the core of an apple in a refrigerator, read every minute in steps of 1/16 °C, from the series of a sphere.

    T = T∞ + (T_i − T∞) Σ C exp(−ζ² Fo), 1 − ζ cot ζ = Bi, C = 4 (sin ζ − ζ cos ζ)/(2ζ − sin 2ζ).
    """
    biot, fourier_an_hour = 6 * 0.05 / 0.603, 0.603 / (997.6 * 4180) * 3600 / 0.05**2
    zeta = np.array(
        [brentq(lambda z: 1 - z / np.tan(z) - biot, n * np.pi + 1e-6, (n + 1) * np.pi - 1e-6) for n in range(20)]
    )
    weight = 4 * (np.sin(zeta) - zeta * np.cos(zeta)) / (2 * zeta - np.sin(2 * zeta))
    hours = np.arange(1, 420) / 60
    theta = np.exp(-np.outer(hours * fourier_an_hour, zeta**2)) @ weight
    return Series((hours * HOUR).astype(np.int64), np.round((5 + 25 * theta) * 16) / 16)


@published(forecast, source="Lienhard, A Heat Transfer Textbook, Example 5.2: apples in a refrigerator, 6 h 12 min")
@pytest.mark.parametrize(("share", "known", "unknown"), [(0.35, 0.12, 0.3), (0.6, 0.06, 0.3)])
def test_forecast_sees_the_textbooks_apple_coming(share: float, known: float, unknown: float) -> None:
    """An apple of 10 cm, h = 6 W/m²K, from 30 to 10 °C in 5 °C takes 6 h 12 min (the book).

    Its curve is not in the book: it is the series that the book's chart stands for, whose answer is 6.191 h.
    """
    series = apple()
    now_ms = int(series.at_ms[np.argmax(series.celsius <= 30 - share * 20)])
    truth = (6 * 60 + 12) * MINUTE
    for around_c, error in ((5.0, known), (None, unknown)):
        made = forecast(series, target_c=10.0, now_ms=now_ms, surroundings_c=around_c)
        assert made.expected_ms == pytest.approx(truth, abs=error * (truth - now_ms))
        assert made.earliest_ms is not None
        assert made.earliest_ms < truth
        assert made.latest_ms is None or made.latest_ms > truth


@pytest.mark.parametrize(
    ("around_f", "rate", "hours_70", "hours_41"),
    [
        (36, 0.189455, 2.44995, 6.84418),
        (38, 0.194380, 2.47773, 7.76649),
        (40, 0.199572, 2.50838, 9.90981),
    ],
)
def test_forecast_matches_two_point_formula(around_f: float, rate: float, hours_70: float, hours_41: float) -> None:
    """135 °F falling to 100 °F in the first hour: the two-point form of Hedeen, Schaffner and Brown 2022.

    rate = [log10(T1 − Tdf) − log10(T2 − Tdf)]/Δt (Journal of Environmental Health, PMC9380651); the times are computed
    from that formula. An hour of readings cannot tell a bare exponential from a body that lags a little, so the middle of
    the interval may lie 3 % off.
    """
    hours = np.arange(0, 1.001, 1 / 60)
    celsius = np.array([celsius_of_f(around_f + (135 - around_f) * 10 ** (-rate * h)) for h in hours])
    series = Series(np.round(hours * HOUR).astype(np.int64), celsius)
    around = celsius_of_f(around_f)
    at_70 = forecast(series, target_c=SEVENTY, now_ms=HOUR, surroundings_c=around)
    at_41 = forecast(series, target_c=FORTY_ONE, now_ms=HOUR, surroundings_c=around)
    assert at_70.expected_ms == pytest.approx(hours_70 * HOUR, rel=0.03)
    assert at_41.earliest_ms is not None
    assert at_41.earliest_ms < hours_41 * HOUR
    assert at_41.latest_ms is None or at_41.latest_ms > hours_41 * HOUR


@dataclass(frozen=True)
class Slab:
    """A made curve and what it was made from."""

    series: Series
    around_c: float
    target_c: float
    start_c: float
    reached_ms: int


def slabs(seed: int, count: int) -> Iterator[Slab]:
    """Yield slabs of random depth, surface and depth of the probe, read with noise and steps of 1/16 °C."""
    rng = np.random.default_rng(seed)
    places = ((2.0, 5.0), (20.0, 26.0), (-20.0, -16.0), (0.0, 1.0))
    for number in range(count):
        around = float(rng.uniform(*places[number % 4]))
        start, every = float(rng.uniform(58, 85)), int(rng.choice([10, 30, 60, 120, 300]))
        target = SEVENTY if around < 18 else around + 8
        seconds = np.arange(0, 40 * 3600, every)
        fourier = seconds / (rng.uniform(1.6, 12) * 3600)
        theta = slab_theta(
            np.where(fourier < 1e-4, 0.0, fourier), float(np.exp(rng.uniform(-1.6, 1.6))), rng.uniform(0, 0.4)
        )
        true = around + (start - around) * theta
        if true.min() > target:
            continue
        read = np.round((true + rng.normal(0, 0.06, len(true))) * 16) / 16
        reached = int(seconds[np.argmax(true <= target)]) * 1000
        yield Slab(Series(seconds.astype(np.int64) * 1000, read), around, target, start, reached)


def skill(seed: int, count: int, share: float, *, known: bool) -> tuple[float, float]:
    """Return the median relative error of the time left, and how often the interval holds the truth."""
    errors, held = [], []
    for slab in slabs(seed, count):
        level = slab.start_c - share * (slab.start_c - slab.target_c)
        now_ms = int(slab.series.at_ms[np.argmax(slab.series.celsius <= level)])
        made = forecast(
            slab.series, target_c=slab.target_c, now_ms=now_ms, surroundings_c=slab.around_c if known else None
        )
        if made.reaches is not True or made.expected_ms is None or made.earliest_ms is None:
            held.append(made.reaches is None)
            continue
        errors.append(abs(made.expected_ms - slab.reached_ms) / (slab.reached_ms - now_ms))
        held.append(
            made.earliest_ms <= slab.reached_ms and (made.latest_ms is None or slab.reached_ms <= made.latest_ms)
        )
    return float(np.median(errors)), float(np.mean(held))


@pytest.mark.parametrize(
    ("share", "known", "median"), [(0.35, True, 0.04), (0.6, True, 0.025), (0.35, False, 0.22), (0.6, False, 0.12)]
)
def test_forecast_pinned_skill_on_slabs_it_never_saw(share: float, *, known: bool, median: float) -> None:
    """Pinned: the median error stays under these figures, and nine intervals of ten hold the truth."""
    error, held = skill(7, 80, share, known=known)
    assert error < median
    assert held >= 0.9


def bench_then_walk_in(moved_min: int, minutes: int, every_s: int = 60) -> tuple[Series, float]:
    """Return food on a bench at 22 °C, then in a walk-in at 3 °C that cools it twice as fast, and when it is at 70 °F."""
    at = np.arange(0, minutes * 60 + 1, every_s) / 3600
    moved = moved_min / 60
    then = 22 + 50 * np.exp(-moved / 2.5)
    celsius = np.where(at <= moved, 22 + 50 * np.exp(-at / 2.5), 3 + (then - 3) * np.exp(-(at - moved) / 1.25))
    reached = moved + 1.25 * float(np.log((then - 3) / (SEVENTY - 3)))
    return Series((at * HOUR).astype(np.int64), np.round(celsius * 16) / 16), reached


@pytest.mark.parametrize("surroundings_c", [3.0, None])
def test_forecast_finds_a_move_that_nobody_declared(surroundings_c: float | None) -> None:
    """The bend of the readings says that it was moved; the answer is that of the new place, and says so."""
    series, reached_h = bench_then_walk_in(40, 70)
    made = forecast(series, target_c=SEVENTY, now_ms=70 * MINUTE, surroundings_c=surroundings_c)
    assert "moved" in made.reason
    assert made.expected_ms is not None
    left = reached_h - 70 / 60
    assert made.expected_ms / HOUR == pytest.approx(reached_h, abs=(0.12 if surroundings_c else 0.25) * left)
    straight, _ = bench_then_walk_in(400, 70)
    assert "moved" not in forecast(straight, target_c=SEVENTY, now_ms=70 * MINUTE, surroundings_c=None).reason


def test_forecast_follows_air_that_still_settles() -> None:
    """A chiller that was at 12 °C when the food came, and settles at −5 °C: the air of now is not the air to come."""
    at = np.arange(0, 26 * 60, 30)
    air = Series(at.astype(np.int64) * 1000, -5 + 17 * np.exp(-at / 900))
    food = np.empty(len(at))
    food[0] = 70.0
    for n in range(1, len(at)):
        food[n] = food[n - 1] - 30 / 3000 * (food[n - 1] - air.celsius[n - 1])
    series = Series(air.at_ms, food)
    settled = forecast(series, target_c=5.0, now_ms=25 * MINUTE, surroundings_c=0.0, air=air)
    told = forecast(series, target_c=5.0, now_ms=25 * MINUTE, surroundings_c=float(air.celsius[-1]))
    left = 3000 * np.log((food[50] + 5) / 10) / 3600  # a little more, as the air is not there yet
    assert settled.expected_ms is not None
    assert told.expected_ms is not None
    assert settled.expected_ms / HOUR - 25 / 60 == pytest.approx(left, rel=0.1)
    assert settled.expected_ms < told.expected_ms


def test_forecast_of_readings_that_no_food_gives_answers_nothing() -> None:
    """Up and down by 20 °C is no cooling; the question is whether the probe is in the food."""
    at = np.arange(0, 3600, 60)
    wild = Series(at.astype(np.int64) * 1000, 45 - at / 360 + 12 * np.sin(at / 200) + 12)
    made = forecast(wild, target_c=5.0, now_ms=HOUR, surroundings_c=3.0)
    assert made.reaches is None
    assert "is the probe in the food" in made.reason


def test_forecast_writes_its_reason_in_the_scale_asked_for() -> None:
    """A kitchen in °F reads °F."""
    made = forecast(exponential(60, 3, 2, 1), target_c=SEVENTY, now_ms=HOUR, surroundings_c=3.0, scale=Scale.F)
    assert "37.4\u202f°F" in made.reason
    assert "°C" not in made.reason


def test_forecast_a_probe_placed_at_the_start_is_no_move() -> None:
    """Placing the probe is declared as a move is; with nothing read before it changes nothing."""
    series = exponential(60, 3, 2, 1)
    plain = forecast(series, target_c=SEVENTY, now_ms=HOUR, surroundings_c=3.0)
    assert forecast(series, target_c=SEVENTY, now_ms=HOUR, surroundings_c=3.0, moved_ms=(0,)) == plain


def test_forecast_with_too_warm_surroundings_says_that_it_will_not_get_there() -> None:
    """Food on a bench at 24 °C never reaches 5 °C there."""
    made = forecast(exponential(60, 24, 1, 1), target_c=5.0, now_ms=HOUR, surroundings_c=24.0)
    assert made.reaches is False
    assert "24.0\u202f°C" in made.reason
    assert made.expected_ms is None


def test_forecast_near_warm_surroundings_leaves_the_far_end_open() -> None:
    """Where the surroundings are all but as warm as the level it cannot be excluded that it is never reached."""
    made = forecast(exponential(60, 20.8, 1, 1), target_c=SEVENTY, now_ms=HOUR, surroundings_c=20.8)
    assert made.latest_ms is None


def test_forecast_already_there_names_the_reading() -> None:
    """The first reading at the level is the answer."""
    series = exponential(60, 3, 1, 3)
    made = forecast(series, target_c=SEVENTY, now_ms=3 * HOUR, surroundings_c=None)
    first = int(series.at_ms[np.argmax(series.celsius <= SEVENTY)])
    assert (made.reaches, made.expected_ms, made.earliest_ms, made.latest_ms) == (True, first, first, first)


def test_forecast_sees_nothing_after_now() -> None:
    """Readings of the future change nothing."""
    series = exponential(60, 3, 2, 5)
    seen = Series(series.at_ms[:41], series.celsius[:41])
    assert forecast(series, target_c=SEVENTY, now_ms=40 * MINUTE, surroundings_c=3.0) == forecast(
        seen, target_c=SEVENTY, now_ms=40 * MINUTE, surroundings_c=3.0
    )


def test_forecast_uses_only_what_was_read_since_the_last_move() -> None:
    """The slow hour on the bench says nothing of the walk-in."""
    bench, cold = exponential(60, 24, 3, 1), exponential(49, 3, 1, 0.5)
    both = Series(
        np.concatenate([bench.at_ms, HOUR + cold.at_ms[1:]]), np.concatenate([bench.celsius, cold.celsius[1:]])
    )
    now = HOUR + HOUR // 2
    made = forecast(both, target_c=SEVENTY, now_ms=now, surroundings_c=3.0, moved_ms=(HOUR,))
    assert made.expected_ms == pytest.approx(HOUR + np.log(46 / (SEVENTY - 3)) * HOUR, abs=4 * MINUTE)


@pytest.mark.parametrize(
    ("series", "now", "words"),
    [
        (Series.empty(), HOUR, "no reading"),
        (exponential(60, 3, 1, 0.05, 120), 3 * MINUTE, "too few"),
        (exponential(60, 3, 40, 1), HOUR, "fallen by less"),
        (exponential(60, 3, 2, 0.5), 3 * HOUR, "min old"),
        (Series(np.arange(60) * MINUTE, np.linspace(30, 60, 60)), HOUR, "too few"),
    ],
)
def test_forecast_without_support_answers_nothing_and_says_why(series: Series, now: int, words: str) -> None:
    """Too few, too flat, too old or rising readings give no forecast."""
    made = forecast(series, target_c=SEVENTY, now_ms=now, surroundings_c=3.0)
    assert made.reaches is None
    assert words in made.reason
    assert made.path == ()


def test_forecast_resting_at_room_temperature_does_not_promise_the_level() -> None:
    """A pan that has come to rest at 24 °C is not forecast to reach 5 °C."""
    made = forecast(exponential(60, 24, 0.5, 4), target_c=5.0, now_ms=4 * HOUR, surroundings_c=None)
    assert made.reaches is not True


def test_forecast_path_is_a_fan_that_starts_at_the_last_reading() -> None:
    """At most 40 points, each low, middle and high in order, widening and falling."""
    made = forecast(exponential(60, 3, 2, 1), target_c=SEVENTY, now_ms=HOUR, surroundings_c=3.0)
    assert 2 <= len(made.path) <= 40
    assert made.path[0][0] == HOUR
    assert all(low <= middle <= high for _, low, middle, high in made.path)
    assert made.latest_ms is not None
    assert made.path[-1][0] >= made.latest_ms
    widths = [high - low for _, low, _, high in made.path]
    assert max(widths) > widths[0]


def test_forecast_doubled_instant_takes_the_warmer_value() -> None:
    """Of two values at one instant the one that is worse for cooling counts."""
    base = exponential(60, 3, 2, 1)
    doubled = Series(np.append(base.at_ms, HOUR), np.append(base.celsius, base.celsius[-1] - 20))
    made = forecast(doubled, target_c=SEVENTY, now_ms=HOUR, surroundings_c=3.0)
    assert made == forecast(base, target_c=SEVENTY, now_ms=HOUR, surroundings_c=3.0)


def test_forecast_impossible_question_is_refused() -> None:
    """A level or surroundings outside the stated range is an error, not a clamp."""
    with pytest.raises(OutOfRangeError, match="level"):
        forecast(exponential(60, 3, 1, 1), target_c=-80.0, now_ms=HOUR, surroundings_c=3.0)
    with pytest.raises(OutOfRangeError, match="surroundings"):
        forecast(exponential(60, 3, 1, 1), target_c=5.0, now_ms=HOUR, surroundings_c=300.0)


@pytest.mark.parametrize("seed", range(8))
def test_slopes_of_the_course_are_those_of_small_steps(seed: int) -> None:
    """The slopes in closed form are what central differences of the course itself give, for each parameter."""
    rng = np.random.default_rng(seed)
    parameters = np.array([[np.log(0.7), 0.3, -0.1, 0.0, 0.15, 3.0, 60.0, 1.5, np.log(0.3)]])
    spread = np.array([1.0, 0.1, 0.3, 0.1, 0.2, 1.0, 0.6, 1.5, 0.3])
    parameters += np.clip(rng.standard_normal(PARAMETERS), -2, 2) * spread
    hours = np.linspace(0.0, 4.0, 9)[None]
    steps = 1e-6 * np.eye(PARAMETERS)
    differences = (course(parameters + steps, hours) - course(parameters - steps, hours)) / 2e-6
    assert slopes(parameters, hours)[0] == pytest.approx(differences, rel=1e-4, abs=1e-4)


def test_slopes_of_food_without_a_lag_divide_by_nothing() -> None:
    """Of food that began to cool at once, exactly."""
    parameters = np.array([[np.log(0.7), 0.0, -0.1, 0.0, 0.15, 3.0, 60.0, 1.5, np.log(0.3)]])
    assert np.isfinite(slopes(parameters, np.linspace(0.0, 4.0, 9)[None])).all()
