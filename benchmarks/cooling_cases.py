"""Coolings to try a forecast on: kinds of cooling, drawn from a seed, read as probes and hands read.

There are two shelves that share nothing: `TUNED` (foods, vessels and seeds that figures of the forecast were chosen on)
and `UNSEEN` (others, that it is judged on). The seeds of the one are even, those of the other odd.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from benchmarks.cooling_physics import Body, Course, Food, Stage, follow
from holdwatch.quantities import celsius_of_f
from holdwatch.readings import Series

__all__ = ["KINDS", "TUNED", "UNSEEN", "Case", "Shelf", "cases", "look"]

SEVENTY_C, FORTY_ONE_C = celsius_of_f(70), celsius_of_f(41)
LONGEST_S = 30 * 3600.0
EVERY_S = (10, 30, 60, 120, 300, 600)
KINDS = ("bench", "walk-in", "bench then walk-in", "blast chiller", "stirred ice bath", "hand readings")


@dataclass(frozen=True)
class Shelf:
    """Foods and vessels; what one shelf holds the other does not."""

    foods: tuple[Food, ...]
    pans: tuple[tuple[float, float], ...]
    """Half width and depth. [m]"""
    pots: tuple[tuple[float, float], ...]
    """Radius and depth. [m]"""
    parity: int


TUNED = Shelf(
    foods=(
        Food("baked custard", 0.537, 3.85e6),
        Food("whole egg", 0.516, 3.75e6),
        Food("yolk mixture", 0.414, 3.23e6),
        Food("syrup 67 %", 0.393, 3.25e6),
        Food("milk", 0.56, 3.97e6),
        Food("buttercream base", 0.28, 2.7e6),
    ),
    pans=((0.13, 0.02), (0.13, 0.035), (0.16, 0.05), (0.16, 0.065), (0.16, 0.085)),
    pots=((0.08, 0.09), (0.11, 0.14), (0.14, 0.10), (0.16, 0.18)),
    parity=0,
)
UNSEEN = Shelf(
    foods=(
        Food("pastry cream", 0.497, 3.67e6),
        Food("lemon curd", 0.45, 3.4e6),
        Food("ganache", 0.31, 2.95e6),
        Food("fruit purée", 0.55, 4.0e6),
        Food("rice pudding", 0.50, 3.8e6),
        Food("syrup 60 %", 0.422, 3.37e6),
        Food("sponge layer", 0.12, 0.85e6),
    ),
    pans=((0.15, 0.025), (0.15, 0.04), (0.12, 0.055), (0.18, 0.07), (0.18, 0.10)),
    pots=((0.07, 0.12), (0.10, 0.08), (0.125, 0.16), (0.15, 0.12)),
    parity=1,
)


@dataclass(frozen=True, eq=False)
class Case:
    """One cooling, its truth and what was read of it."""

    kind: str
    every_s: int
    target_c: float
    start_c: float
    course: Course
    read: Series
    air: Series
    """What the air probe of the last place read, from the first instant on; of a bench or a bath, one thermometer."""
    declared: bool
    """Whether somebody declared the move."""

    @property
    def reached_ms(self) -> int:
        """Return when the food truly is at the target."""
        return round(1000 * _first_below(self.course, self.target_c))

    @property
    def moved_ms(self) -> tuple[int, ...]:
        """Return the moves, as far as they were declared."""
        return tuple(round(1000 * at) for at in self.course.moved_s) if self.declared else ()


@dataclass(frozen=True, eq=False)
class Look:
    """A case as it stands when part of the way is gone."""

    now_ms: int
    read: Series
    air: Series


def cases(shelf: Shelf, kind: str, count: int, seed: int = 0) -> Iterator[Case]:
    """Yield coolings of one kind."""
    made = number = 0
    while made < count:
        rng = np.random.default_rng([shelf.parity, KINDS.index(kind), seed, number])
        number += 1
        case = _case(shelf, kind, rng)
        if case is not None:
            made += 1
            yield case


def look(case: Case, share: float) -> Look:
    """Return what was known when a share of the way from the start to the target was gone."""
    level = case.start_c - share * (case.start_c - case.target_c)
    now_ms = math.ceil(1000 * _first_below(case.course, level))
    return Look(now_ms, case.read.between(0, now_ms), case.air.between(0, now_ms))


# ---------------------------------------------------------------- drawing


def _case(shelf: Shelf, kind: str, rng: np.random.Generator) -> Case | None:
    how = kind
    if kind == "hand readings":
        how = str(rng.choice(["bench", "walk-in", "bench then walk-in", "walk-in"]))
    body = _body(shelf, rng, pot=how == "stirred ice bath" or rng.random() < 0.25)
    start_c = float(rng.uniform(58, 88))
    stages, target_c, level_c = _PLACES[how](rng, start_c)
    course = follow(body, stages, start_c, target_c, LONGEST_S)
    if course is None or _first_below(course, target_c) < 15 * 60:
        return None
    every_s = 600 if kind == "hand readings" else int(rng.choice(EVERY_S))
    read = _hand(course, rng) if kind == "hand readings" else _probe(course, every_s, rng)
    return Case(
        kind=kind,
        every_s=every_s,
        target_c=target_c,
        start_c=start_c,
        course=course,
        read=read,
        air=_air(course, level_c, rng),
        declared=bool(rng.random() < 0.5),
    )


def _body(shelf: Shelf, rng: np.random.Generator, *, pot: bool) -> Body:
    food = shelf.foods[rng.integers(len(shelf.foods))]
    liquid = float(rng.choice([1.0, 1.0, 1.5, 2.5]))  # food that moves within itself carries heat faster
    sizes = shelf.pots if pot else shelf.pans
    half, depth = sizes[rng.integers(len(sizes))]
    return Body(
        Food(food.name, food.k_w_mk * liquid, food.heat_j_m3k),
        pot,
        half,
        depth * float(rng.uniform(0.9, 1.1)),
        probe_across=float(rng.uniform(0.0, 0.4)),
        probe_down=float(rng.uniform(0.4, 0.7)),
    )


def _wet(rng: np.random.Generator) -> dict[str, float]:
    """Draw whether the top is covered, and else how wet it is and how soon a skin grows."""
    if rng.random() < 0.5:
        return {"wet": 0.0}
    return {"wet": float(rng.uniform(0.05, 0.6)), "skin_s": float(rng.uniform(600, 3600))}


def _bench(rng: np.random.Generator, start_c: float) -> tuple[list[Stage], float, float | None]:
    room = float(rng.uniform(18, 27))
    wave, slow = float(rng.uniform(0, 1.0)), float(rng.uniform(1800, 7200))
    phase = float(rng.uniform(0, 6.28))
    top = float(rng.uniform(7, 13))
    stage = Stage(
        lambda s: room + wave * math.sin(s / slow * 6.28 + phase),
        top,
        top * float(rng.uniform(0.6, 1.0)),
        float(rng.uniform(2, 8)),
        humidity=float(rng.uniform(0.3, 0.6)),
        buoyant=0.25,
        **_wet(rng),
    )
    return [stage], room + float(rng.uniform(6, 14)) if start_c > 60 else room + 8.0, None


def _fridge(rng: np.random.Generator, mean_c: float) -> Callable[[float], float]:
    """Return air that cycles, and was warmed by what was put in."""
    swing, period = float(rng.uniform(0.3, 2.0)), float(rng.uniform(480, 1500))
    phase, on = float(rng.uniform(0, 1)), float(rng.uniform(0.3, 0.6))
    bump, over = float(rng.uniform(0, 3.0)), float(rng.uniform(900, 2400))

    def air(s: float) -> float:
        part = (s / period + phase) % 1.0
        cycle = 1 - 2 * part / on if part < on else -1 + 2 * (part - on) / (1 - on)
        return mean_c + swing * cycle + bump * math.exp(-s / over)

    return air


def _cold_target(rng: np.random.Generator, mean_c: float) -> float:
    return FORTY_ONE_C if mean_c < 2.8 and rng.random() < 0.4 else SEVENTY_C


def _cold_stage(rng: np.random.Generator, mean_c: float) -> Stage:
    top = float(rng.uniform(8, 22))
    return Stage(
        _fridge(rng, mean_c),
        top,
        top * float(rng.uniform(0.6, 1.0)),
        top * float(rng.uniform(0.4, 1.0)),
        humidity=float(rng.uniform(0.6, 0.9)),
        buoyant=float(rng.choice([0.0, 0.25])) if top < 12 else 0.0,
        **_wet(rng),
    )


def _walk_in(rng: np.random.Generator, start_c: float) -> tuple[list[Stage], float, float | None]:  # noqa: ARG001
    mean = float(rng.uniform(0.8, 5.0))
    return [_cold_stage(rng, mean)], _cold_target(rng, mean), None


def _bench_walk_in(rng: np.random.Generator, start_c: float) -> tuple[list[Stage], float, float | None]:
    mean = float(rng.uniform(0.8, 5.0))
    target = _cold_target(rng, mean)
    (bench,), _, _ = _bench(rng, start_c)
    until = start_c - float(rng.uniform(0.08, 0.28)) * (start_c - target)
    cold = _cold_stage(rng, mean)
    return [replace(bench, until_c=until), cold], target, None


def _blast(rng: np.random.Generator, start_c: float) -> tuple[list[Stage], float, float | None]:  # noqa: ARG001
    cold, warm, over = float(rng.uniform(-12, 0)), float(rng.uniform(2, 12)), float(rng.uniform(240, 1200))
    swing, period = float(rng.uniform(0, 1.5)), float(rng.uniform(300, 900))
    top = float(rng.uniform(20, 60))
    stage = Stage(
        lambda s: cold + (warm - cold) * math.exp(-s / over) + swing * math.sin(6.28 * s / period),
        top,
        top * float(rng.uniform(0.6, 1.0)),
        top * float(rng.uniform(0.5, 1.0)),
        humidity=float(rng.uniform(0.6, 0.9)),
        **_wet(rng),
    )
    return [stage], float(rng.choice([SEVENTY_C, SEVENTY_C, FORTY_ONE_C])), None


def _ice_bath(rng: np.random.Generator, start_c: float) -> tuple[list[Stage], float, float | None]:  # noqa: ARG001
    cold, drift = float(rng.uniform(0.1, 1.5)), float(rng.uniform(0, 1.5))
    stage = Stage(
        lambda s: cold + drift * (1 - math.exp(-s / 1800)),
        float(rng.uniform(5, 12)),
        float(rng.uniform(120, 450)),
        float(rng.uniform(100, 300)),
        humidity=0.5,
        wet=float(rng.uniform(0.1, 0.8)),
        stirred_every_s=float(rng.choice([60, 120, 300, 600])),
        stirred=float(rng.uniform(0.6, 1.0)),
    )
    return [stage], float(rng.choice([SEVENTY_C, SEVENTY_C, FORTY_ONE_C])), cold + 0.5 * drift


_PLACES: dict[str, Callable[[np.random.Generator, float], tuple[list[Stage], float, float | None]]] = {
    "bench": _bench,
    "walk-in": _walk_in,
    "bench then walk-in": _bench_walk_in,
    "blast chiller": _blast,
    "stirred ice bath": _ice_bath,
}


# ---------------------------------------------------------------- reading


def _probe(course: Course, every_s: int, rng: np.random.Generator) -> Series:
    """Read as a probe does: noise, steps, a small lag."""
    at = np.arange(float(rng.uniform(0, min(every_s, 30))), course.at_s[-1], every_s)
    lag_s = float(rng.uniform(5, 30))
    step = float(rng.choice([0.0625, 0.1, 0.0625, 0.5]))
    true = np.interp(np.maximum(at - lag_s, 0), course.at_s, course.food_c)
    celsius = np.round((true + rng.normal(0, float(rng.uniform(0.02, 0.12)), len(at))) / step) * step
    return Series((at * 1000).astype(np.int64), celsius)


def _hand(course: Course, rng: np.random.Generator) -> Series:
    """Read as people do: about every ten minutes, whole degrees Fahrenheit or half degrees Celsius, by the minute."""
    count = int(course.at_s[-1] / 600) + 2
    at = np.cumsum(np.concatenate([[60.0], rng.uniform(480, 720, count)]))
    at = np.round(at[at < course.at_s[-1]] / 60) * 60
    true = np.interp(at, course.at_s, course.food_c) + rng.normal(0, 0.25, len(at))
    celsius = np.round(true * 2) / 2 if rng.random() < 0.5 else (np.round(true * 1.8 + 32) - 32) / 1.8
    return Series((at * 1000).astype(np.int64), celsius)


def _air(course: Course, level_c: float | None, rng: np.random.Generator) -> Series:
    """Read the air of the last place once a minute, with the probe's own lag, noise, step and small error."""
    at = np.arange(0.0, course.at_s[-1], 60.0)
    off = float(rng.normal(0, 0.2))
    if level_c is not None:
        return Series((at * 1000).astype(np.int64), np.full(len(at), round(level_c + off, 1)))
    began = course.moved_s[-1] if course.moved_s else 0.0
    true = np.interp(at, course.at_s, course.air_c)
    true[at < began] = float(np.mean(course.air_c[course.at_s >= began]))  # the unit before the vessel came
    lag = math.exp(-60.0 / 180.0)
    felt = np.empty_like(true)
    felt[0] = true[0]
    for n in range(1, len(true)):
        felt[n] = lag * felt[n - 1] + (1 - lag) * true[n]
    return Series((at * 1000).astype(np.int64), np.round((felt + off + rng.normal(0, 0.08, len(at))) * 16) / 16)


def _first_below(course: Course, level_c: float) -> float:
    """Return when the food truly falls to a level, in seconds."""
    after = int(np.argmax(course.food_c <= level_c))
    if after == 0:
        return 0.0
    high, low = course.food_c[after - 1], course.food_c[after]
    share = 0.0 if high == low else (high - level_c) / (high - low)
    return float(course.at_s[after - 1] + share * (course.at_s[after] - course.at_s[after - 1]))
