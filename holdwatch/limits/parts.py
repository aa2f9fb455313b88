"""The parts of a limits file: one reader for each kind of figure."""

from collections.abc import Callable, Mapping
from datetime import date
from itertools import pairwise
from types import MappingProxyType
from typing import TypedDict

from holdwatch.clock import MS_PER_DAY
from holdwatch.language import _
from holdwatch.limits.model import (
    AmbientCoolingLimits,
    Cited,
    Confidence,
    CookingLimits,
    CookingRow,
    CoolingLimits,
    CoolingStage,
    Counts,
    CumulativeLimits,
    DateMarkLimits,
    EggLimits,
    EggWay,
    HoldingLimits,
    ReheatingLimits,
    SpellTolerance,
    TimeControlLimits,
)
from holdwatch.limits.table import Table
from holdwatch.quantities import Duration, Level, Side, Temperature
from holdwatch.readings import Medium

__all__ = ["PARTS", "cold_holding", "cooling", "hot_holding"]

LONGEST_MS = 366 * MS_PER_DAY
"""No code allows a year; a slip of the pen must not put an instant beyond the calendar."""


class _Citation(TypedDict):
    clause: str
    source: str
    requires: str
    confidence: Confidence
    read_on: date
    read_at: tuple[str, ...]


def _cited(table: Table) -> _Citation:
    confidence = table.choice("confidence", Confidence)
    doubt = "" if confidence is Confidence.SEEN else f" (not seen in its own text: {confidence})"
    return {
        "clause": table.text("clause"),
        "source": f"{table.text('source')}{doubt}",  # it goes wherever a verdict goes
        "requires": table.text("requires"),
        "confidence": confidence,
        "read_on": table.day("read_on"),
        "read_at": table.texts("read_at"),
    }


def _level(table: Table, key: str, side: Side, flag: str | None = None) -> Level:
    """Read a temperature and whether the figure itself is allowed; allowed where the file does not say."""
    inclusive = table.flag(flag or f"{key}_inclusive", default=True)
    return Level(table.parsed(key, Temperature.parse), side, inclusive)


def _length(table: Table, key: str) -> Duration:
    length = table.parsed(key, Duration.parse)
    if length.ms <= 0:
        raise table.fail(key, _("must be longer than nothing"))
    if length.ms > LONGEST_MS:
        raise table.fail(key, _("must be at most {days} d").format(days=LONGEST_MS // MS_PER_DAY))
    return length


# ---------------------------------------------------------------- cooling


def cooling(table: Table) -> CoolingLimits:
    """Read the starting level and the stages of cooling."""
    start = Level(table.parsed("start", Temperature.parse), Side.AT_LEAST)
    stages = tuple(_stage(stage) for stage in table.tables("stages"))
    if stages[0].counts is Counts.FURTHER:
        raise table.fail("stages[1].counts", _("the first stage has none before it: write 'total'"))
    levels = [start.celsius, *(stage.target.celsius for stage in stages)]
    if any(later >= earlier for earlier, later in pairwise(levels)):
        said = _("each target must be colder than the one before, the first colder than the start")
        raise table.fail("stages", said)
    return CoolingLimits(start, stages)


def _stage(table: Table) -> CoolingStage:
    stage = CoolingStage(
        **_cited(table),
        target=_level(table, "target", Side.AT_MOST),
        within=_length(table, "within"),
        within_inclusive=table.flag("within_inclusive", default=True),
        counts=table.choice("counts", Counts),
    )
    table.done()
    return stage


def _ambient(table: Table) -> AmbientCoolingLimits:
    return AmbientCoolingLimits(
        **_cited(table),
        target=_level(table, "target", Side.AT_MOST),
        within=_length(table, "within"),
        within_inclusive=table.flag("within_inclusive", default=True),
    )


# ---------------------------------------------------------------- holding


def cold_holding(table: Table) -> HoldingLimits:
    """Read a level that is not to be exceeded."""
    return _holding(table, Side.AT_MOST)


def hot_holding(table: Table) -> HoldingLimits:
    """Read a level below which the food is not to fall."""
    return _holding(table, Side.AT_LEAST)


def _holding(table: Table, side: Side) -> HoldingLimits:
    return HoldingLimits(
        **_cited(table),
        level=_level(table, "level", side, "inclusive"),
        medium=table.choice("medium", Medium) if table.has("medium") else Medium.FOOD,
        tolerance=_tolerance(table.table("tolerance")) if table.has("tolerance") else None,
    )


def _tolerance(table: Table) -> SpellTolerance:
    tolerance = SpellTolerance(
        **_cited(table),
        within=_length(table, "within"),
        within_inclusive=table.flag("within_inclusive", default=True),
    )
    table.done()
    return tolerance


# ---------------------------------------------------------------- time instead of temperature


def _time_control(table: Table) -> TimeControlLimits:
    return TimeControlLimits(
        **_cited(table),
        within=_length(table, "within"),
        within_inclusive=table.flag("within_inclusive", default=True),
        starts_cold=_level(table, "starts_cold", Side.AT_MOST),
        starts_hot=_level(table, "starts_hot", Side.AT_LEAST) if table.has("starts_hot") else None,
        never_above=_level(table, "never_above", Side.AT_MOST) if table.has("never_above") else None,
    )


def _cumulative(table: Table) -> CumulativeLimits:
    limit = CumulativeLimits(
        **_cited(table),
        cold=_level(table, "cold", Side.AT_MOST),
        hot=_level(table, "hot", Side.AT_LEAST),
        back_within=_length(table, "back_within"),
        back_within_inclusive=table.flag("back_within_inclusive", default=True),
        within=_length(table, "within"),
        within_inclusive=table.flag("within_inclusive", default=True),
    )
    if limit.cold.celsius >= limit.hot.celsius:
        raise table.fail("hot", _("must be warmer than cold"))
    if limit.back_within.ms > limit.within.ms:
        raise table.fail("back_within", _("must not be longer than within"))
    return limit


# ---------------------------------------------------------------- cooking and reheating


def _row(table: Table) -> CookingRow:
    level = _level(table, "level", Side.AT_LEAST, "inclusive")
    return CookingRow(level, _length(table, "dwell") if table.has("dwell") else None)


def _cooking(table: Table) -> CookingLimits:
    rows = []
    for row in table.tables("rows"):
        rows.append(_row(row))
        row.done()
    for earlier, later in pairwise(rows):
        if later.level.celsius <= earlier.level.celsius:
            raise table.fail("rows", _("write the rows in order, each warmer than the one before"))
    return CookingLimits(**_cited(table), rows=tuple(rows))


def _reheating(table: Table) -> ReheatingLimits:
    limit = ReheatingLimits(
        **_cited(table),
        row=_row(table),
        start=_level(table, "start", Side.AT_MOST) if table.has("start") else None,
        within=_length(table, "within") if table.has("within") else None,
        within_inclusive=table.flag("within_inclusive", default=True),
    )
    if (limit.start is None) is not (limit.within is None):
        missing = "start" if limit.start is None else "within"
        raise table.fail(missing, _("is missing: start and within belong together"))
    return limit


# ---------------------------------------------------------------- date marks


def _date_mark(table: Table) -> DateMarkLimits:
    return DateMarkLimits(
        **_cited(table),
        days=table.count("days"),
        level=_level(table, "level", Side.AT_MOST),
        marked_after=_length(table, "marked_after"),
    )


# ---------------------------------------------------------------- raw egg


def _egg(table: Table) -> EggLimits:
    ways = table.choices("ways", EggWay)
    combined = table.choices("ways_combined", EggWay) if table.has("ways_combined") else ways
    return EggLimits(**_cited(table), ways=ways, ways_combined=combined)


PARTS: Mapping[str, Callable[[Table], Cited]] = MappingProxyType(
    {
        "ambient-cooling": _ambient,
        "received-cooling": _ambient,
        "shell-eggs": cold_holding,
        "frozen-storage": cold_holding,
        "time-control-4h": _time_control,
        "time-control-6h": _time_control,
        "time-control-from-room": _time_control,
        "cumulative-time": _cumulative,
        "cook-eggs": _cooking,
        "cook-eggs-to-order": _cooking,
        "reheating": _reheating,
        "date-marking": _date_mark,
        "raw-egg": _egg,
        "raw-egg-susceptible": _egg,
        "raw-egg-time-control": _egg,
        "receiving-cold": cold_holding,
        "receiving-hot": hot_holding,
        "receiving-shell-eggs": cold_holding,
    }
)
"""Every part of a file beside cooling, cold and hot holding, and what reads it."""
