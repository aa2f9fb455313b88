"""Looking ahead: the forecast of each open cooling clause, held against its due instant. It never changes a verdict."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from sqlmodel import Session, col, select

from holdwatch.clock import MS_PER_MINUTE, MS_PER_SECOND
from holdwatch.language import _, decimals
from holdwatch.quantities import Scale, format_duration
from holdwatch.readings import DeclarationKind, Medium, Record, Series
from holdwatch.rules.verdicts import COLD_IN_TIME, ClauseVerdict, Judgement, Verdict
from holdwatch.science.forecast import Forecast, forecast
from holdwatch.storage.tables import Batch, ForecastState
from holdwatch.watch.answer import ForecastAnswer, earliest
from holdwatch.watch.site import InForce, in_force
from holdwatch.watch.subjects import batch_subject

__all__ = ["LookAhead", "Outlook", "compare", "look_ahead"]

EVERY_MS = 60 * MS_PER_SECOND
"""Ours: a vessel's forecast is made at most so often."""
AIR_OVER_MS = 30 * MS_PER_MINUTE
"""Ours: the surroundings are the middle of the air over this time, so that a door or a defrost counts little."""
AIR_C = (-60.0, 100.0)
_WORTH_SAYING, _TENFOLD = 1.1, 9.95


@dataclass(frozen=True)
class Outlook:
    """How a forecast compares with the limit: ``None`` where nothing can be said."""

    misses: bool | None = None
    reason: str = ""


@dataclass(frozen=True)
class LookAhead:
    """The forecasts of a vessel."""

    made: Sequence[ForecastAnswer] = ()
    """Those made just now, to be kept."""
    outlook: Mapping[str, Outlook] = field(default_factory=dict)
    next_ms: int | None = None
    facts: Mapping[str, Any] = field(default_factory=dict)
    none: bool = False
    """Whether there is nothing to look ahead to."""


def look_ahead(
    session: Session,
    batch: Batch,
    vessel: int,
    record: Record,
    judgements: Sequence[Judgement],
    *,
    facts: Mapping[str, Any],
    warned: Collection[str],
    now_ms: int,
) -> LookAhead:
    """Make or fetch the forecasts of the cooling clauses that are open."""
    cooling = {  # where two coolings ask the same clause, it is the later one that runs
        clause.clause: (clause, judgement.first_ms or 0)
        for judgement in judgements
        if judgement.process in COLD_IN_TIME
        for clause in judgement.clauses
        if clause.verdict is Verdict.OPEN and clause.level_c is not None
    }
    ended = batch.ended_ms is not None and batch.ended_ms <= now_ms
    food = record.probe if len(record.probe) else record.hand
    if not cooling or ended or record.medium is not Medium.FOOD or not len(food):
        return LookAhead(none=True)
    subject, here = batch_subject(batch.id or 0, vessel), in_force(session, batch.started_ms)
    kept = {
        row.clause: row
        for row in session.exec(select(ForecastState).where(col(ForecastState.subject) == subject)).all()
    }
    aside = {reading.at_ms for judgement in judgements for reading in judgement.set_aside}
    series = _without(food, aside).between(0, now_ms)
    last_ms = int(series.at_ms[-1]) if len(series) else 0
    made_ms = int(facts.get("forecast_ms", -EVERY_MS))
    news = [last_ms, len(series)]
    due = not 0 <= now_ms - made_ms < EVERY_MS
    fresh: dict[str, Forecast] = {}
    if due and news != facts.get("forecast_of"):
        moved = (*record.instants(DeclarationKind.MOVED), *record.instants(DeclarationKind.PLACED))
        around = surroundings(record, now_ms)
        for name, (clause, first_ms) in cooling.items():  # what came before a reheating is no part of the next cooling
            fresh[name] = forecast(
                series.between(first_ms, now_ms),
                target_c=clause.level_c or 0.0,
                now_ms=now_ms,
                surroundings_c=around,
                moved_ms=tuple(at_ms for at_ms in moved if at_ms >= first_ms),
                air=record.air,
                scale=Scale(here.site.unit),
            )
        made_ms = now_ms
        facts = {**facts, "forecast_ms": now_ms, "forecast_of": news}
    current = {name: _of_row(row) for name, row in kept.items()} | fresh
    return LookAhead(
        made=[ForecastAnswer(name, made) for name, made in fresh.items()],
        outlook={
            name: compare(clause, current[name], here, warned=name in warned, now_ms=now_ms)
            for name, (clause, _) in cooling.items()
            if name in current
        },
        next_ms=made_ms + EVERY_MS if news != facts.get("forecast_of") else None,
        facts={name: facts[name] for name in ("forecast_ms", "forecast_of") if name in facts},
    )


def compare(clause: ClauseVerdict, made: Forecast, here: InForce, *, warned: bool, now_ms: int) -> Outlook:
    """Hold a forecast against the due instant; a warning that stands falls only when the whole interval is in time."""
    due_ms = earliest(*(clause.due or (None,)))
    if due_ms is None or made.reaches is None:
        return Outlook()
    level = here.level(made.target_c)
    due = here.when(due_ms)
    if not made.reaches:
        said = _("as things stand it will not get to {level}: {why}. It is due at {due}.")
        return Outlook(misses=True, reason=said.format(level=level, why=made.reason, due=due))
    expected = made.expected_ms
    latest = made.latest_ms
    if expected is None:
        return Outlook()
    late = expected > due_ms or (warned and (latest is None or latest > due_ms))
    if not late:
        return Outlook(misses=False)
    when, faster = here.when(expected), _faster(expected - now_ms, due_ms - now_ms)
    if expected > due_ms:
        length = format_duration(expected - due_ms)
        said = _("expected at {level} at {time}, {length} after it is due ({due})")
        return Outlook(misses=True, reason=f"{said.format(level=level, time=when, length=length, due=due)}{faster}.")
    said = _("expected at {level} at {time}, so close to its time ({due}) that it may be late.")
    return Outlook(misses=True, reason=said.format(level=level, time=when, due=due))


def _faster(takes_ms: int, left_ms: int) -> str:
    """Say how much faster it has to cool from now on, where that is a matter of more than a tenth."""
    if left_ms <= 0 or takes_ms < _WORTH_SAYING * left_ms:
        return ""
    times = takes_ms / left_ms
    if times >= _TENFOLD:
        return _(": it has to cool over ten times as fast from now on")
    return _(": it has to cool {times} times as fast from now on").format(times=decimals(f"{times:.1f}"))


def surroundings(record: Record, now_ms: int) -> float | None:
    """Return the measured air around the vessel, if it was read lately [°C]."""
    lately = record.air.between(now_ms - AIR_OVER_MS, now_ms)
    if not len(lately):
        return None
    middle = float(np.median(lately.celsius))
    return middle if AIR_C[0] <= middle <= AIR_C[1] else None


def _without(series: Series, aside: set[int]) -> Series:
    """Leave out what the sieve set aside."""
    if not aside:
        return series
    keep = ~np.isin(series.at_ms, list(aside))
    return Series(series.at_ms[keep], series.celsius[keep])


def _of_row(row: ForecastState) -> Forecast:
    return Forecast(row.target_c, row.reaches, row.expected_ms, row.earliest_ms, row.latest_ms, row.reason)
