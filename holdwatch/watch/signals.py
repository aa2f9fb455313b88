"""The signal of a probe: whether it still speaks, and whether what it says can be.

Its silence owns the hole that it leaves; the clauses only change verdict.
"""

from dataclasses import dataclass

from sqlmodel import Session, col, select

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import _
from holdwatch.quantities import format_duration
from holdwatch.rules.signal import LARGEST_GAP_MS, SignalVerdict, judge_signal
from holdwatch.storage.findings import findings
from holdwatch.storage.out_of_use import Rest, rest_at, rests
from holdwatch.storage.readings import recent_instants
from holdwatch.storage.states import watch_state
from holdwatch.storage.tables import Batch, Finding, FindingKind, Placement, Probe, Unit
from holdwatch.watch.answer import Answer, earliest
from holdwatch.watch.faults import OVER, Fault, Look, faults_of
from holdwatch.watch.findings import Gone, Match, Wanted
from holdwatch.watch.resting import rest_words
from holdwatch.watch.site import in_force
from holdwatch.watch.subjects import probe_subject, vessel_title

__all__ = ["HABIT", "judge_probe", "open_placement", "silent_since"]

LOOK_AGAIN_MS = MS_PER_MINUTE
"""A probe that speaks is looked at so often: its habit, and with it our patience, may have changed."""
SILENT_LOOK_MS = 10 * MS_PER_MINUTE
"""A silent one is looked at as soon as it is heard, and so often for what it sends instead of a temperature."""
HABIT = 21
"""So many last instants tell a probe's usual interval."""


@dataclass(frozen=True)
class _Place:
    """What a probe watches now, in words."""

    words: str
    batch_id: int | None
    unit_id: int | None


def judge_probe(session: Session, probe: Probe, now_ms: int, *, largest_gap_ms: int | None = None) -> Answer:
    """Judge whether a probe is silent or faulty; one that watches nothing is not expected to speak."""
    subject = probe_subject(probe.id or 0)
    placement = open_placement(session, probe.id or 0, now_ms)
    if placement is None:
        gone = Gone(_("it was taken out, and watches nothing now"))
        return Answer(
            subject=subject,
            gone=lambda _: gone,
            open_only=True,
            next_ms=_next_placement_ms(session, probe.id or 0, now_ms),
            facts={"silent": False},
            probe_id=probe.id,
        )
    resting = rest_at(session, placement.unit_id, now_ms) if placement.unit_id is not None else None
    if resting is not None:
        return _at_rest(session, probe, placement, resting, now_ms)
    verdict = _signal(session, placement, now_ms, largest_gap_ms)
    state = watch_state(session, subject)
    standing = {_kind(finding): finding for finding in findings(session, subject=subject, open_only=True)}
    facts = state.facts if state is not None else {}
    faults, kept = faults_of(Look(session, probe, placement, verdict, standing, facts, now_ms))
    silent = verdict.silent and not any(fault.instead_of_silence for fault in faults)
    wanted = [_faulty(session, probe, placement, fault) for fault in faults]
    if silent:
        wanted.append(_silent(session, probe, placement, verdict, now_ms))
    return Answer(
        subject=subject,
        wanted=wanted,
        open_only=True,
        gone=lambda finding: _gone(session, finding, verdict, now_ms),
        next_ms=now_ms + SILENT_LOOK_MS if silent else earliest(_becomes(verdict, now_ms), now_ms + LOOK_AGAIN_MS),
        facts={"silent": bool(wanted), **kept},
        probe_id=probe.id,
        batch_id=placement.batch_id,
        unit_id=placement.unit_id,
    )


def silent_since(
    session: Session, *, batch_id: int | None, vessel: int, now_ms: int, largest_gap_ms: int | None = None
) -> int | None:
    """Return since when the probe that watches a vessel now has been silent, or ``None``."""
    query = select(Placement).where(col(Placement.batch_id) == batch_id, col(Placement.vessel) == vessel)
    since = []
    for placement in session.exec(query).all():
        if _is_open(placement, now_ms):
            verdict = _signal(session, placement, now_ms, largest_gap_ms)
            if verdict.silent and verdict.since_ms is not None:
                since.append(verdict.since_ms)
    return min(since, default=None)


def open_placement(session: Session, probe_id: int, now_ms: int) -> Placement | None:
    """Return what a probe watches now."""
    query = select(Placement).where(col(Placement.probe_id) == probe_id).order_by(col(Placement.from_ms).desc())
    return next((placement for placement in session.exec(query).all() if _is_open(placement, now_ms)), None)


def _next_placement_ms(session: Session, probe_id: int, now_ms: int) -> int | None:
    """Return when a probe will be placed: one noted by a clock that is ahead of ours."""
    query = select(Placement.from_ms).where(col(Placement.probe_id) == probe_id, col(Placement.from_ms) > now_ms)
    return session.exec(query.order_by(col(Placement.from_ms)).limit(1)).first()


def _is_open(placement: Placement, now_ms: int) -> bool:
    return placement.from_ms <= now_ms and (placement.to_ms is None or placement.to_ms > now_ms)


def _signal(session: Session, placement: Placement, now_ms: int, largest_gap_ms: int | None) -> SignalVerdict:
    instants = recent_instants(session, placement.probe_id, HABIT, now_ms)
    expected_ms = max(placement.from_ms, _back_in_use_ms(session, placement, now_ms))
    return judge_signal(instants, expected_ms, now_ms, largest_gap_ms=largest_gap_ms or LARGEST_GAP_MS)


def _at_rest(session: Session, probe: Probe, placement: Placement, rest: Rest, now_ms: int) -> Answer:
    """Expect nothing of a probe while its unit is out of use; what stood of it is explained."""
    unit = session.get_one(Unit, placement.unit_id)
    gone = Gone(_("{unit} is {state}").format(unit=unit.name, state=rest_words(rest, in_force(session, now_ms))))
    return Answer(
        subject=probe_subject(probe.id or 0),
        gone=lambda _: gone,
        open_only=True,
        next_ms=earliest(rest.to_ms, now_ms + SILENT_LOOK_MS),
        facts={"silent": False},
        probe_id=probe.id,
        unit_id=unit.id,
    )


def _back_in_use_ms(session: Session, placement: Placement, now_ms: int) -> int:
    """Return since when the unit of a placement is back in use, 0 where it never was out of it. [ms]."""
    if placement.unit_id is None:
        return 0
    over = rests(session, placement.unit_id, placement.from_ms, now_ms)
    return max((rest.to_ms for rest in over if rest.to_ms is not None and rest.to_ms <= now_ms), default=0)


def _becomes(verdict: SignalVerdict, now_ms: int) -> int | None:
    becomes_ms = verdict.becomes_silent_ms
    return None if becomes_ms is None or becomes_ms < now_ms else becomes_ms + 1


def _kind(finding: Finding) -> str:
    """Return what a finding about a probe says of it: ``silent``, or a kind of fault."""
    return str(finding.facts.get("family", "")).rpartition("/")[2]


def _faulty(session: Session, probe: Probe, placement: Placement, fault: Fault) -> Wanted:
    where = _where(session, placement)
    return Wanted(
        family=f"{probe_subject(probe.id or 0)}/{fault.kind}",
        match=Match.RUNNING,
        kind=FindingKind.SYSTEM,
        subject=probe_subject(probe.id or 0),
        title=_("Probe {probe} in {place}").format(probe=probe.code, place=where.words),
        reason=fault.reason,
        since_ms=fault.since_ms,
        batch_id=where.batch_id,
        unit_id=where.unit_id,
        probe_id=probe.id,
        facts={"process": f"probe-{fault.kind}"},
    )


def _silent(session: Session, probe: Probe, placement: Placement, verdict: SignalVerdict, now_ms: int) -> Wanted:
    here = in_force(session, now_ms)
    since_ms = verdict.since_ms if verdict.since_ms is not None else placement.from_ms
    where = _where(session, placement)
    if since_ms == _back_in_use_ms(session, placement, now_ms):
        reason = _("not heard since its unit came back into use at {time}.").format(time=here.when(since_ms))
    elif verdict.usual_interval_ms is None or since_ms == placement.from_ms:
        reason = _("not heard since it was placed at {time}.").format(time=here.when(since_ms))
    else:
        habit = format_duration(verdict.usual_interval_ms)
        said = _("silent since {time}; it usually speaks every {length}.")
        reason = said.format(time=here.when(since_ms), length=habit)
    return Wanted(
        family=f"{probe_subject(probe.id or 0)}/silent",
        match=Match.RUNNING,
        kind=FindingKind.SYSTEM,
        subject=probe_subject(probe.id or 0),
        title=_("Probe {probe} in {place}").format(probe=probe.code, place=where.words),
        reason=f"{reason} {_('While it is silent, what it watches cannot be shown.')}",
        since_ms=since_ms,
        batch_id=where.batch_id,
        unit_id=where.unit_id,
        probe_id=probe.id,
        facts={"process": "signal", "usual_interval_ms": verdict.usual_interval_ms},
    )


def _where(session: Session, placement: Placement) -> _Place:
    if placement.batch_id is not None:
        batch = session.get_one(Batch, placement.batch_id)
        return _Place(vessel_title(batch, placement.vessel), batch.id, None)
    unit = session.get_one(Unit, placement.unit_id)
    return _Place(unit.name, None, unit.id)


def _gone(session: Session, finding: Finding, verdict: SignalVerdict, now_ms: int) -> Gone:
    """Say that a silent probe is heard again, or a fault is over; what it did not say meanwhile stays unknown."""
    if _kind(finding) in OVER:
        return Gone(_(OVER[_kind(finding)]))
    if finding.unit_id is not None:
        over = rests(session, finding.unit_id, finding.since_ms, now_ms)
        if over:
            state = rest_words(over[0], in_force(session, now_ms))
            return Gone(_("its unit was {state}").format(state=state))
    if verdict.since_ms is None or verdict.since_ms <= finding.since_ms:
        return Gone(_("it is not silent"))
    when = in_force(session, now_ms).when(verdict.since_ms)
    return Gone(_("it was heard again; its last reading is of {time}").format(time=when))
