"""Units over a span: each probe's trace, the days' verdicts and the spells beyond the limit."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from sqlmodel import Session

from holdwatch.charts.curves import Hole, LevelView, TraceView
from holdwatch.charts.marks import Mark, mark_of
from holdwatch.charts.reduce import LARGEST_GAP_MS, MOST_HOLES, find_holes
from holdwatch.clock import MS_PER_DAY, day_words, span_words
from holdwatch.language import _
from holdwatch.readings import Medium
from holdwatch.rules.facts import from_facts
from holdwatch.rules.verdicts import ClauseVerdict, Process, Spell, Verdict, worst
from holdwatch.storage.ids import id_of, numbered
from holdwatch.storage.look import one_look
from holdwatch.storage.out_of_use import gather_rests
from holdwatch.storage.placing import gather_placements, placements
from holdwatch.storage.readings import load_series, recent_instants
from holdwatch.storage.register import units
from holdwatch.storage.states import clause_states, gather_days
from holdwatch.storage.tables import ClauseState, FindingKind, Placement, Probe, Unit
from holdwatch.storage.traces import Trace, load_trace
from holdwatch.views.estimates import with_estimate
from holdwatch.views.findings import finding_views
from holdwatch.views.logger_files import files_told
from holdwatch.views.model import DayView, FindingView, ProbeRow, SiteView, SpellView, UnitView
from holdwatch.views.resting import resting_now, rests_told, warning
from holdwatch.views.site import site_view
from holdwatch.views.words import age, level, local_day, medium, temperature

__all__ = ["days_by_mark", "trace_view", "unit_rows", "unit_view"]

_Told = tuple[ClauseState, ClauseVerdict]
"""What the record shows of a day, as it is kept and as it is read."""


def unit_rows(session: Session, now_ms: int) -> list[UnitView]:
    """Return every unit over the last 24 hours, in order of their names."""
    rows = sorted(units(session), key=lambda unit: unit.name.casefold())
    first_ms = now_ms - MS_PER_DAY
    found: dict[int | None, list[FindingView]] = {}
    for finding in finding_views(session, since_ms=first_ms, until_ms=now_ms):  # one question for all of them
        found.setdefault(finding.unit_id, []).append(finding)
    return _views(session, rows, (first_ms, now_ms), now_ms, found)


def unit_view(session: Session, unit_id: int, first_ms: int, last_ms: int, now_ms: int) -> UnitView | None:
    """Return a unit over a span, or ``None`` if there is none of that number."""
    unit = session.get(Unit, unit_id)
    if unit is None:
        return None
    last_ms = max(first_ms, min(last_ms, now_ms))
    found = finding_views(session, unit_id=unit_id, since_ms=first_ms, until_ms=last_ms)
    return _views(session, [unit], (first_ms, last_ms), now_ms, {unit_id: found})[0]


def days_by_mark(days: Iterable[DayView]) -> Counter[Mark]:
    """Count local days by what the record shows of them; a day counts as the worst of its probes and clauses."""
    by_day: dict[str, list[Verdict]] = {}
    for each in days:
        by_day.setdefault(each.day, []).append(each.verdict)
    return Counter(mark_of(worst(verdicts)) for verdicts in by_day.values())


def _views(
    session: Session,
    rows: list[Unit],
    span: tuple[int, int],
    now_ms: int,
    found: Mapping[int | None, Sequence[FindingView]],
) -> list[UnitView]:
    numbers = [id_of(unit) for unit in rows]
    with one_look(session):
        site = site_view(session, span[1])
        gather_days(session, numbers, local_day(span[0], site.zone), local_day(span[1], site.zone))
        gather_placements(session, unit_ids=numbers)
        gather_rests(session, numbers)
        return [_view(session, unit, span, now_ms, site, tuple(found.get(id_of(unit), ()))) for unit in rows]


def _view(
    session: Session,
    unit: Unit,
    span: tuple[int, int],
    now_ms: int,
    site: SiteView,
    found: tuple[FindingView, ...],
) -> UnitView:
    unit_id, (first_ms, last_ms) = id_of(unit), span
    first_day, last_day = local_day(first_ms, site.zone), local_day(last_ms, site.zone)
    states = clause_states(session, unit_id=unit_id, first_day=first_day, last_day=last_day)
    clauses = [from_facts(state.facts) for state in states]
    codes = {number: probe.code for number, probe in numbered(session, Probe, {s.probe_id for s in states}).items()}
    told = list(zip(states, clauses, strict=True))
    rows = _probe_rows(session, unit, told, span, now_ms)
    warned = any(finding.kind == FindingKind.SOON and finding.closed_ms is None for finding in found)
    verdict = worst(Verdict(state.verdict) for state in states if state.day == last_day)
    resting = resting_now(session, unit_id, last_ms, site)
    mark = Mark.SOON if warned and verdict not in {Verdict.MISSED, Verdict.UNPROVEN} else mark_of(verdict)
    return UnitView(
        id=unit_id,
        name=unit.name,
        kind=unit.kind,
        mark=Mark.NO_LIMIT if resting and mark is not Mark.DEVIATION else mark,
        probes=rows,
        days=tuple(_day(state, clause, codes.get(state.probe_id or 0, "")) for state, clause in told),
        spells=_spells(told, codes, site, first_ms, last_ms),
        findings=found,
        first_ms=first_ms,
        last_ms=last_ms,
        words=_words(rows, site, now_ms),
        out_of_use=resting,
        warning=warning(session, unit, last_ms) if resting else "",
        files=files_told(session, unit_id, (first_ms, last_ms), site),
        rests=rests_told(session, unit_id, (first_ms, last_ms), site),
    )


def trace_view(
    session: Session, probe_id: int, first_ms: int, last_ms: int, *, live: bool, points: int = 480
) -> TraceView:
    """Return a probe's trace over a span in which it was placed, with the holes told apart."""
    trace = load_trace(session, probe_id, first_ms, last_ms, points)
    if len(trace) == 0:
        return TraceView.empty(first_ms, last_ms)
    if trace.raw:
        holes, _ = find_holes(trace.at_ms, first_ms, last_ms, live=live)
    else:
        holes = _rolled_holes(session, probe_id, trace, (first_ms, last_ms), live=live)
    return TraceView(trace.at_ms, trace.min_c, trace.mean_c, trace.max_c, first_ms, last_ms, holes, trace.raw)


def _rolled_holes(
    session: Session, probe_id: int, trace: Trace, span: tuple[int, int], *, live: bool
) -> tuple[Hole, ...]:
    """Return the holes between rolled-up points; one inside a point is looked up among the readings themselves."""
    found = []
    if trace.first_ms[0] - span[0] > LARGEST_GAP_MS:
        found.append(Hole(span[0], int(trace.first_ms[0])))
    between = np.flatnonzero(trace.first_ms[1:] - trace.last_ms[:-1] > LARGEST_GAP_MS)
    found += [Hole(int(trace.last_ms[i]), int(trace.first_ms[i + 1])) for i in between]
    inside = np.flatnonzero(trace.hole_ms > LARGEST_GAP_MS)
    for i in inside[np.argsort(-trace.hole_ms[inside], kind="stable")][:MOST_HOLES].tolist():
        at_ms = load_series(session, probe_id, int(trace.first_ms[i]), int(trace.last_ms[i])).at_ms
        found += [Hole(int(at_ms[n]), int(at_ms[n + 1])) for n in np.flatnonzero(np.diff(at_ms) > LARGEST_GAP_MS)]
    if span[1] - trace.last_ms[-1] > LARGEST_GAP_MS:
        found.append(Hole(int(trace.last_ms[-1]), span[1], still=live))
    return tuple(sorted(found, key=lambda hole: hole.from_ms))


def _probe_rows(
    session: Session, unit: Unit, told: list[_Told], span: tuple[int, int], now_ms: int
) -> tuple[ProbeRow, ...]:
    """Return a row for each probe that stood in the unit in the span, food first."""
    stays: dict[int, list[Placement]] = {}
    for placed in placements(session, unit_id=id_of(unit)):
        ends = placed.to_ms if placed.to_ms is not None else now_ms
        if placed.batch_id is None and placed.from_ms <= span[1] and ends >= span[0] and placed.to_ms != placed.from_ms:
            stays.setdefault(placed.probe_id, []).append(placed)
    rows = [_probe_row(session, id_of(unit), probe_id, stay, told, span, now_ms) for probe_id, stay in stays.items()]
    order = {"food": 0, "product": 1, "air": 2}
    return tuple(sorted(rows, key=lambda row: (row.to_ms is not None, order.get(row.medium, 3), row.code)))


def _probe_row(
    session: Session,
    unit_id: int,
    probe_id: int,
    stay: list[Placement],
    told: list[_Told],
    span: tuple[int, int],
    now_ms: int,
) -> ProbeRow:
    probe = session.get(Probe, probe_id)
    mine = [(state, clause) for state, clause in told if state.probe_id == probe_id]
    medium = probe.medium if probe is not None else ""
    stands = any(placed.to_ms is None for placed in stay)
    begin = max(span[0], min(placed.from_ms for placed in stay))
    end = span[1] if stands else min(span[1], max(placed.to_ms or 0 for placed in stay))
    last = _last(session, probe_id, min(now_ms, end))
    trace = trace_view(session, probe_id, begin, max(begin, end), live=stands and span[1] >= now_ms)
    latest_day = max((state.day for state, _ in mine), default="")
    return ProbeRow(
        code=probe.code if probe is not None else "",
        medium=medium,
        probe_id=probe_id,
        last_ms=last[0] if last else None,
        last_c=last[1] if last else None,
        age_ms=now_ms - last[0] if last else None,
        trace=with_estimate(session, unit_id, probe_id, trace) if medium == Medium.AIR else trace,
        level=_level(mine, span),
        mark=mark_of(worst(Verdict(state.verdict) for state, _ in mine if state.day == latest_day)),
        from_ms=min(placed.from_ms for placed in stay),
        to_ms=None if stands else max(placed.to_ms or 0 for placed in stay),
    )


def _last(session: Session, probe_id: int, until_ms: int) -> tuple[int, float] | None:
    """Return a probe's last reading with a known instant, corrected."""
    instants = recent_instants(session, probe_id, 1, until_ms)
    if len(instants) == 0:
        return None
    series = load_series(session, probe_id, int(instants[-1]), int(instants[-1]))
    return int(series.at_ms[-1]), float(series.celsius[-1])


def _level(told: list[_Told], span: tuple[int, int]) -> LevelView | None:
    """Return the limit that the latest day was held against, with the spells beyond it."""
    asked = [(state, clause) for state, clause in told if clause.level_c is not None]
    if not asked:
        return None
    latest, clause = max(asked, key=lambda each: each[0].day)
    marks = {
        (_begin(spell), _end(spell))
        for _, other in asked
        if other.clause == clause.clause
        for spell in other.spells
        if _touches(spell, span)
    }
    return LevelView(
        level_c=clause.level_c or 0.0,
        clause=clause.clause,
        at_most=latest.process != Process.HOT_HOLDING,
        requires=clause.requires,
        marks=tuple(sorted(marks)),
    )


def _begin(spell: Spell) -> int:
    """Return the first reading beyond the level."""
    return spell.begins[1]


def _end(spell: Spell) -> int:
    """Return the last reading beyond the level."""
    return spell.ends[0]


def _touches(spell: Spell, span: tuple[int, int]) -> bool:
    return _begin(spell) <= span[1] and _end(spell) >= span[0]


def _day(state: ClauseState, clause: ClauseVerdict, code: str) -> DayView:
    return DayView(
        day=state.day,
        probe=code,
        verdict=Verdict(state.verdict),
        mark=mark_of(Verdict(state.verdict)),
        clause=state.clause,
        source=clause.source,
        requires=clause.requires,
        words=clause.reason,
    )


def _spells(
    told: list[_Told], codes: dict[int, str], site: SiteView, first_ms: int, last_ms: int
) -> tuple[SpellView, ...]:
    """Return the spells in the span, each once, in order of time."""
    seen: dict[tuple[int | None, str, int], tuple[ClauseState, ClauseVerdict, Spell]] = {}
    for state, clause in told:
        for spell in clause.spells:
            if _touches(spell, (first_ms, last_ms)):
                seen[state.probe_id, state.clause, _begin(spell)] = (state, clause, spell)
    return tuple(
        SpellView(codes.get(state.probe_id or 0, ""), state.clause, spell, _spell_words(state, clause, spell, site))
        for state, clause, spell in sorted(seen.values(), key=lambda each: _begin(each[2]))
    )


def _spell_words(state: ClauseState, clause: ClauseVerdict, spell: Spell, site: SiteView) -> str:
    wanted = clause.level_c
    limit = ""
    if wanted is not None:
        below = state.process == Process.HOT_HOLDING
        side = _("below {temperature}") if below else _("above {temperature}")
        limit = " " + side.format(temperature=level(wanted, site.scale))
    begin, end = _begin(spell), _end(spell)
    return _("{day} {span}: seen{limit}, farthest {temperature}").format(
        day=day_words(begin, site.zone),
        span=span_words(begin, end, site.zone),
        limit=limit,
        temperature=temperature(spell.extreme_c, site.scale),
    )


def _words(rows: tuple[ProbeRow, ...], site: SiteView, now_ms: int) -> str:
    """Say the last reading and its age, of the probe that says most about the food."""
    standing = [row for row in rows if row.to_ms is None]
    if not standing:
        return _("no probe placed")
    row = standing[0]
    if row.last_ms is None or row.last_c is None:
        return _("{medium} probe {probe} has not been heard").format(medium=medium(row.medium), probe=row.code)
    return f"{medium(row.medium)} {temperature(row.last_c, site.scale)}, {age(row.last_ms, now_ms)}"
