"""A chart as rows of figures, for whoever does not look at it: read aloud, reached by keyboard, or copied out.

Readings stand there at even steps, and in between where they went beyond both ends of a step; every limit, crossing, hole
and reading by hand stands there.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from holdwatch.charts.curves import CurveView, Hole, LevelView, TraceView
from holdwatch.charts.layers import both_units
from holdwatch.charts.theme import Look
from holdwatch.charts.treads import bracket_bars, holding_tread, treads
from holdwatch.clock import MS_PER_DAY, MS_PER_MINUTE, clock_words
from holdwatch.language import _
from holdwatch.rules.verdicts import Bracket

__all__ = ["Figure", "curve_figures", "trace_figures"]

_MOST_READINGS = 40
_STEPS_MS = tuple(minutes * MS_PER_MINUTE for minutes in (1, 5, 15, 30, 60, 180, 360, 720, 1440))
_WAVE_C = 1.0
"""Ours: less than that beyond both ends of a step is a probe's own noise, or a compressor going on and off."""


class Figure(NamedTuple):
    """One row: the instant that it stands at in ms, when, how warm, and what that is."""

    at_ms: int
    when: str
    temperature: str
    what: str


def curve_figures(curve: CurveView, look: Look) -> list[Figure]:
    """Return what the chart of one vessel shows, from left to right."""
    steps = treads(curve)
    found = [*_holes(curve.holes, look), *_crossings(curve, look)]
    found += [
        Figure(
            step.ends_ms,
            clock_words(step.ends_ms, look.zone),
            both_units(step.target_c, look),
            _("asked by then, {clause}: {mark}").format(clause=step.clause.clause, mark=step.mark.said),
        )
        for step in steps
    ]
    holding = holding_tread(curve, steps)
    if holding is not None:
        when = _("from {time} on").format(time=clock_words(holding.begins_ms, look.zone))
        found.append(
            Figure(
                holding.begins_ms,
                when,
                both_units(holding.level_c, look),
                _("asked, {clause}").format(clause=holding.clause.clause),
            )
        )
    found += [
        _read(int(curve.readings.at_ms[i]), float(curve.readings.celsius[i]), _("reading"), look)
        for i in _some(curve.readings.at_ms, curve.readings.celsius, curve.readings.celsius)
    ]
    found += [
        _read(int(at), float(celsius), _("by hand"), look)
        for at, celsius in zip(curve.hand.at_ms, curve.hand.celsius, strict=True)
    ]
    aside = curve.set_aside
    at, degrees = np.array([r.at_ms for r in aside], dtype=np.int64), np.array([r.celsius for r in aside])
    found += [
        _read(aside[i].at_ms, aside[i].celsius, _("set aside: {reason}").format(reason=aside[i].reason), look)
        for i in _some(at, degrees, degrees)
    ]
    return sorted([*found, *_forecasts(curve, look)], key=lambda figure: figure.at_ms)


def trace_figures(trace: TraceView, levels: Sequence[LevelView], look: Look) -> list[Figure]:
    """Return what the trace of one probe shows, from left to right."""
    found = list(_holes(trace.holes, look))
    for i in _some(trace.at_ms, trace.min_c, trace.max_c):
        at, said = int(trace.at_ms[i]), both_units(float(trace.mean_c[i]), look)
        if not trace.raw:
            low, high = both_units(float(trace.min_c[i]), look), both_units(float(trace.max_c[i]), look)
            said = _("{said}, from {low} to {high}").format(said=said, low=low, high=high)
        found.append(
            Figure(at, clock_words(at, look.zone), said, _("reading") if trace.raw else _("mean, lowest and highest"))
        )
    for level in levels:
        found += [
            Figure(
                begin,
                _between((begin, end), look),
                _("limit {temperature}").format(temperature=both_units(level.level_c, look)),
                _("beyond it, {clause}").format(clause=level.clause),
            )
            for begin, end in level.marks
        ]
    return sorted(found, key=lambda figure: figure.at_ms)


def _read(at_ms: int, celsius: float, what: str, look: Look) -> Figure:
    return Figure(at_ms, clock_words(at_ms, look.zone), both_units(celsius, look), what)


def _holes(holes: Sequence[Hole], look: Look) -> Iterator[Figure]:
    for hole in holes:
        when = _between((hole.from_ms, hole.until_ms), look)
        yield Figure(hole.from_ms, when, "?", _("no readings, and none yet") if hole.still else _("no readings"))


def _crossings(curve: CurveView, look: Look) -> Iterator[Figure]:
    for bar in bracket_bars(curve):
        at = bar.ends[1] if bar.ends[1] is not None else curve.from_ms
        yield Figure(at, _between(bar.ends, look), both_units(bar.level_c, look), f"{bar.what}, {bar.clause}")


def _forecasts(curve: CurveView, look: Look) -> Iterator[Figure]:
    for fan in curve.fans if curve.live else ():
        if fan.expected_ms is not None:
            when = _("about {time}, {between}").format(
                time=clock_words(fan.expected_ms, look.zone), between=_between((fan.earliest_ms, fan.latest_ms), look)
            )
            yield Figure(
                fan.expected_ms, when, both_units(fan.target_c, look), _("forecast, {clause}").format(clause=fan.clause)
            )


def _between(ends: Bracket, look: Look) -> str:
    first, last = (_("not known") if at is None else clock_words(at, look.zone) for at in ends)
    return _("between {first} and {last}").format(first=first, last=last)


def _some(at_ms: NDArray[np.int64], low_c: NDArray[np.float64], high_c: NDArray[np.float64]) -> list[int]:
    """Return the first of every even step of time and the last of all, and in between what is beyond both ends of a step."""
    if len(at_ms) == 0:
        return []
    span = int(at_ms[-1] - at_ms[0])
    step = next((s for s in _STEPS_MS if span <= s * _MOST_READINGS), max(MS_PER_DAY, span // _MOST_READINGS + 1))
    _, firsts = np.unique(at_ms // step, return_index=True)
    kept = {*(int(i) for i in firsts), len(at_ms) - 1}
    for begin, end in pairwise([*(int(i) for i in firsts), len(at_ms) - 1]):
        lowest, highest = (
            begin + int(np.argmin(low_c[begin : end + 1])),
            begin + int(np.argmax(high_c[begin : end + 1])),
        )
        kept |= {lowest} if low_c[lowest] < min(low_c[begin], low_c[end]) - _WAVE_C else set()
        kept |= {highest} if high_c[highest] > max(high_c[begin], high_c[end]) + _WAVE_C else set()
    return sorted(kept)
