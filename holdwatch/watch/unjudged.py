"""A subject that cannot be judged: it is tried again, nothing is called kept meanwhile, and somebody is told.

Whatever goes wrong in judging, a last verdict of *kept* must not outlive it on screen and paper. So the verdicts that
the next judgement would write again are *not shown* until then; what was missed stays missed.
"""

from collections.abc import Collection

from sqlmodel import Session

from holdwatch.clock import MS_PER_DAY, MS_PER_MINUTE, clock_words
from holdwatch.errors import HoldwatchError
from holdwatch.language import _
from holdwatch.rules.verdicts import Verdict
from holdwatch.rules.words import sentence
from holdwatch.storage.site import site_at
from holdwatch.storage.states import clause_states
from holdwatch.storage.tables import Batch, FindingKind, Probe, Unit, WatchState
from holdwatch.storage.thinned import is_thinned
from holdwatch.watch.answer import Answer
from holdwatch.watch.days import day_span
from holdwatch.watch.findings import Gone, Match, Wanted
from holdwatch.watch.keep import keep
from holdwatch.watch.subjects import vessel_title

__all__ = ["SINCE", "judged_again", "try_again_later", "unjudged"]

TRY_AGAIN_MS = MS_PER_MINUTE
SINCE = "unjudged_since_ms"
"""In what is kept of a subject: since when it could not be judged. [ms]"""
_STAND = frozenset({Verdict.MISSED.value, Verdict.UNPROVEN.value})


def try_again_later(session: Session, subject: str, now_ms: int) -> None:
    """Leave a subject for a minute."""
    state = session.get(WatchState, subject)
    if state is not None:
        state.next_ms = now_ms + TRY_AGAIN_MS
        session.add(state)


def unjudged(session: Session, subject: str, exc: Exception, now_ms: int, base_url: str) -> None:
    """Write down that a subject could not be judged: its verdicts are not shown, and a fault of the system is found."""
    state = session.get(WatchState, subject)
    if state is None:
        return
    since_ms = int(state.facts.get(SINCE, now_ms))
    time = clock_words(since_ms, site_at(session, since_ms).timezone)
    said = _("it cannot be judged since {time} ({error}): nothing is shown until it is judged again; check it by hand.")
    reason = said.format(time=time, error=_in_short(exc))
    _show_nothing(session, subject, {*state.facts.get("days", ()), *state.facts.get("running", ())}, reason, now_ms)
    if SINCE not in state.facts:
        state.facts = {**state.facts, SINCE: since_ms}
        session.add(state)
        keep(session, _fault(session, subject, reason, since_ms), now_ms, base_url)


def judged_again(session: Session, subject: str, now_ms: int, base_url: str) -> None:
    """Close the fault of a subject that could be judged again; its verdicts were just written."""
    gone = Gone(_("it is judged again"))
    keep(session, Answer(_name(subject), gone=lambda _: gone, open_only=True), now_ms, base_url)


def _name(subject: str) -> str:
    return f"system:{subject}"


def _in_short(exc: Exception) -> str:
    """Return what went wrong in one line: an error of the database quotes whole rows."""
    first = next(iter(str(exc).splitlines()), "").rstrip(".")
    return first if isinstance(exc, HoldwatchError) else f"{type(exc).__name__}: {first}"


def _show_nothing(session: Session, subject: str, days: Collection[str], reason: str, now_ms: int) -> None:
    """Turn what is not known any more into *not shown*; of a unit only the days that wait to be judged."""
    for row in clause_states(session, subject=subject):
        if row.verdict in _STAND or (row.unit_id is not None and not _waits(session, row.day, days, now_ms)):
            continue
        row.verdict = Verdict.UNPROVEN.value
        row.facts = {**row.facts, "verdict": row.verdict, "reason": sentence(reason)}
        session.add(row)


def _waits(session: Session, day: str, days: Collection[str], now_ms: int) -> bool:
    """Tell whether a local day is to be judged; what is near a thinned one stands as it was found."""
    if day not in days:
        return False
    first_ms, last_ms = day_span(day, "UTC")
    return not is_thinned(session, first_ms - MS_PER_DAY, last_ms + MS_PER_DAY, now_ms)


def _fault(session: Session, subject: str, reason: str, since_ms: int) -> Answer:
    kind, first, *rest = subject.split(":")
    batch = session.get_one(Batch, int(first)) if kind == "batch" else None
    unit = session.get_one(Unit, int(first)) if kind == "unit" else None
    probe = session.get_one(Probe, int(rest[0] if rest else first)) if batch is None else None
    if batch is not None:
        title = vessel_title(batch, int(rest[0]))
    else:
        code = "" if probe is None else probe.code
        title = code if unit is None else _("{unit}, probe {probe}").format(unit=unit.name, probe=code)
    wanted = Wanted(
        family=_name(subject),
        match=Match.RUNNING,
        kind=FindingKind.SYSTEM,
        subject=_name(subject),
        title=title,
        reason=reason,
        since_ms=since_ms,
        batch_id=None if batch is None else batch.id,
        unit_id=None if unit is None else unit.id,
        probe_id=None if probe is None else probe.id,
    )
    return Answer(_name(subject), wanted=[wanted], open_only=True)
