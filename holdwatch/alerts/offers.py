"""What is offered about a finding, in the order of what still helps: the plan's own words first, then what is usual.

=====================  =====================================================  =======================
the limit              of the plan's step                                     of the usual advice
=====================  =====================================================  =======================
can still be kept      what helps in time, else what is done when not kept    as long as it can be
was not kept           what is done when it is not kept                       when it was not kept
is not shown           in time what helps in time; else the same, as long     when it is not shown
                       as nothing shows that it was kept
=====================  =====================================================  =======================

What helps only before a deadline is left out once that is over, also while the watch has not said so yet.
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from sqlmodel import Session

from holdwatch.alerts.advice import advice
from holdwatch.language import N_, _
from holdwatch.people.handling import Disposition
from holdwatch.storage.products import product_at
from holdwatch.storage.tables import Batch, Finding, FindingKind

if TYPE_CHECKING:
    from holdwatch.plan.model import PlanStep

__all__ = ["NO_WAY_BACK", "advised", "no_way_back", "offered", "plan_step", "to_do"]

NO_WAY_BACK = N_(
    "The code gives no way back here: reheating does not undo a toxin, and putting it in the cold gives it no new time."
)
_ONCE_OVER = frozenset(
    {
        "cooling",
        "ambient-cooling",
        "received-cooling",
        "time-control-4h",
        "time-control-6h",
        "time-control-from-room",
        "cumulative-time",
        "date-marking",
    }
)
"""Where a time has run out: no cold and no heat brings it back."""
_IN_TIME = (Disposition.RE_CHILL, Disposition.REHEAT, Disposition.DISCARD, Disposition.HOLD, Disposition.KEEP)
_HOT = (Disposition.REHEAT, Disposition.DISCARD, Disposition.HOLD, Disposition.KEEP, Disposition.RE_CHILL)
_OVER = (Disposition.DISCARD, Disposition.HOLD, Disposition.REHEAT, Disposition.KEEP, Disposition.RE_CHILL)


def to_do(session: Session, finding: Finding, now_ms: int | None = None) -> str:
    """Return what to do about a finding at an instant [ms]; without one, as the watch last left it."""
    kind, process = _kind(finding, now_ms), _process(finding.facts)
    usual, step = advice(kind, process, finding.subject), plan_step(session, finding.batch_id, process)
    if step is None or kind is FindingKind.SYSTEM:
        return usual
    if step.in_time and (kind is FindingKind.SOON or _before_due(finding, now_ms)):
        return _("By the plan: {action} Besides: {usual}").format(action=step.in_time, usual=usual)
    said = _("By the plan: {action} Besides: {usual}")
    if kind is FindingKind.NOT_SHOWN:
        said = _("By the plan, if nothing shows that the limit was kept: {action} Besides: {usual}")
    return said.format(action=step.action, usual=usual)


def advised(session: Session, batch_id: int, kind: FindingKind, *processes: str) -> str:
    """Return what to do about a batch of which nothing has been found yet: in the plan's own words first.

    Of several processes that may be asked of it the first gives the usual advice, and the plan's first step with one
    of them its words.
    """
    usual, step = advice(kind, processes[0], ""), plan_step(session, batch_id, *processes)
    if step is None:
        return usual
    return _("By the plan: {action} Besides: {usual}").format(
        action=(kind is FindingKind.SOON and step.in_time) or step.action, usual=usual
    )


def plan_step(session: Session, batch_id: int | None, *processes: str) -> "PlanStep | None":
    """Return the step of the plan in force when a batch was started; ``None`` where it has no such step."""
    batch = None if batch_id is None else session.get(Batch, batch_id)
    product = None if batch is None else product_at(session, batch.product, batch.started_ms)
    if product is None:
        return None
    from holdwatch.plan.critical import step_for

    return next(filter(None, (step_for(product, process) for process in processes)), None)


def offered(finding: Finding, now_ms: int | None = None) -> tuple[Disposition, ...]:
    """Return what may become of the food, first what still helps; what does not may have been done, and stays last.

    Nothing where a finding is about no food, such as a reminder: it closes by itself once its cause is gone.
    """
    if finding.kind == FindingKind.SYSTEM and finding.subject.startswith(("system:", "reminder:")):
        return ()
    if _over(finding, now_ms):
        return _OVER
    return _HOT if _process(finding.facts) in {"hot-holding", "cook-eggs", "reheating"} else _IN_TIME


def no_way_back(finding: Finding, now_ms: int | None = None) -> str:
    """Return that nothing brings the food back, where a time has run out; else nothing."""
    return _(NO_WAY_BACK) if _over(finding, now_ms) else ""


def _over(finding: Finding, now_ms: int | None) -> bool:
    return _process(finding.facts) in _ONCE_OVER and _kind(finding, now_ms) is FindingKind.DEVIATION


def _kind(finding: Finding, now_ms: int | None) -> FindingKind:
    """Return the kind of a finding; a warning whose deadline is over is one no longer."""
    kind, due_ms = FindingKind(finding.kind), finding.facts.get("due_ms")
    late = now_ms is not None and due_ms is not None and now_ms > int(due_ms)
    return FindingKind.DEVIATION if kind is FindingKind.SOON and late else kind


def _before_due(finding: Finding, now_ms: int | None) -> bool:
    """Return whether something that is not shown can still be kept."""
    due_ms = finding.facts.get("due_ms")
    shown = finding.kind != FindingKind.NOT_SHOWN
    return not shown and now_ms is not None and due_ms is not None and now_ms <= int(due_ms)


def _process(facts: Mapping[str, Any]) -> str:
    return str(facts.get("process", ""))
