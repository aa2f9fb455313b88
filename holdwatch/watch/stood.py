"""Whether the unit that a batch stood in shows, without a probe in the food, that it was cold when it was taken out."""

from dataclasses import replace

from sqlmodel import Session

from holdwatch.limits.model import Limits
from holdwatch.readings import Declaration, DeclarationKind, Medium
from holdwatch.rules.judge import judge
from holdwatch.rules.life import Life, Stood
from holdwatch.rules.verdicts import Process, Verdict
from holdwatch.storage.events import events
from holdwatch.storage.ids import id_of
from holdwatch.storage.life import Content
from holdwatch.storage.placing import placements
from holdwatch.storage.records import record_of_unit
from holdwatch.storage.tables import Batch, EventKind, Probe, Unit
from holdwatch.watch.days import STOOD_MS
from holdwatch.watch.site import InForce
from holdwatch.watch.unitdays import PROCESS_OF_KIND

__all__ = ["with_stood"]


def with_stood(session: Session, batch: Batch, vessel: int, content: Content, here: InForce, now_ms: int) -> Life:
    """Return the life of what is in a vessel, with the unit that it stood in when time began to count.

    A unit that did not keep the limit is left out, and so is one that the vessel stood in before the food came into it.
    """
    life, came_ms = content.life, content.came_ms
    if not life.counted or life.counted[0].at_ms > now_ms:
        return life
    at_ms = life.counted[0].at_ms
    if came_ms is not None and came_ms > at_ms - STOOD_MS:
        return life
    return replace(life, stood=_stood(session, batch, vessel, at_ms, here.limits))


def _stood(session: Session, batch: Batch, vessel: int, at_ms: int, limits: Limits) -> Stood | None:
    """Return the unit in which a vessel had stood for two hours, if its food or product kept the limit meanwhile."""
    since_ms = at_ms - STOOD_MS
    whereabouts = (EventKind.MOVED, EventKind.REMOVED, EventKind.RETURNED)
    told = events(session, batch_id=id_of(batch), until_ms=at_ms, kinds=whereabouts)
    told = [event for event in told if event.at_ms < at_ms and event.vessel in {None, vessel}]
    if not told or told[-1].kind != EventKind.MOVED or told[-1].unit_id is None or told[-1].at_ms > since_ms:
        return None
    unit = session.get_one(Unit, told[-1].unit_id)
    if limits.cold_holding is None or PROCESS_OF_KIND.get(unit.kind) is not Process.COLD_HOLDING:  # type: ignore[call-overload]
        return None
    probes = {row.probe_id for row in placements(session, unit_id=id_of(unit)) if row.batch_id is None}
    kept = any(_kept(session, unit, session.get_one(Probe, probe_id), since_ms, at_ms, limits) for probe_id in probes)
    return Stood(unit.name, since_ms) if kept else None


def _kept(session: Session, unit: Unit, probe: Probe, since_ms: int, at_ms: int, limits: Limits) -> bool:
    """Tell whether a probe in food, or in simulated product, showed the limit kept without a hole."""
    medium = Medium(probe.medium)
    if medium is Medium.AIR or limits.cold_holding is None:
        return False
    record = record_of_unit(session, unit, probe, since_ms, at_ms)
    declared = (*record.declared, Declaration(since_ms, DeclarationKind.FROM))
    held_to = replace(limits, cold_holding=replace(limits.cold_holding, medium=medium))
    judged = judge(Process.COLD_HOLDING, replace(record, declared=tuple(sorted(declared))), held_to, until_ms=at_ms)
    return judged.verdict is Verdict.MET
