"""The latest answers of the watch; they can always be computed again from what was kept."""

from collections.abc import Iterable, Mapping
from typing import Any

from sqlmodel import Session, col, delete, select
from sqlmodel.sql.expression import SelectOfScalar

from holdwatch.storage.look import at_hand, gather
from holdwatch.storage.tables import ClauseState, ForecastState, WatchState

__all__ = [
    "clause_states",
    "drop_clauses",
    "drop_forecasts",
    "due_watch_states",
    "forecasts",
    "gather_days",
    "gather_states",
    "next_watch_ms",
    "save_clause",
    "save_forecast",
    "set_watch_state",
    "watch_state",
]

_OF_BATCH, _OF_UNIT = "verdicts of a batch", "verdicts of a unit from {first} to {last}"
_FORECASTS_OF_BATCH = "forecasts of a batch"
_IN_ORDER = select(ClauseState).order_by(col(ClauseState.day), col(ClauseState.subject), col(ClauseState.id))
_FORECASTS = select(ForecastState).order_by(col(ForecastState.vessel), col(ForecastState.id))


def save_clause(
    session: Session,
    *,
    subject: str,
    clause: str,
    verdict: str,
    facts: dict[str, Any],
    judged_ms: int,
    day: str = "",
    batch_id: int | None = None,
    unit_id: int | None = None,
    probe_id: int | None = None,
    vessel: int | None = None,
    process: str = "",
    limits: str = "",
    known: Mapping[tuple[str, str], ClauseState] | None = None,
) -> ClauseState:
    """Keep the latest verdict of a clause for a subject (and, for a unit, a local day).

    `facts` is what ``rules.facts.to_facts`` makes of the clause's verdict; `known` the subject's rows by day and clause,
    where they are at hand.
    """
    if known is not None:
        row = known.get((day, clause))
    else:
        asked = ClauseState.subject == subject, ClauseState.clause == clause, ClauseState.day == day
        row = session.exec(select(ClauseState).where(*asked)).first()
    if row is None:
        row = ClauseState(subject=subject, clause=clause, day=day, verdict=verdict, judged_ms=judged_ms)
    row.batch_id, row.unit_id, row.probe_id, row.vessel = batch_id, unit_id, probe_id, vessel
    row.process, row.limits, row.verdict, row.judged_ms = process, limits, verdict, judged_ms
    if row.facts != facts:
        row.facts = dict(facts)
    session.add(row)
    return row


def clause_states(
    session: Session,
    *,
    batch_id: int | None = None,
    unit_id: int | None = None,
    subject: str | None = None,
    first_day: str | None = None,
    last_day: str | None = None,
) -> list[ClauseState]:
    """Return the latest verdicts, in the order the clauses were first judged; days are ISO dates, both included."""
    near = at_hand(session, _OF_BATCH, batch_id)
    if near is None:
        near = at_hand(session, _OF_UNIT.format(first=first_day, last=last_day), unit_id)
    if near is not None:
        return [
            state
            for state in near
            if (batch_id is None or state.batch_id == batch_id)
            and (unit_id is None or state.unit_id == unit_id)
            and (subject is None or state.subject == subject)
            and (first_day is None or state.day >= first_day)
            and (last_day is None or "" != state.day <= last_day)
        ]
    query = _in_days(first_day, last_day)
    if batch_id is not None:
        query = query.where(ClauseState.batch_id == batch_id)
    if unit_id is not None:
        query = query.where(ClauseState.unit_id == unit_id)
    if subject is not None:
        query = query.where(ClauseState.subject == subject)
    return list(session.exec(query))


def gather_days(session: Session, unit_ids: Iterable[int], first_day: str, last_day: str) -> None:
    """Have the verdicts of several units on some days at hand while a look lasts."""
    what = _OF_UNIT.format(first=first_day, last=last_day)
    gather(session, what, _in_days(first_day, last_day), ClauseState.unit_id, unit_ids)


def _in_days(first_day: str | None, last_day: str | None) -> SelectOfScalar[ClauseState]:
    query = _IN_ORDER
    if first_day is not None:
        query = query.where(ClauseState.day >= first_day)
    if last_day is not None:
        query = query.where(ClauseState.day <= last_day, ClauseState.day != "")
    return query


def gather_states(session: Session, batch_ids: Iterable[int]) -> None:
    """Have the verdicts and the forecasts of several batches at hand while a look lasts."""
    batch_ids = list(batch_ids)
    gather(session, _OF_BATCH, _IN_ORDER, ClauseState.batch_id, batch_ids)
    gather(session, _FORECASTS_OF_BATCH, _FORECASTS, ForecastState.batch_id, batch_ids)


def drop_clauses(session: Session, subject: str, clauses: list[str], day: str = "") -> None:
    """Forget verdicts of clauses that are not asked of a subject any more."""
    session.exec(
        delete(ClauseState).where(
            col(ClauseState.subject) == subject, col(ClauseState.day) == day, col(ClauseState.clause).in_(clauses)
        )
    )


def save_forecast(
    session: Session,
    *,
    subject: str,
    batch_id: int,
    vessel: int,
    clause: str,
    target_c: float,
    made_ms: int,
    reaches: bool | None = None,
    expected_ms: int | None = None,
    earliest_ms: int | None = None,
    latest_ms: int | None = None,
    reason: str = "",
    facts: dict[str, Any] | None = None,
) -> ForecastState:
    """Keep the latest forecast of a clause for a vessel; ``facts["path"]`` is the fan to draw."""
    row = session.exec(
        select(ForecastState).where(ForecastState.subject == subject, ForecastState.clause == clause)
    ).first()
    if row is None:
        row = ForecastState(
            subject=subject, batch_id=batch_id, vessel=vessel, clause=clause, target_c=target_c, made_ms=made_ms
        )
    row.batch_id, row.vessel, row.target_c, row.made_ms = batch_id, vessel, target_c, made_ms
    row.reaches, row.reason, row.facts = reaches, reason, dict(facts or {})
    row.expected_ms, row.earliest_ms, row.latest_ms = expected_ms, earliest_ms, latest_ms
    session.add(row)
    session.flush()
    return row


def forecasts(session: Session, batch_id: int) -> list[ForecastState]:
    """Return the latest forecasts for a batch, by vessel."""
    near = at_hand(session, _FORECASTS_OF_BATCH, batch_id)
    return near if near is not None else list(session.exec(_FORECASTS.where(ForecastState.batch_id == batch_id)))


def drop_forecasts(session: Session, subject: str) -> None:
    """Forget the forecasts of a vessel whose answer is in."""
    session.exec(delete(ForecastState).where(col(ForecastState.subject) == subject))


def watch_state(session: Session, subject: str) -> WatchState | None:
    """Return what the watch kept of a subject."""
    return session.get(WatchState, subject)


def set_watch_state(
    session: Session, subject: str, *, next_ms: int | None, facts: dict[str, Any] | None = None
) -> WatchState:
    """Keep when time alone can change a subject's answer, and what else the watch needs to go on."""
    row = session.get(WatchState, subject)
    if row is None:
        row = WatchState(subject=subject)
    row.next_ms, row.facts = next_ms, dict(facts or {})
    session.add(row)
    session.flush()
    return row


def due_watch_states(session: Session, now_ms: int) -> list[WatchState]:
    """Return the subjects whose answer time alone may have changed by now, longest due first."""
    query = select(WatchState).where(col(WatchState.next_ms) <= now_ms)
    return list(session.exec(query.order_by(col(WatchState.next_ms), col(WatchState.subject))))


def next_watch_ms(session: Session) -> int | None:
    """Return the next instant at which time alone may change an answer."""
    query = select(WatchState.next_ms).where(col(WatchState.next_ms).is_not(None)).order_by(col(WatchState.next_ms))
    return session.exec(query.limit(1)).first()
