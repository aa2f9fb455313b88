"""One vessel's curve, ready to be drawn.

The verdicts are the stored ones. What the sieve sets aside is asked of the sieve again, for that is not stored: it
decides how a reading is drawn, never what a clause says.
"""

from collections.abc import Sequence

import numpy as np
from sqlmodel import Session

from holdwatch.charts.curves import CurveView, FanView, Hole
from holdwatch.charts.reduce import find_holes, thin
from holdwatch.clock import MS_PER_HOUR
from holdwatch.readings import Record, Series
from holdwatch.rules.facts import from_facts
from holdwatch.rules.occasions import SECOND
from holdwatch.rules.seen import prepare
from holdwatch.rules.verdicts import ClauseVerdict
from holdwatch.sieve import SetAside
from holdwatch.storage.findings import findings
from holdwatch.storage.ids import id_of
from holdwatch.storage.life import contents_of
from holdwatch.storage.placing import placements
from holdwatch.storage.states import clause_states, forecasts
from holdwatch.storage.tables import Batch, ClauseState, FindingKind, ForecastState, Placement

__all__ = ["curve_view", "window_of"]

_WHOLE_UP_TO_MS = 12 * MS_PER_HOUR
_AFTER_MS = MS_PER_HOUR
_LATELY_MS = 24 * MS_PER_HOUR


def curve_view(
    session: Session,
    batch: Batch,
    vessel: int,
    now_ms: int,
    *,
    from_ms: int | None = None,
    until_ms: int | None = None,
) -> CurveView:
    """Return a vessel's curve: its cooling by default, or any span of its record.

    Parameters
    ----------
    from_ms, until_ms : int or None. [ms], the span to draw; by default what `window_of` chooses.
    """
    subject = f"batch:{id_of(batch)}:{vessel}"
    states = [state for state in clause_states(session, batch_id=id_of(batch)) if state.subject == subject]
    clauses = tuple(from_facts(row.facts) for row in states)
    record = contents_of(session, batch, vessel, now_ms)[0].record  # a part shows the course that its clock comes from
    last = _last(record)
    begin, end = window_of(batch, record, clauses, now_ms)
    begin, end = from_ms if from_ms is not None else begin, until_ms if until_ms is not None else end
    now = min(now_ms, batch.ended_ms if batch.ended_ms is not None else now_ms)
    aside = tuple(r for r in _set_aside(record, now, now_ms) if begin <= r.at_ms <= end)
    judged = _without(record.probe, aside).between(begin, end)
    here = [p for p in placements(session, batch_id=id_of(batch)) if p.vessel == vessel and p.to_ms != p.from_ms]
    holes, sparse = _holes(record.probe.between(begin, end), here, begin, end, now_ms)
    live = batch.ended_ms is None and end >= now_ms
    return CurveView(
        lot=batch.lot,
        product=batch.product,
        vessel=vessel,
        vessels=batch.vessels,
        readings=thin(judged, holes),
        set_aside=aside,
        hand=record.hand.between(begin, end),
        holes=holes,
        clauses=clauses,
        fans=tuple(_fan(row) for row in forecasts(session, id_of(batch)) if row.vessel == vessel) if live else (),
        from_ms=begin,
        until_ms=end,
        sparse=sparse,
        live=live,
        soon=frozenset(
            row.clause
            for row in findings(session, batch_id=id_of(batch), open_only=True)
            if row.subject == subject and row.kind == FindingKind.SOON
        ),
        last_ms=last[0] if last else None,
        last_c=last[1] if last else None,
        drawn=_drawn(states),
    )


def _drawn(states: Sequence[ClauseState]) -> tuple[ClauseVerdict, ...]:
    """Return the clauses of the cooling that was begun last, and of the holding that belongs to it."""
    again = [row for row in states if row.day == SECOND]
    begun = any((row.facts.get("started") or [None, None])[1] is not None for row in again)
    chosen = again if begun else [row for row in states if row.day == ""]
    return tuple(from_facts(row.facts) for row in chosen)


def window_of(batch: Batch, record: Record, clauses: tuple[ClauseVerdict, ...], now_ms: int) -> tuple[int, int]:
    """Return the span that tells most: all of a short batch, the cooling of a long one, else its last day."""
    starts = [batch.started_ms, *(int(s.at_ms[0]) for s in (record.probe, record.hand) if len(s))]
    begin = min(starts)
    end = batch.ended_ms if batch.ended_ms is not None and batch.ended_ms < now_ms else now_ms
    end = max(end, begin)
    if end - begin <= _WHOLE_UP_TO_MS:
        return begin, end
    due = [c.due[1] for c in clauses if c.start_level_c is not None and c.due is not None and c.due[1] is not None]
    if due:
        return begin, min(end, max(due) + _AFTER_MS)
    return max(begin, end - _LATELY_MS), end


def _set_aside(record: Record, until_ms: int, now_ms: int) -> tuple[SetAside, ...]:
    return prepare(record, until_ms=until_ms, now_ms=now_ms).set_aside if len(record.probe) else ()


def _without(series: Series, aside: tuple[SetAside, ...]) -> Series:
    """Leave out what was set aside: the line is what was judged, the hollow marks are the rest."""
    if not aside:
        return series
    taken = {(reading.at_ms, reading.celsius) for reading in aside}
    pairs = zip(series.at_ms.tolist(), series.celsius.tolist(), strict=True)
    keep = np.array([pair not in taken for pair in pairs], dtype=np.bool_)
    return Series(series.at_ms[keep], series.celsius[keep])


def _holes(probe: Series, here: list[Placement], begin: int, end: int, now_ms: int) -> tuple[tuple[Hole, ...], bool]:
    """Return where a probe should have spoken and did not: from its placing to its taking out."""
    spans = [(max(p.from_ms, begin), min(p.to_ms if p.to_ms is not None else end, end)) for p in here]
    spans = [span for span in spans if span[1] > span[0]]
    if not spans:
        return find_holes(probe.at_ms, begin, begin, live=False) if len(probe) else ((), False)
    stands = any(p.to_ms is None for p in here) and end >= now_ms
    return find_holes(probe.at_ms, min(s[0] for s in spans), max(s[1] for s in spans), live=stands)


def _last(record: Record) -> tuple[int, float] | None:
    """Return the last reading, by probe or by hand."""
    ends = [(int(s.at_ms[-1]), float(s.celsius[-1])) for s in (record.probe, record.hand) if len(s)]
    return max(ends, default=None)


def _fan(row: ForecastState) -> FanView:
    return FanView(
        clause=row.clause,
        target_c=row.target_c,
        reaches=row.reaches,
        expected_ms=row.expected_ms,
        earliest_ms=row.earliest_ms,
        latest_ms=row.latest_ms,
        reason=row.reason,
        made_ms=row.made_ms,
        path=tuple((int(at), float(low), float(mid), float(high)) for at, low, mid, high in row.facts.get("path", [])),
    )
