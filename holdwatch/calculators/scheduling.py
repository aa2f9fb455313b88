"""When to begin what: a cake reckoned back from its serving, or on from layers that are out of the oven.

Every cooling counts with its slow end, so that what is planned is there in time nine times of ten; what a code asks of
cooling, of food made from ingredients at room temperature and of food out of temperature control is held against it.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from holdwatch.calculators.cakes.model import Cake, Display, Part
from holdwatch.calculators.cooling import BEYOND, EDGE, asked_by, body_of, interval_told, stands
from holdwatch.calculators.cooling_places import PLACES, Shelf, Way, surroundings_of
from holdwatch.language import N_, _
from holdwatch.limits.model import AmbientCoolingLimits, CumulativeLimits, Limits, TimeControlLimits
from holdwatch.quantities import Duration, Temperature, format_duration
from holdwatch.science.cooling_time import Interval, cooling_times

__all__ = ["Schedule", "Step", "schedule", "times_to"]

_AT_ONCE = Interval(0.0, 0.0, 0.0)
_FILLED_LATE = N_(
    "the layers cannot be counted on to be at {temperature} as planned ({stages}): {length}; take a colder place, or use the layers warmer"
)
_COOLED_LATE = N_(
    "the filling cannot be counted on to be at {temperature} as planned ({stages}): {length}; take a colder place, or use the filling warmer"
)
_NEVER = Interval(math.inf, math.inf, math.inf)


@dataclass(frozen=True)
class Step:
    """One step of the plan; `cooling` where its length is an estimate, and then it ends at the latest."""

    name: str
    from_ms: int
    to_ms: int
    where: str = ""
    cooling: Interval | None = None


@dataclass(frozen=True)
class Schedule:
    """When to begin what; nothing where it cannot be done, with the reasons."""

    steps: tuple[Step, ...] = ()
    begin_ms: int | None = None
    serve_ms: int | None = None
    gone_ms: int | None = None
    """When the last of it is gone."""
    soonest_ms: int | None = None
    """Where time is all that is missing: when it could be served."""
    cannot: tuple[str, ...] = ()
    watch: tuple[str, ...] = ()
    """What may go wrong: estimates on the edge of a limit."""


@dataclass
class _Findings:
    cannot: list[str] = field(default_factory=list)
    watch: list[str] = field(default_factory=list)


def times_to(part: Part, levels_c: Sequence[float], celsius: Mapping[Way, float]) -> tuple[Interval, ...]:
    """Return when a part is at each level, from when it came out, through all its stages.

    A stage is taken to begin with all of the food at the level that the slowest point left the one before at: it is
    colder than that, so this is on the slow side. A level below that of the last stage is never reached.
    """
    return tuple(_time_to(part, level, celsius) for level in levels_c)


def _time_to(part: Part, level_c: float, celsius: Mapping[Way, float]) -> Interval:
    body = body_of(part.food, part.container, part.depth_m)
    total, start_c = _AT_ONCE, part.out_at.celsius
    for stage in part.cool:
        if level_c >= start_c:
            return total
        until = max(stage.to.celsius, level_c)
        around = surroundings_of(stage.way, celsius.get(stage.way))
        (time,) = cooling_times(body, around, start_c, [until])
        total = Interval(total.low + time.low, total.middle + time.middle, total.high + time.high)
        start_c = stage.to.celsius
    return total if level_c >= start_c else _NEVER


def schedule(
    cake: Cake,
    limits: Limits,
    *,
    serve_ms: int | None = None,
    layers_out_ms: int | None = None,
    earliest_ms: int,
    celsius: Mapping[Way, float] | None = None,
) -> Schedule:
    """Plan a cake back from its serving, or on from the layers that came out of the oven; both: as the layers allow.

    Parameters
    ----------
    serve_ms : int or None. [ms since 1970-01-01 UTC], when it is served.
    layers_out_ms : int or None. [ms], when the layers came out of the oven, or will.
    earliest_ms : int. [ms], before which nothing can begin any more: now.
    celsius : how cold it is where, as far as it is known. [°C]

    Raises
    ------
    OutOfRangeError
        If a depth, a temperature or a container is outside what the formulas cover.
    ValueError
        If neither `serve_ms` nor `layers_out_ms` is given.
    """
    if serve_ms is None and layers_out_ms is None:
        message = "give the time of serving, or when the layers are out of the oven"
        raise ValueError(message)
    known = celsius or {}
    found = _Findings()
    layers = _cooled(cake.layers, known, found, _FILLED_LATE)
    filling = _cooled(cake.filling, known, found, _COOLED_LATE)
    if cake.filling.controlled:
        _hold_filling(cake.filling, limits, known, found)
        _hold_display(cake, limits, found)
    setting = _setting(cake, limits, known, found)
    if found.cannot:
        return Schedule(cannot=tuple(found.cannot), watch=tuple(found.watch))
    after_assembly_ms = setting + cake.display.ms
    filled_ms = earliest_ms + cake.filling.takes.ms + _ms(filling.high)
    out_ms = earliest_ms + cake.layers.takes.ms if layers_out_ms is None else layers_out_ms
    layered_ms = out_ms + _ms(layers.high)
    soonest_ms = max(filled_ms, layered_ms, earliest_ms) + cake.assemble.ms + after_assembly_ms
    served_ms = soonest_ms if serve_ms is None else serve_ms
    if served_ms < soonest_ms:
        short = format_duration(_whole_minutes(soonest_ms - served_ms))
        said = (
            _("there is too little time: {length} more is needed; the slowest part is the layers")
            if layered_ms > filled_ms
            else _("there is too little time: {length} more is needed; the slowest part is the filling")
        )
        found.cannot.append(said.format(length=short))
        return Schedule(soonest_ms=soonest_ms, cannot=tuple(found.cannot), watch=tuple(found.watch))
    return _laid_out(cake, served_ms, layers_out_ms, layers, filling, setting, found)


def _laid_out(
    cake: Cake,
    serve_ms: int,
    layers_out_ms: int | None,
    layers: Interval,
    filling: Interval,
    setting_ms: int,
    found: _Findings,
) -> Schedule:
    """Return the steps, each as late as it may begin."""
    shown_ms = serve_ms - cake.display.ms
    set_ms = shown_ms - setting_ms
    assemble_ms = set_ms - cake.assemble.ms
    out_ms = assemble_ms - _ms(layers.high) if layers_out_ms is None else layers_out_ms
    off_ms = assemble_ms - _ms(filling.high)
    steps = [
        Step(N_("cool the layers"), out_ms, out_ms + _ms(layers.high), _stages(cake.layers), layers),
        Step(N_("cook the filling"), off_ms - cake.filling.takes.ms, off_ms),
        Step(N_("cool the filling"), off_ms, assemble_ms, _stages(cake.filling), filling),
        Step(N_("assemble"), assemble_ms, set_ms),
        Step(N_("set"), set_ms, shown_ms, _(PLACES[Way.WALK_IN].title)),
        Step(N_("display"), shown_ms, serve_ms, _("kept cold") if cake.where is Display.CASE else _("in the room")),
        Step(N_("serve"), serve_ms, serve_ms + cake.serving.ms),
    ]
    if layers_out_ms is None:
        steps.append(Step(N_("bake the layers"), out_ms - cake.layers.takes.ms, out_ms))
    steps.sort(key=lambda step: step.from_ms)
    return Schedule(
        steps=tuple(steps),
        begin_ms=steps[0].from_ms,
        serve_ms=serve_ms,
        gone_ms=serve_ms + cake.serving.ms,
        watch=tuple(found.watch),
    )


# ---------------------------------------------------------------- what may stand in the way


def _cooled(part: Part, celsius: Mapping[Way, float], found: _Findings, never: str) -> Interval:
    """Return how long a part takes until it can be used; where it may never be, say so in the words given."""
    (time,) = times_to(part, [part.used_at.celsius], celsius)
    if math.isinf(time.high):
        found.cannot.append(_(never).format(temperature=part.used_at, stages=_stages(part), length=interval_told(time)))
    return time


def _hold_filling(part: Part, limits: Limits, celsius: Mapping[Way, float], found: _Findings) -> None:
    """Hold the cooling of the filling against the stages of the code."""
    for asked in asked_by(limits):
        if asked.within is None or asked.level.celsius >= part.out_at.celsius:
            continue
        begins, reached = times_to(part, [asked.counted_from(part.out_at.celsius), asked.level.celsius], celsius)
        if math.isinf(reached.low):
            found.cannot.append(
                _("the filling is planned to {planned} only; the code asks {level} within {within} ({clause})").format(
                    planned=part.used_at, level=asked.level, within=asked.within, clause=asked.clause
                )
            )
            continue
        time = Interval(reached.low - begins.low, reached.middle - begins.middle, reached.high - begins.high)
        what = _("cooling the filling to {level}").format(level=asked.level)
        _held(time, asked.within, what, asked.clause, _("cool it shallower, stirred or in a colder place"), found)


def _held(time: Interval, within: Duration, what: str, clause: str, cure: str, found: _Findings) -> None:
    """Say where an estimate stands against a limit, and what would help."""
    word = stands(time, within)
    told = _("{what} is estimated at {length}; the code asks it within {within} ({clause})").format(
        what=what, length=interval_told(time), within=within, clause=clause
    )
    if word == BEYOND:
        found.cannot.append(f"{told}; {cure}")
    elif word == EDGE:
        found.watch.append(_("{told}, and that is on the edge: measure it, or {cure}").format(told=told, cure=cure))


def _hold_display(cake: Cake, limits: Limits, found: _Findings) -> None:
    """Hold the time in the room against what the code allows food out of temperature control."""
    if cake.where is Display.CASE:
        return
    out_ms = cake.display.ms + cake.serving.ms
    allowed = _allowed(limits)
    if allowed is None:
        found.cannot.append(
            _("{limits} has no time for food out of temperature control: display it cold").format(limits=limits.title)
        )
        return
    within, inclusive, clause = allowed
    if out_ms > within.ms or (out_ms == within.ms and not inclusive):
        said = (
            _(
                "it is {length} in the room until the last piece is gone; the code allows {within} ({clause}): display it cold, or bring it out later"
            )
            if inclusive
            else _(
                "it is {length} in the room until the last piece is gone; the code allows less than {within} ({clause}): display it cold, or bring it out later"
            )
        )
        found.cannot.append(said.format(length=format_duration(out_ms), within=within, clause=clause))


def _allowed(limits: Limits) -> tuple[Duration, bool, str] | None:
    """Return how long a code lets food stand out of temperature control."""
    timed = limits.part("time-control-4h", TimeControlLimits)
    if timed is not None:
        return timed.within, timed.within_inclusive, timed.clause
    added = limits.part("cumulative-time", CumulativeLimits)
    if added is not None:
        return added.within, added.within_inclusive, added.clause
    spell = None if limits.cold_holding is None else limits.cold_holding.tolerance
    return None if spell is None else (spell.within, spell.within_inclusive, spell.clause)


def _setting(cake: Cake, limits: Limits, celsius: Mapping[Way, float], found: _Findings) -> int:
    """Return how long the cake stands in the walk-in: as planned, and until a controlled filling in it is cold again."""
    cold, warmest = _cold(limits), max((cake.layers.used_at, cake.filling.used_at), key=lambda level: level.celsius)
    if not cake.filling.controlled or cold is None or warmest.celsius <= cold.celsius:
        return cake.set.ms
    body = body_of(cake.layers.food, cake.layers.container, cake.height_m)
    around = surroundings_of(Way.WALK_IN, celsius.get(Way.WALK_IN), Shelf.SOLID)  # it stands on a board
    (time,) = cooling_times(body, around, warmest.celsius, [cold.celsius])
    what = _("bringing the cake, put together at up to {warmest}, to {cold}").format(warmest=warmest, cold=cold)
    cure = _("cool layers and filling to {cold} before they are put together").format(cold=cold)
    if math.isinf(time.high):
        found.cannot.append(
            _("{what} cannot be counted on: {length}; {cure}").format(what=what, length=interval_told(time), cure=cure)
        )
        return cake.set.ms
    ambient = limits.part("ambient-cooling", AmbientCoolingLimits)
    if ambient is not None:
        spent = cake.assemble.ms / 1_000
        whole = Interval(time.low + spent, time.middle + spent, time.high + spent)
        _held(
            whole,
            ambient.within,
            _("{what}, from the start of its assembly,").format(what=what),
            ambient.clause,
            cure,
            found,
        )
    return max(cake.set.ms, _ms(time.high))


def _cold(limits: Limits) -> Temperature | None:
    return None if limits.cold_holding is None else limits.cold_holding.level.temperature


# ---------------------------------------------------------------- small things


def _ms(seconds: float) -> int:
    """Return whole minutes, rounded up, in ms; nothing where it never ends, which has been told."""
    return _whole_minutes(math.ceil(seconds * 1_000)) if math.isfinite(seconds) else 0


def _whole_minutes(length_ms: int) -> int:
    return -(-length_ms // 60_000) * 60_000


def _stages(part: Part) -> str:
    return _(", then ").join(
        _("{place} to {level}").format(place=_(PLACES[stage.way].title), level=stage.to) for stage in part.cool
    )
