"""A solver of its own for cooling food: the truth that the forecast is measured against.

Conduction in a pan (a cross-section) or a pot (axis and radius), by finite volumes; each face has its own surface
coefficient, the top may be wet and evaporate, the air may do what air does, and somebody may stir. Nothing here is
shared with what the forecast is made of: it knows one row of modes, this knows a grid of cells.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import expm

__all__ = ["Body", "Course", "Food", "Stage", "follow", "saturated_kpa"]

Array = NDArray[np.float64]

ACROSS, DOWN = 6, 10
"""Cells from the middle to the side, and from the top to the bottom."""
FINE_S, COARSE_S = 10.0, 60.0
COARSE_AFTER_S = 3 * 3600.0
WET_K_PER_KPA = 15.5
"""How many degrees of convection one kPa of vapour pressure is worth (Lewis relation, water near 40 °C)."""
STEFAN_BOLTZMANN = 5.67e-8
KELVIN = 273.15


def saturated_kpa(celsius: float) -> float:
    """Return the saturation pressure of water vapour (Magnus form)."""
    return 0.61094 * math.exp(17.625 * celsius / (celsius + 243.04))


@dataclass(frozen=True)
class Food:
    """What is cooled."""

    name: str
    k_w_mk: float
    heat_j_m3k: float


@dataclass(frozen=True)
class Body:
    """Food in its vessel: a pan (half its width) or a round pot (its radius), filled to a depth; lengths in m."""

    food: Food
    round: bool
    half_width_m: float
    depth_m: float
    probe_across: float = 0.0
    """Where the probe is: 0 in the middle, 1 at the side."""
    probe_down: float = 0.5
    """0 at the top, 1 at the bottom."""


@dataclass(frozen=True)
class Stage:
    """One place that the vessel stands in."""

    air_c: Callable[[float], float]
    """Air or bath, of the seconds since the vessel came there."""
    top: float
    """Surface coefficients. [W/m²K]"""
    side: float
    bottom: float
    wet: float = 0.0
    """How wet the top is: 0 covered, 1 a water surface."""
    skin_s: float = math.inf
    """In which time a skin makes it drier."""
    humidity: float = 0.7
    buoyant: float = 0.0
    """Exponent with which the top's coefficient follows the difference of temperature: 0 blown, 0.25 still air."""
    stirred_every_s: float = math.inf
    stirred: float = 0.9
    """Which part of the differences within the food a stirring removes."""
    until_c: float | None = None
    """The probe's temperature at which the vessel is moved on."""


@dataclass(frozen=True, eq=False)
class Course:
    """What happened."""

    at_s: Array
    food_c: Array
    """At the probe."""
    air_c: Array
    moved_s: tuple[float, ...] = field(default=())


class _Cells:
    """The grid of a body: heat capacities, conductances, faces."""

    def __init__(self, body: Body) -> None:
        wide, high = body.half_width_m / ACROSS, body.depth_m / DOWN
        edge = np.arange(ACROSS + 1) * wide
        ring = math.pi * (edge[1:] ** 2 - edge[:-1] ** 2) if body.round else np.full(ACROSS, wide)
        wall = 2 * math.pi * edge[1:] if body.round else np.ones(ACROSS)
        self.k, self.wide, self.high = body.food.k_w_mk, wide, high
        self.flat = np.tile(ring, DOWN)  # row by row from the top; area of a cell's top and bottom
        self.upright = float(wall[-1] * high)
        self.heat = self.flat * high * body.food.heat_j_m3k
        self.between = np.zeros((ACROSS * DOWN, ACROSS * DOWN))
        for row in range(DOWN):
            for column in range(ACROSS):
                cell = row * ACROSS + column
                if column + 1 < ACROSS:
                    self._join(cell, cell + 1, self.k * wall[column] * high / wide)
                if row + 1 < DOWN:
                    self._join(cell, cell + ACROSS, self.k * ring[column] / high)
        self.top = np.arange(ACROSS)
        self.bottom = np.arange(ACROSS) + ACROSS * (DOWN - 1)
        self.side = np.arange(DOWN) * ACROSS + ACROSS - 1
        row = min(DOWN - 1, int(body.probe_down * DOWN))
        self.probe = row * ACROSS + min(ACROSS - 1, int(body.probe_across * ACROSS))

    def _join(self, one: int, other: int, conductance: float) -> None:
        for a, b in ((one, other), (other, one)):
            self.between[a, b] += conductance
            self.between[a, a] -= conductance

    def outside(self, stage: Stage) -> Array:
        """Return each cell's conductance to the air: the film and half a cell in a row."""
        film = np.zeros(len(self.heat))
        for cells, h, half, area in (
            (self.top, stage.top, self.high / 2, self.flat[self.top]),
            (self.bottom, stage.bottom, self.high / 2, self.flat[self.bottom]),
            (self.side, stage.side, self.wide / 2, np.full(DOWN, self.upright)),
        ):
            if h > 0:
                film[cells] += area / (1 / h + half / self.k)
        return film


class _Steps:
    """Exact steps of the linear part: food(t + dt) = keep · food + gain · heat put in."""

    def __init__(self, cells: _Cells, stage: Stage, step_s: float) -> None:
        self.film = cells.outside(stage)
        rate = (cells.between - np.diag(self.film)) / cells.heat[:, None]
        keep = expm(rate * step_s)
        self.keep = keep
        self.gain = np.linalg.solve(rate, keep - np.eye(len(keep))) / cells.heat[None, :]


def follow(body: Body, stages: list[Stage], start_c: float, target_c: float, longest_s: float) -> Course | None:
    """Let a body cool through its stages until the probe's place is below the target; ``None`` if it is not in time."""
    cells = _Cells(body)
    food = np.full(len(cells.heat), start_c)
    share = cells.heat / cells.heat.sum()
    at, times, temps, airs, moved = 0.0, [0.0], [start_c], [stages[0].air_c(0.0)], []
    for number, stage in enumerate(stages):
        began, stirred = at, at
        step_s = FINE_S if at < COARSE_AFTER_S else COARSE_S
        steps = _Steps(cells, stage, step_s)
        surface = food[cells.top].copy()
        if number:
            moved.append(at)
        while True:
            if step_s == FINE_S and at >= COARSE_AFTER_S:
                step_s = COARSE_S
                steps = _Steps(cells, stage, step_s)
            air = stage.air_c(at - began)
            heat = steps.film * air
            extra = _extra(stage, surface, air, at - began)
            heat[cells.top] -= extra * cells.flat[cells.top]
            food = steps.keep @ food + steps.gain @ heat
            at += step_s
            outward = (food[cells.top] - air) / (1 / stage.top + cells.high / 2 / cells.k) + extra
            surface = 0.5 * surface + 0.5 * (food[cells.top] - outward * cells.high / 2 / cells.k)
            if at - stirred >= stage.stirred_every_s:
                food += stage.stirred * (float(share @ food) - food)
                stirred = at
            times.append(at)
            temps.append(float(food[cells.probe]))
            airs.append(air)
            if number + 1 < len(stages) and stage.until_c is not None and temps[-1] <= stage.until_c:
                break
            if temps[-1] < target_c - 0.3 and number + 1 == len(stages):
                return Course(np.array(times), np.array(temps), np.array(airs), tuple(moved))
            if at > longest_s:
                return None
    return None


def _extra(stage: Stage, surface: Array, air: float, since_s: float) -> Array:
    """Return what leaves the top beyond its steady coefficient: vapour, and buoyancy, in W/m²."""
    out = np.zeros(len(surface))
    if stage.buoyant:
        apart = np.maximum(np.abs(surface - air), 0.1) / 30.0
        out += 0.5 * stage.top * (apart**stage.buoyant - 1.0) * (surface - air)
    wet = stage.wet * (0.15 + 0.85 * math.exp(-since_s / stage.skin_s))
    if wet > 0:
        vapour = 0.61094 * np.exp(17.625 * surface / (surface + 243.04)) - stage.humidity * saturated_kpa(air)
        out += 0.5 * stage.top * WET_K_PER_KPA * wet * vapour
    return out
