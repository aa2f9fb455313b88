"""Batches as the Bench, their own pages and the printed log show them.

Every verdict here is the one that the watch stored; nothing is judged again, so that screen, paper and finding agree.
"""

from dataclasses import dataclass

from sqlmodel import Session, col, or_, select

from holdwatch.charts.marks import Mark, mark_of
from holdwatch.language import _, explained
from holdwatch.rules.batch import batch_verdict
from holdwatch.rules.facts import from_facts
from holdwatch.rules.verdicts import COLD_IN_TIME, ClauseVerdict, Matter, Process, Verdict
from holdwatch.storage.alone import lone_spans
from holdwatch.storage.batching import batches
from holdwatch.storage.events import events, gather_events
from holdwatch.storage.ids import id_of
from holdwatch.storage.look import one_look
from holdwatch.storage.measured import Measured, measured_of
from holdwatch.storage.people import initials
from holdwatch.storage.placing import gather_placements, placements
from holdwatch.storage.states import clause_states, gather_states
from holdwatch.storage.tables import Batch, ClauseState, Event, EventKind, FindingKind, Placement, Probe, Unit
from holdwatch.views.alone import lone_mark
from holdwatch.views.curves import curve_view
from holdwatch.views.discard import discard_times
from holdwatch.views.findings import open_findings_of
from holdwatch.views.inherited import allergens_of, findings_of_parts
from holdwatch.views.model import (
    BatchView,
    ClauseRow,
    CurveView,
    EventView,
    FanView,
    FindingView,
    PlacementView,
    SiteView,
)
from holdwatch.views.site import site_view
from holdwatch.views.visits import detained_words
from holdwatch.views.words import cook_sentence, event_words, forecast_words, level, outcome_words, temperature

__all__ = ["batch_view", "batch_views", "clause_rows", "running"]


@dataclass(frozen=True)
class _Due:
    """What falls due next in a batch."""

    at_ms: int
    clause: ClauseVerdict
    vessel: int
    process: str

    def what(self, site: SiteView) -> str:
        """Say in a word or two what is due."""
        if self.process in _GONE_IN_TIME:
            return _("used up")
        return level(self.clause.level_c, site.scale) if self.clause.level_c is not None else ""

    def task(self, site: SiteView) -> str:
        """Say what is to be done by then."""
        if self.process in _GONE_IN_TIME:
            return _("be served, sold, used or discarded")
        reheats = self.process == Process.REHEATING
        said = _("get to {temperature} or above") if reheats else _("get to {temperature} or less")
        return said.format(temperature=self.what(site))


_GONE_IN_TIME = frozenset(
    {Process.TIME_CONTROL_4H, Process.TIME_CONTROL_6H, Process.TIME_CONTROL_FROM_ROOM, Matter.DATE_MARKING}
)


_AT_ONCE = 50
"""Ours: of so many batches what is kept is gathered in one question and held at once; a paper may tell of thousands."""


def batch_view(session: Session, batch_id: int, now_ms: int) -> BatchView | None:
    """Return a batch, or ``None`` if there is none of that number."""
    batch = session.get(Batch, batch_id)
    return None if batch is None else _views(session, [batch], now_ms)[0]


def running(session: Session, now_ms: int) -> list[BatchView]:
    """Return the batches that run, as the Bench lists them: what is due next first, what has no limit due last."""
    views = _views(session, batches(session, running_only=True), now_ms)
    return sorted(views, key=lambda view: (view.due_ms is None, view.due_ms or 0, view.started_ms, view.id))


def batch_views(session: Session, now_ms: int, first_ms: int, last_ms: int) -> list[BatchView]:
    """Return every batch that ran in a span, in order of their starts."""
    query = (
        select(Batch)
        .where(Batch.started_ms <= last_ms, or_(col(Batch.ended_ms).is_(None), col(Batch.ended_ms) >= first_ms))
        .order_by(col(Batch.started_ms), col(Batch.id))
    )
    rows = list(session.exec(query))
    some = (rows[first : first + _AT_ONCE] for first in range(0, len(rows), _AT_ONCE))
    return [view for each in some for view in _views(session, each, now_ms)]


def clause_rows(view: BatchView) -> list[ClauseRow]:
    """Return every clause of every vessel of a batch, as rows of a table."""
    return [
        ClauseRow(curve.vessel, clause, _clause_mark(clause, curve), clause.reason)
        for curve in view.curves
        for clause in curve.clauses
    ]


def _clause_mark(clause: ClauseVerdict, curve: CurveView) -> Mark:
    soon = clause.verdict is Verdict.OPEN and clause.clause in curve.soon
    return Mark.SOON if soon else mark_of(clause.verdict)


def _views(session: Session, rows: list[Batch], now_ms: int) -> list[BatchView]:
    with one_look(session):
        numbers = [id_of(batch) for batch in rows]
        gather_events(session, numbers)
        gather_placements(session, batch_ids=numbers)
        gather_states(session, numbers)
        found = open_findings_of(session, numbers)
        return [_view(session, batch, now_ms, found[id_of(batch)]) for batch in rows]


def _view(session: Session, batch: Batch, now_ms: int, found: tuple[FindingView, ...]) -> BatchView:
    batch_id = id_of(batch)
    site = site_view(session, batch.started_ms)
    states = clause_states(session, batch_id=batch_id)
    placed = placements(session, batch_id=batch_id)
    noted = events(session, batch_id=batch_id)
    curves = tuple(curve_view(session, batch, vessel, now_ms) for vessel in _vessels(placed, noted, states))
    measured = measured_of(session, batch, placed, noted)
    verdict = batch_verdict((Verdict(s.verdict) for s in states), speaks_for_all=measured.speaks_for_all)
    if not states:
        verdict = Verdict.OPEN if batch.ended_ms is None else Verdict.UNPROVEN  # the watch has not looked yet
    mark = _mark(verdict, found)
    due = _next_due(states) if batch.ended_ms is None else None
    fan = _fan(due, curves)
    forecast = ""
    if fan is not None and due is not None:
        forecast = forecast_words(fan, due.at_ms, site.zone, site.scale, now_ms)
    # a warning may be of a later stage than the one that is due next: the sentence is about what it warns of
    soon = {(curve.vessel, clause) for curve in curves for clause in curve.soon}
    warned = next((finding.reason for finding in found if finding.kind == FindingKind.SOON), "")
    told = due if mark is not Mark.SOON else _next_due([s for s in states if (s.vessel or 1, s.clause) in soon])
    signs, alone = initials(session), lone_spans(session)
    doubts = tuple(dict.fromkeys((s.vessel or 1, str(ask)) for s in states for ask in s.facts.get("asks", [])))
    asks = tuple(dict.fromkeys(ask for _, ask in doubts))
    return BatchView(
        id=batch_id,
        lot=batch.lot,
        product=batch.product,
        vessels=batch.vessels,
        amount=next((event.facts.get("amount", "") for event in noted if event.kind == EventKind.BATCH_STARTED), ""),
        step=batch.step,
        holding=batch.holding,
        started_ms=batch.started_ms,
        ended_ms=batch.ended_ms,
        outcome=batch.outcome,
        by=batch.by,
        verdict=verdict,
        mark=mark,
        due_ms=due.at_ms if due else None,
        due_what=due.what(site) if due else "",
        due_clause=due.clause.clause if due else "",
        due_vessel=due.vessel if due else None,
        forecast=forecast,
        sentence=_sentence(batch, mark, told, forecast, asks, curves, measured, site, now_ms, warned, named=True),
        told=_sentence(batch, mark, told, forecast, asks, curves, measured, site, now_ms, warned, named=False),
        measured=measured.words,
        curves=curves,
        events=tuple(_event(session, event, site, signs, lone_mark(alone, event)) for event in noted),
        placements=tuple(_placement(session, row, signs) for row in placed),
        findings=found,
        asks=asks,
        doubts=doubts,
        discard=discard_times(session, batch, now_ms),
        allergens=allergens_of(session, batch, us_words=site.limits.startswith("us-")),
        found_in_parts=findings_of_parts(session, batch),
        judged_ms=max((state.judged_ms for state in states), default=None),
        detained=detained_words(session, batch_id, site),
    )


def _vessels(placed: list[Placement], noted: list[Event], states: list[ClauseState]) -> list[int]:
    """Return the vessels of which something is known; the first one where nothing is yet."""
    by_hand = (e.vessel or 1 for e in noted if e.kind == EventKind.READING)
    known = {p.vessel for p in placed if p.to_ms != p.from_ms} | {*by_hand}
    return sorted(known | {state.vessel for state in states if state.vessel is not None}) or [1]


def _mark(verdict: Verdict, found: tuple[FindingView, ...]) -> Mark:
    """Return the word for a batch: a warning shows while the answer is still open."""
    warned = any(finding.kind == FindingKind.SOON for finding in found)
    return Mark.SOON if warned and verdict is Verdict.OPEN else mark_of(verdict)


def _next_due(states: list[ClauseState]) -> _Due | None:
    """Return the open clause with the earliest due instant: the safe end of its bracket."""
    waiting = []
    for state in states:
        if state.verdict != Verdict.OPEN:
            continue
        clause = from_facts(state.facts)
        at = next((instant for instant in clause.due or () if instant is not None), None)
        if at is not None:
            waiting.append(_Due(at, clause, state.vessel or 1, state.process))
    return min(waiting, key=lambda due: (due.at_ms, due.vessel), default=None)


def _fan(due: _Due | None, curves: tuple[CurveView, ...]) -> FanView | None:
    """Return the forecast of what is due next."""
    if due is None:
        return None
    for curve in curves:
        for fan in curve.fans:
            if curve.vessel == due.vessel and fan.clause == due.clause.clause:
                return fan
    return None


def _sentence(
    batch: Batch,
    mark: Mark,
    due: _Due | None,
    forecast: str,
    asks: tuple[str, ...],
    curves: tuple[CurveView, ...],
    measured: Measured,
    site: SiteView,
    now_ms: int,
    warned: str,
    *,
    named: bool,
) -> str:
    """Tell the cook of the worst vessel, of the one that is due next, or of what is warned of; by name, or beside it."""
    clauses = [(curve.vessel, clause) for curve in curves for clause in curve.clauses]
    so_marked = [(v, c) for v, c in clauses if mark_of(c.verdict) is mark]
    # what was kept last says most of food that has kept everything; of anything else, what came first
    worst_one = (so_marked[-1] if mark is Mark.KEPT else so_marked[0]) if so_marked else None
    vessel = (
        due.vessel if due and mark in {Mark.RUNNING, Mark.SOON} else worst_one[0] if worst_one else curves[0].vessel
    )
    name = (
        f"{batch.product} {batch.lot}"
        + (", " + _("vessel {vessel}").format(vessel=vessel) + "," if batch.vessels > 1 else "")
        if named
        else ""
    )
    if mark is Mark.NOT_SHOWN and worst_one is None and not measured.speaks_for_all:
        said = _("{name}: not shown. {reason}").format(name=f"{batch.product} {batch.lot}", reason=measured.why_not)
        return said if named else measured.why_not
    curve = next(curve for curve in curves if curve.vessel == vessel)
    if mark is Mark.RUNNING and due is None and curve.last_c is not None and batch.ended_ms is None:
        return _not_due(name, curve, site)
    return cook_sentence(
        name if mark in {Mark.RUNNING, Mark.SOON} and due else name.rstrip(","),
        mark,
        now_ms=now_ms,
        due_ms=due.at_ms if due else None,
        task=due.task(site) if due else "",
        cools=due is None or due.process in COLD_IN_TIME,
        reason=warned if mark is Mark.SOON else worst_one[1].reason if worst_one else "",
        asks=asks,
        forecast=forecast,
    )


def _not_due(name: str, curve: CurveView, site: SiteView) -> str:
    """Tell of food whose clock has not started, or that is held; beside its name its last reading stands already."""
    now = temperature(curve.last_c or 0.0, site.scale)
    said = _("{name} is at {temperature}.").format(name=name, temperature=now) if name else ""
    starts = [c.start_level_c for c in curve.clauses if c.start_level_c is not None and c.verdict is Verdict.OPEN]
    if starts and (curve.last_c or 0.0) >= starts[0]:
        starting = _("The clock starts when it falls under {temperature}.")
        return f"{said} {starting.format(temperature=level(starts[0], site.scale))}".strip()
    return said


def _named(by: str, signs: dict[str, str]) -> str:
    """Return a name with the initials of whoever it is, where a person is entered by it."""
    return f"{by}, {signs[by]}" if by in signs else by


def _event(session: Session, event: Event, site: SiteView, signs: dict[str, str], alone: str) -> EventView:
    words = event_words(event.kind)
    if event.unit_id is not None:
        words = explained(words, session.get_one(Unit, event.unit_id).name)
    if event.facts.get("confirmed"):
        words = _("{words}, confirmed at the door").format(words=words)
    if event.celsius is not None:
        words = f"{words} {temperature(event.celsius, site.scale)}"
    return EventView(
        id=id_of(event),
        at_ms=event.at_ms,
        recorded_ms=event.recorded_ms,
        kind=event.kind,
        words=words,
        vessel=event.vessel,
        celsius=event.celsius,
        text=outcome_words(event.text) if event.kind == EventKind.ENDED else event.text,
        by="; ".join(part for part in (_named(event.by, signs), alone) if part),
    )


def _placement(session: Session, row: Placement, signs: dict[str, str]) -> PlacementView:
    probe = session.get(Probe, row.probe_id)
    return PlacementView(
        probe=probe.code if probe is not None else "",
        medium=probe.medium if probe is not None else "",
        vessel=row.vessel,
        slowest=row.slowest,
        from_ms=row.from_ms,
        to_ms=row.to_ms,
        by=_named(row.by, signs),
        probe_id=row.probe_id,
    )
