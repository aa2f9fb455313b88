"""Air and simulated product under a limit for food: no verdict, but what a person should know."""

import numpy as np
from numpy.typing import NDArray

from holdwatch.crossings import farthest
from holdwatch.language import _, many
from holdwatch.limits.model import HoldingLimits
from holdwatch.quantities import Side, format_duration
from holdwatch.readings import Medium, Record, Series
from holdwatch.rules.context import Context
from holdwatch.rules.holding import Period, spells_of
from holdwatch.rules.seen import Seen
from holdwatch.rules.verdicts import ClauseVerdict, Spell, Verdict
from holdwatch.science.foodlag import COLDEST_C, USUAL_LAG_MIN, WARMEST_C, food_of_air

__all__ = ["estimated_food_c", "judge_air"]


def judge_air(limit: HoldingLimits, record: Record, seen: Seen, period: Period, context: Context) -> ClauseVerdict:
    """Return ``none``, with the spells out of range, the estimated food and what hand checks say."""
    worst = seen.high if limit.level.side is Side.AT_MOST else seen.low
    checks = np.isin(worst.at_ms, record.hand.at_ms)  # of the food; air may be read by hand too, and is no check of it
    probe = Series(worst.at_ms[~checks], worst.celsius[~checks])
    inside = probe.between(period.from_ms if period.from_ms is not None else 0, period.until_ms)
    spells = spells_of(inside, limit)
    medium = _("air") if record.medium is Medium.AIR else _("simulated product")
    parts = [_("A reading of {medium} neither keeps nor breaks a limit for food.").format(medium=medium)]
    parts.append(_spells(spells, limit, medium, context))
    if record.medium is Medium.AIR and len(inside):
        estimate = farthest(estimated_food_c(inside, record.food_lag_min), limit.level.side)
        said = (
            _("Food in that air is estimated at {degrees} at the warmest (an estimate).")
            if limit.level.side is Side.AT_MOST
            else _("Food in that air is estimated at {degrees} at the coldest (an estimate).")
        )
        parts.append(said.format(degrees=_degrees(estimate, limit, context)))
    parts.append(_checks(record.hand, limit, period, context))
    return ClauseVerdict(
        clause=limit.clause,
        source=limit.source,
        requires=limit.requires,
        verdict=Verdict.NONE,
        reason=" ".join(part for part in parts if part),
        level_c=limit.level.celsius,
        spells=spells,
    )


def estimated_food_c(air: Series, lag_min: float | None = None) -> NDArray[np.float64]:
    """Return the temperature of food that follows the air, beginning where the air begins; without a lag, the usual one.

    In °C, one for each reading that is a temperature.
    """
    real = (air.celsius >= COLDEST_C) & (air.celsius <= WARMEST_C)
    return food_of_air(
        Series(air.at_ms[real], air.celsius[real]), USUAL_LAG_MIN if lag_min is None else lag_min
    ).celsius


def _degrees(celsius: float, limit: HoldingLimits, context: Context) -> str:
    return context.words.temperature(celsius, limit.level.scale)


def _spells(spells: tuple[Spell, ...], limit: HoldingLimits, medium: str, context: Context) -> str:
    if not spells:
        return _("No {medium} reading is {level}.").format(medium=medium, level=limit.level.beyond)
    longest = max(spells, key=lambda spell: spell.ends[0] - spell.begins[1])
    length = format_duration(longest.ends[0] - longest.begins[1])
    extreme = max(spells, key=lambda spell: abs(spell.extreme_c - limit.level.celsius)).extreme_c
    return many(
        "The {medium} was {level} once, the longest for {length} or more from {time}, farthest {degrees}.",
        "The {medium} was {level} {count} times, the longest for {length} or more from {time}, farthest {degrees}.",
        len(spells),
        medium=medium,
        level=limit.level.beyond,
        length=length,
        time=context.words.when(longest.begins[1]),
        degrees=_degrees(extreme, limit, context),
    )


def _checks(hand: Series, limit: HoldingLimits, period: Period, context: Context) -> str:
    checks = hand.between(period.from_ms if period.from_ms is not None else 0, period.until_ms)
    if not len(checks):
        return _("There is no hand check of the food.")
    extreme = farthest(checks.celsius, limit.level.side)
    degrees = _degrees(extreme, limit, context)
    if limit.level.side is Side.AT_MOST:
        return many(
            "1 hand check of the food: the warmest was {degrees}.",
            "{count} hand checks of the food: the warmest was {degrees}.",
            len(checks),
            degrees=degrees,
        )
    return many(
        "1 hand check of the food: the coldest was {degrees}.",
        "{count} hand checks of the food: the coldest was {degrees}.",
        len(checks),
        degrees=degrees,
    )
