"""Curves to draw: a pan that cools, as judged by hand-written clauses, at Linden Street Patisserie in Denver."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from holdwatch.charts.curves import CurveView, FanView
from holdwatch.charts.reduce import find_holes, thin
from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE, to_ms
from holdwatch.quantities import celsius_of_f
from holdwatch.readings import Series
from holdwatch.rules.verdicts import Bracket, ClauseVerdict, Verdict

ZONE = "America/Denver"
STAGE_1, STAGE_2, HOLDING = "3-501.14(A)(1)", "3-501.14(A)(2)", "3-501.16(A)(2)"


def at(year: int, month: int, day: int, hour: int, minute: int = 0, *, fold: int = 0) -> int:
    """Return an instant by the kitchen's clock, in ms."""
    return to_ms(datetime(year, month, day, hour, minute, tzinfo=ZoneInfo(ZONE), fold=fold))


START = at(2026, 10, 14, 10, 12)


def cooling(start_ms: int = START, minutes: int = 420, rate: float = 0.55, every_min: float = 1.0) -> Series:
    """Return a pan from 165 °F in surroundings of 37 °F."""
    minute = np.arange(0, minutes + 1e-9, every_min)
    degrees_f = 37 + 128 * np.exp(-rate * minute / 60)
    return Series((start_ms + minute * MS_PER_MINUTE).astype(np.int64), (degrees_f - 32) / 1.8)


def without(series: Series, from_min: int, to_min: int, start_ms: int = START) -> Series:
    """Leave out the readings strictly between two minutes."""
    low, high = start_ms + from_min * MS_PER_MINUTE, start_ms + to_min * MS_PER_MINUTE
    keep = (series.at_ms <= low) | (series.at_ms >= high)
    return Series(series.at_ms[keep], series.celsius[keep])


def crossing(series: Series, level_f: float) -> Bracket | None:
    """Return the readings between which the series first fell through a level."""
    below = np.flatnonzero(series.celsius <= celsius_of_f(level_f))
    if len(below) == 0:
        return None
    first = int(below[0])
    return (int(series.at_ms[first - 1]) if first else None, int(series.at_ms[first]))


def stages(
    series: Series, words: tuple[Verdict, Verdict] = (Verdict.MET, Verdict.MET)
) -> tuple[ClauseVerdict, ClauseVerdict]:
    """Return the two cooling clauses over a series, with the verdicts given."""
    started = crossing(series, 135)
    made = []
    for clause, level_f, hours, word in ((STAGE_1, 70, 2, words[0]), (STAGE_2, 41, 6, words[1])):
        due: Bracket | None = None
        if started is not None:
            due = (
                started[0] + hours * MS_PER_HOUR if started[0] is not None else None,
                started[1] + hours * MS_PER_HOUR if started[1] is not None else None,
            )
        made.append(
            ClauseVerdict(
                clause=clause,
                source=f"FDA Food Code 2022, {clause}",
                requires=f"135 °F to {level_f} °F within {hours} h",
                verdict=word,
                reason="as the record shows",
                start_level_c=celsius_of_f(135),
                level_c=celsius_of_f(level_f),
                started=started,
                due=due,
                reached=crossing(series, level_f),
            )
        )
    return made[0], made[1]


def curve(series: Series, *, live: bool = False, until_ms: int | None = None, **changes: Any) -> CurveView:
    """Return the series as a curve to draw."""
    until = until_ms if until_ms is not None else int(series.at_ms[-1])
    holes, sparse = find_holes(series.at_ms, int(series.at_ms[0]), until, live=live)
    settings: dict[str, Any] = {
        "lot": "L-0412",
        "product": "Pastry cream",
        "vessel": 1,
        "vessels": 6,
        "readings": thin(series, holes),
        "set_aside": (),
        "hand": Series.empty(),
        "holes": holes,
        "clauses": stages(series),
        "fans": (),
        "from_ms": int(series.at_ms[0]),
        "until_ms": until,
        "sparse": sparse,
        "live": live,
        "last_ms": int(series.at_ms[-1]),
        "last_c": float(series.celsius[-1]),
    }
    return CurveView(**(settings | changes))


def fan(from_ms: int, level_f: float, expected_ms: int, clause: str = STAGE_1) -> FanView:
    """Return a forecast that widens over two hours."""
    steps = range(0, 121, 10)
    path = tuple(
        (from_ms + m * MS_PER_MINUTE, 30.0 - m / 10 - m / 60, 30.0 - m / 10, 30.0 - m / 10 + m / 60) for m in steps
    )
    return FanView(clause, celsius_of_f(level_f), True, expected_ms, expected_ms, expected_ms, "", from_ms, path)
