"""By when a pan is to be at which temperature: what is written on it when it begins to cool."""

from dataclasses import dataclass
from itertools import groupby

from sqlmodel import Session

from holdwatch.language import _
from holdwatch.limits import Limits
from holdwatch.limits.model import AmbientCoolingLimits
from holdwatch.quantities import Scale
from holdwatch.rules.facts import from_facts
from holdwatch.rules.verdicts import COLD_IN_TIME, Process, Step
from holdwatch.storage.events import events
from holdwatch.storage.ids import id_of
from holdwatch.storage.inforce import limits_of
from holdwatch.storage.life import Content, contents_of
from holdwatch.storage.register import site_at
from holdwatch.storage.states import clause_states
from holdwatch.storage.tables import Batch, EventKind
from holdwatch.views.words import level

__all__ = ["CoolingDue", "CoolingStep", "cooling_due"]


@dataclass(frozen=True)
class CoolingStep:
    """A level to be reached, and the instant in ms by which."""

    level: str
    at_ms: int


@dataclass(frozen=True)
class CoolingDue:
    """The stages of one cooling, and from when they are counted."""

    steps: tuple[CoolingStep, ...]
    from_ms: int
    counted_from: str
    """What happened then, in words."""


def cooling_due(session: Session, batch: Batch, vessel: int, now_ms: int) -> CoolingDue | None:
    """Return by when a vessel is to be at which temperature, ``None`` where no such time is asked of it.

    As soon as the watch has found when its clock started, that counts. Before, it is counted from leaving the heat or
    from the preparation, else from the start of the batch: the clock cannot have started before, so that no time on the
    tag is later than the limit.
    """
    site = site_at(session, batch.started_ms)
    scale, limits = Scale(site.unit), limits_of(session, site)
    return _found(session, batch, vessel, scale) or _reckoned(session, batch, vessel, limits, scale, now_ms)


def _found(session: Session, batch: Batch, vessel: int, scale: Scale) -> CoolingDue | None:
    states = [
        from_facts(state.facts)
        for state in clause_states(session, batch_id=batch.id)
        if state.process in COLD_IN_TIME and (state.vessel or 1) == vessel
    ]
    known = [
        (clause.due[0], clause.level_c, clause.started[0])
        for clause in states
        if clause.due and clause.due[0] is not None and clause.level_c is not None and clause.started
    ]
    if not known or known[0][2] is None:
        return None
    steps = sorted((due, celsius) for due, celsius, _began in known if due is not None and celsius is not None)
    return CoolingDue(
        tuple(CoolingStep(level(celsius, scale), due) for due, celsius in steps),
        min(began for _due, _celsius, began in known if began is not None),
        _("when its clock started"),
    )


def _reckoned(
    session: Session, batch: Batch, vessel: int, limits: Limits, scale: Scale, now_ms: int
) -> CoolingDue | None:
    content = contents_of(session, batch, vessel, now_ms, readings=False)[0]
    from_ms, told = _began(session, batch, content.started_ms)
    stages: list[tuple[float, int]] = []
    if not content.life.not_tcs:
        begins = content.life.begins
        never_hot = next((each for each in begins if each in {Process.AMBIENT_COOLING, Process.RECEIVED_COOLING}), None)
        if never_hot is not None:
            limit = limits.part(never_hot.value, AmbientCoolingLimits)
            stages = [] if limit is None else [(limit.target.celsius, from_ms + limit.within.ms)]
        elif _cools(content, batch) and limits.cooling is not None:
            at_ms = from_ms
            for stage in limits.cooling.stages:
                at_ms = (from_ms if stage.counts == "total" else at_ms) + stage.within.ms
                stages.append((stage.target.celsius, at_ms))
    steps = tuple(CoolingStep(level(celsius, scale), at_ms) for celsius, at_ms in stages)
    return CoolingDue(steps, from_ms, told) if steps else None


def _cools(content: Content, batch: Batch) -> bool:
    """Tell whether it is hot and cools, perhaps after it is cooked."""
    begins = content.life.begins
    if not begins:
        return content.step in {Step.COOK, Step.COOL}
    cooked = all(each in {Process.COOK_EGGS, Process.COOK_EGGS_TO_ORDER} for each in begins)
    return Process.COOLING in begins or (cooked and batch.holding == "cold")


def _began(session: Session, batch: Batch, started_ms: int) -> tuple[int, str]:
    told = events(session, batch_id=id_of(batch), kinds=[EventKind.LEFT_HEAT, EventKind.PREPARED])
    words = {EventKind.LEFT_HEAT: _("when it left the heat"), EventKind.PREPARED: _("when it was prepared")}
    for kind, (first, *_later) in groupby(
        sorted(told, key=lambda each: (each.kind, each.at_ms)), key=lambda each: each.kind
    ):
        return first.at_ms, words[EventKind(kind)]
    return started_ms, _("when it was started")
