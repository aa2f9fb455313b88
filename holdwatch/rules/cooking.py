"""Cooking: rows of temperature and dwell, each an alternative to the others.

A run is neighbouring readings at or above the level, no two further apart than 90 s. It lasted at least from its
first to its last reading, at most from the reading before to the reading after.

=========  =====================================================================================
met        a run lasted long enough at least; for an instant, one reading is enough
missed     no run can have lasted long enough, there is no hole over 90 s in the record, and it does
           not begin with its warmest reading and fall: then it may have been warmer before
unproven   otherwise
=========  =====================================================================================

One row met is enough, all are to be missed to miss. Nothing is interpolated between rows, no runs are added up.
Until the cooking ends, what is not met is open. Where it was declared when the food left the heat, the record of the
cooking ends with the first reading after that below every row: what comes later is no cooking, nor a hole in it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from holdwatch.crossings import Run, runs
from holdwatch.language import _
from holdwatch.limits.model import CookingLimits, CookingRow
from holdwatch.quantities import Scale, format_duration
from holdwatch.readings import Series
from holdwatch.rules.answers import Declared, Said, answer, reading
from holdwatch.rules.context import Context
from holdwatch.rules.seen import Seen
from holdwatch.rules.verdicts import Bracket, ClauseVerdict, Verdict
from holdwatch.rules.words import NOTHING, row_words

__all__ = ["UNBROKEN_MS", "Dwell", "judge_cooking", "judge_row"]

UNBROKEN_MS = 90_000
"""Ours, from no code: readings of a run are no further apart."""


@dataclass(frozen=True)
class Dwell:
    """What the record shows of one row."""

    row: CookingRow
    verdict: Verdict
    run: Run | None = None
    """The run that met it, else the one that lasted longest at least."""
    reached: Bracket | None = None
    """Between which readings the dwell was complete. [ms]"""


def judge_cooking(limit: CookingLimits, seen: Seen, declared: Declared, context: Context) -> ClauseVerdict:
    """Return whether any row of the table was met."""
    series = _of_the_cooking(limit, seen.low, declared.left_heat_ms)
    dwells = [judge_row(row, series) for row in limit.rows]
    met = next((dwell for dwell in dwells if dwell.verdict is Verdict.MET), None)
    best = met or dwells[0]
    return answer(
        limit,
        _said(dwells, met, series, declared, context),
        level_c=best.row.level.celsius,
        started=None if best.run is None else (best.run.before_ms, best.run.first_ms),
        reached=best.reached,
    )


def _of_the_cooking(limit: CookingLimits, series: Series, left_heat_ms: int | None) -> Series:
    """Return the readings up to the first that shows the food off the heat and cooler than every row."""
    if left_heat_ms is None:
        return series
    hot = np.logical_or.reduce([row.level.keeps(series.celsius) for row in limit.rows])
    off = np.flatnonzero((series.at_ms > left_heat_ms) & ~hot)
    return series if not len(off) else Series(series.at_ms[: off[0] + 1], series.celsius[: off[0] + 1])


def judge_row(row: CookingRow, series: Series, *, latest_ms: int | None = None) -> Dwell:
    """Return what a record shows of one row; no run that begins after `latest_ms` meets it."""
    if not len(series):
        return Dwell(row, Verdict.UNPROVEN)
    dwell_ms = row.dwell.ms if row.dwell is not None else 0
    found = _runs(series, row)
    for run in found:
        if latest_ms is not None and run.first_ms > latest_ms:
            break
        complete = int(np.searchsorted(series.at_ms, run.first_ms + dwell_ms, side="left"))
        if complete <= run.last_index:
            before = int(series.at_ms[complete - 1]) if complete else None
            return Dwell(row, Verdict.MET, run, (before, int(series.at_ms[complete])))
    best = max(found, key=lambda run: run.shortest_ms, default=None)
    holes = bool((np.diff(series.at_ms) > UNBROKEN_MS).any())
    fell = bool(series.celsius[0] == series.celsius.max() > series.celsius.min())
    if holes or fell or len(series) == 1 or any(_can_last(run, dwell_ms) for run in found):
        return Dwell(row, Verdict.UNPROVEN, best)
    return Dwell(row, Verdict.MISSED, best)


def _runs(series: Series, row: CookingRow) -> list[Run]:
    """Return the runs at the level, broken where neighbours are too far apart."""
    at = series.at_ms
    broken = np.flatnonzero(np.diff(at) > UNBROKEN_MS) + 1
    found: list[Run] = []
    for run in runs(at, row.level.keeps(series.celsius)):
        edges = [
            run.first_index,
            *(int(n) for n in broken if run.first_index < n <= run.last_index),
            run.last_index + 1,
        ]
        for first, stop in pairwise(edges):
            before = int(at[first - 1]) if first else None
            after = int(at[stop]) if stop < len(at) else None
            found.append(Run(before, int(at[first]), int(at[stop - 1]), after, first, stop - 1))
    return found


def _can_last(run: Run, dwell_ms: int) -> bool:
    return run.longest_ms is None or run.longest_ms >= dwell_ms


def _said(dwells: Sequence[Dwell], met: Dwell | None, series: Series, declared: Declared, context: Context) -> Said:
    scale = dwells[0].row.level.scale
    if met is not None and met.run is not None:
        first = reading(series, met.run.first_index, scale, context)
        said = _("{row}: from {reading}, for {length} at least, in {count} readings.")
        return Verdict.MET, said.format(
            row=row_words(met.row),
            reading=first,
            length=format_duration(met.run.shortest_ms),
            count=met.run.readings,
        )
    shown = _warmest(series, scale, context)
    if not declared.finished or context.waiting:
        return Verdict.OPEN, f"{_('Still cooking: no row is met yet.')} {shown}"
    if all(dwell.verdict is Verdict.MISSED for dwell in dwells):
        rows = ", ".join(row_words(dwell.row) for dwell in dwells)
        return Verdict.MISSED, f"{_('No row is met: not {rows}.').format(rows=rows)} {shown}"
    rows = ", ".join(row_words(dwell.row) for dwell in dwells if dwell.verdict is Verdict.UNPROVEN)
    return Verdict.UNPROVEN, f"{_('The readings do not show whether it was {rows}.').format(rows=rows)} {shown}"


def _warmest(series: Series, scale: Scale, context: Context) -> str:
    if not len(series):
        return _(NOTHING)
    warmest = reading(series, int(series.celsius.argmax()), scale, context)
    return _("The warmest was {reading}.").format(reading=warmest)
