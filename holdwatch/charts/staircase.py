"""The chart that carries the product: a cooling curve under the staircase of what is permitted.

The limit is drawn as what it is: a staircase from the starting level down at each due instant, every tread with its
clause and local time. The measured line is ink; it is never drawn across a hole. Crossings are brackets, drawn as
bars between the two readings that hold them. Screen and paper come from this one function.
"""

from holdwatch.charts.ahead import fan_layers, latest_layers, latest_over, now_layers
from holdwatch.charts.curves import CurveView
from holdwatch.charts.layers import Chart, Frame, assemble, both_units, hole_layers, hole_words
from holdwatch.charts.localtime import TimeAxis
from holdwatch.charts.measured import bracket_layers, measured_layers
from holdwatch.charts.stairs import due_marks, permitted_layers, stair_layers, tread_words, words_over
from holdwatch.charts.theme import Look
from holdwatch.charts.treads import HoldingTread, Tread, fan_to_draw, holding_tread, treads
from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE, clock_time, clock_words, zone_words
from holdwatch.language import _
from holdwatch.quantities import format_temperature, to_scale

__all__ = ["describe", "staircase"]

_SPREAD_C = 8.0
"""How far beyond all else a reading set aside still stretches the sheet; one farther off sits on its edge."""
_HATCH = 2
"""The layers of holes that are no words: their ground and their hatch."""
_SHORTEST_MS = 10 * MS_PER_MINUTE


def staircase(curve: CurveView, look: Look) -> Chart:
    """Draw one vessel's curve under its staircase.

    Parameters
    ----------
    curve : CurveView
        Readings, holes, the clauses' verdicts and forecasts of one vessel.
    look : Look
        The site's zone and unit, and whether it is for a screen or for paper.
    """
    steps = treads(curve)
    holding = holding_tread(curve, steps)
    frame = _frame(curve, steps, holding, look)
    levels = [level for c in curve.steps for level in (c.start_level_c, c.level_c) if level is not None]
    beside = [(int(at), float(c)) for at, c in zip(curve.hand.at_ms, curve.hand.celsius, strict=True)]
    beside += words_over(steps, frame) + latest_over(curve, steps, frame)
    holes = hole_layers(curve.holes, frame, beside)
    layers = [
        *permitted_layers(steps, frame),
        *holes[:_HATCH],
        *fan_layers(curve, steps, frame),
        *stair_layers(steps, holding, curve, frame),
        *now_layers(curve, frame),
        *due_marks(steps, frame),
        *measured_layers(curve, frame),
        *bracket_layers(curve, frame),
        *holes[_HATCH:],  # their words: what crosses a hole would strike them out
        *tread_words(steps, holding, curve, frame),
        *latest_layers(curve, steps, frame),
    ]
    return assemble(layers, frame, levels, describe(curve, look))


def _frame(curve: CurveView, steps: tuple[Tread, ...], holding: HoldingTread | None, look: Look) -> Frame:
    """Lay out the sheet: from the start to now and to what is still due."""
    # A finished batch is drawn to its end and to what was due soon after, not to a limit that no longer mattered.
    near = curve.until_ms + 6 * MS_PER_HOUR
    ends = [curve.until_ms, *(step.surely_due_ms for step in steps if curve.live or step.ends_ms <= near)]
    fan = fan_to_draw(curve)
    if fan is not None and not steps:
        ends.append(fan.path[-1][0])
    begin = min([curve.from_ms, *(step.begins_ms for step in steps[:1])])
    until = max(*ends, begin + _SHORTEST_MS)
    margin = (until - begin) // 28
    axis = TimeAxis(begin - margin // 2, until + margin, look.zone)
    low, high = _span(curve, steps, holding, axis, look)
    return Frame(axis, low, high, look)


def _span(
    curve: CurveView, steps: tuple[Tread, ...], holding: HoldingTread | None, axis: TimeAxis, look: Look
) -> tuple[float, float]:
    """Return the lowest and highest temperature of the sheet in the site's unit, with room for the words on top."""
    known = [c for step in steps for c in (step.height_c, step.target_c)]
    known += [holding.level_c] if holding else []
    known += [c.start_level_c for c in curve.steps if c.start_level_c is not None and not steps]
    for series in (curve.readings, curve.hand):
        known += [float(series.celsius.min()), float(series.celsius.max())] if len(series) else []
    fan = fan_to_draw(curve)
    known += [low for at, low, _, _ in fan.path if at <= axis.until_ms] if fan else []
    known = known or [0.0, 20.0]
    bottom, top = min(known), max(known)
    for reading in curve.set_aside:
        if min(known) - _SPREAD_C <= reading.celsius <= max(known) + _SPREAD_C:
            bottom, top = min(bottom, reading.celsius), max(top, reading.celsius)
    low, high = float(to_scale(bottom, look.scale)), float(to_scale(top, look.scale))
    rise = max(high - low, 5.0)
    # Two lines of words stand on the first tread, and one line at the very top tells what is now.
    first = float(to_scale(steps[0].height_c, look.scale)) if steps else high
    over_tread = look.text + look.small + 18 if steps else 8.0
    at_top = look.small + 8 if curve.live else 0.0
    room = look.height * 0.94
    needed = max(
        rise * at_top / (room - at_top),
        (first - low) * (over_tread + at_top) / (room - over_tread - at_top) - (high - first),
        rise * 0.03,
    )
    return round(low - rise * 0.07, 3), round(high + needed, 3)


def describe(curve: CurveView, look: Look) -> str:
    """Say what the chart shows, for whoever cannot see it."""
    vessel = ""
    if curve.vessels > 1:
        vessel = ", " + _("vessel {vessel} of {vessels}").format(vessel=curve.vessel, vessels=curve.vessels)
    first = _("Temperature of {name}, from {begin} to {end}, {zone}.").format(
        name=f"{curve.product} {curve.lot}{vessel}",
        begin=clock_words(curve.from_ms, look.zone),
        end=clock_words(curve.until_ms, look.zone),
        zone=zone_words(curve.from_ms, curve.until_ms, look.zone),
    )
    said = [first]
    if curve.last_c is not None and curve.last_ms is not None:
        last = _("Last reading {temperature} at {time}.")
        said.append(last.format(temperature=both_units(curve.last_c, look), time=clock_time(curve.last_ms, look.zone)))
    said += [
        _("{temperature} by {time}, {clause}: {mark}.").format(
            temperature=format_temperature(step.target_c, look.scale, 0),
            time=clock_time(step.ends_ms, look.zone),
            clause=step.clause.clause,
            mark=step.mark.said,
        )
        for step in treads(curve)
    ]
    said += [f"{hole_words(hole, look.zone).capitalize()}." for hole in curve.holes]
    return " ".join(said)
