"""Before the last person leaves: what will not make it through the night, and what to do about it now."""

from collections.abc import Iterator, Mapping

from sqlmodel import Session

from holdwatch.alerts.offers import advised, plan_step
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import N_, _
from holdwatch.rules.facts import from_facts
from holdwatch.rules.verdicts import COLD_IN_TIME, Matter, Verdict
from holdwatch.storage.daily import last_round
from holdwatch.storage.said import UNDER
from holdwatch.storage.states import clause_states, forecasts
from holdwatch.storage.tables import ClauseState, EventKind, FindingKind, ForecastState
from holdwatch.views.batches import running
from holdwatch.views.daily import Line, Part, back_by
from holdwatch.views.discard import Discard
from holdwatch.views.findings import finding_views
from holdwatch.views.model import BatchView, FindingView, SiteView
from holdwatch.views.resting import out_of_use_part
from holdwatch.views.site import site_view
from holdwatch.views.words import clock_time, clock_words, level, temperature

__all__ = ["closing", "comes_back", "processes_of"]

_LEAVE = N_("What nobody can get cold before leaving: discard it now, and record that.")
_BY_HAND = N_(
    "Place a probe, or take its temperature by hand now and note it: while nobody measures, nothing is shown."
)


def comes_back(session: Session, now_ms: int) -> int:
    """Return when somebody is to be there again, by the last opening. [ms]."""
    opened = last_round(session, EventKind.OPENING, now_ms)
    return back_by(None if opened is None else opened.at_ms, now_ms, site_view(session).zone)


def closing(session: Session, now_ms: int, back_ms: int) -> list[Part]:
    """Return what is to be looked at before everybody leaves.

    Parameters
    ----------
    now_ms, back_ms : the present, and when somebody is there again. [ms]
    """
    site, batches = site_view(session), running(session, now_ms)
    found = [each for each in finding_views(session, open_only=True) if each.wants_somebody]
    undecided = {(each.batch_id, each.vessel or 1): each.todo for each in found if each.kind == FindingKind.DEVIATION}
    return [
        Part(
            _("Will not get cold by itself"),
            _("Whatever is cooling is forecast to be cold in time."),
            tuple(line for batch in batches for line in _cooling(session, batch, site, undecided)),
        ),
        Part(
            _("Time is up before somebody is back"),
            _("No discard time passes before {time}.").format(time=clock_time(back_ms, site.zone)),
            tuple(line for batch in batches for line in _times(session, batch, site, now_ms, back_ms)),
        ),
        Part(
            _("Nobody measures it"),
            _("Every batch that runs has a probe that speaks for it."),
            tuple(line for batch in batches for line in _unmeasured(batch, site)),
        ),
        Part(
            _("Questions that nobody has answered"),
            _("The watch asks nothing."),
            tuple(
                Line(_named(batch, vessel), ask, _("Look, and answer it on the Bench."), _page(batch))
                for batch in batches
                for vessel, ask in batch.doubts
            ),
        ),
        Part(
            _("Probes that are silent or faulty"),
            _("Every probe that is placed speaks."),
            tuple(_finding(each) for each in found if each.kind == FindingKind.SYSTEM and each.probe_id),
        ),
        Part(
            _("Findings that nobody has dealt with"),
            _("Nothing is open."),
            tuple(_finding(each) for each in found if each.kind in {FindingKind.DEVIATION, FindingKind.NOT_SHOWN}),
        ),
        Part(
            _("Units that are drifting"),
            _("No unit warns."),
            tuple(_finding(each) for each in found if each.kind == FindingKind.SOON and each.unit_id),
        ),
        out_of_use_part(session, now_ms, site),
    ]


def _cooling(
    session: Session, batch: BatchView, site: SiteView, undecided: Mapping[tuple[int | None, int], str]
) -> Iterator[Line]:
    """Return a line for each vessel that is not forecast, surely, to be cold in time.

    Nobody is asked to cool what is `undecided`: in a deviation that nobody has dealt with yet, with what to do about that.
    """
    known = {(each.vessel, each.clause): each for each in forecasts(session, batch.id)}
    told: set[int] = set()
    for state, due_ms in _running_out(session, batch.id):
        vessel = state.vessel or 1
        if state.process not in COLD_IN_TIME or vessel in told:
            continue
        clause = from_facts(state.facts)
        wanted = level(clause.level_c, site.scale) if clause.level_c is not None else ""
        words = _outlook(known.get((vessel, state.clause)), due_ms, wanted, site)
        if words:
            told.add(vessel)
            todo = undecided.get((batch.id, vessel)) or _before_leaving(session, batch.id, state.process)
            yield Line(_named(batch, vessel), words, todo, _page(batch))


def _before_leaving(session: Session, batch_id: int, process: str) -> str:
    """Say what helps a cooling now, and what becomes of it if nothing does."""
    todo, step = advised(session, batch_id, FindingKind.SOON, process), plan_step(session, batch_id, process)
    last = _(_LEAVE)
    if step is not None:
        last = _("What nobody can get cold before leaving, by the plan: {action}").format(action=step.action)
    return f"{todo} {last}"


def _outlook(made: ForecastState | None, due_ms: int, wanted: str, site: SiteView) -> str:
    """Say why a level may not be reached in time; nothing where the whole forecast is in time."""
    limit = _("{temperature} by {time}").format(temperature=wanted, time=clock_words(due_ms, site.zone))
    if made is None or made.reaches is None:
        why = "" if made is None or not made.reason else f": {made.reason}"
        return _("{limit}, and there is no forecast yet{why}").format(limit=limit, why=why)
    if not made.reaches or made.expected_ms is None:
        return _("{limit}; as things stand it will not get there").format(limit=limit)
    if made.expected_ms > due_ms:
        return _("{limit}; as it cools now about {time}: it will miss").format(
            limit=limit, time=clock_words(made.expected_ms, site.zone)
        )
    if made.latest_ms is None or made.latest_ms > due_ms:
        return _("{limit}; as it cools now about {time}, and it may miss").format(
            limit=limit, time=clock_time(made.expected_ms, site.zone)
        )
    return ""


def _times(session: Session, batch: BatchView, site: SiteView, now_ms: int, back_ms: int) -> Iterator[Line]:
    """Return a line for each discard time that passes while nobody is there."""
    for each in batch.discard:
        if now_ms - MS_PER_MINUTE <= each.at_ms <= back_ms:
            words = _("to be used up by {time} ({clause}: {why})").format(
                time=each.words(site.zone), clause=_(each.clause), why=each.why
            )
            todo = advised(session, batch.id, FindingKind.SOON, *processes_of(each))
            yield Line(batch.title, words, todo, _page(batch))


def processes_of(discard: Discard) -> tuple[str, ...]:
    """Return the processes by which food is advised upon whose time ends."""
    return (Matter.DATE_MARKING,) if discard.whole_day else UNDER


def _running_out(session: Session, batch_id: int) -> list[tuple[ClauseState, int]]:
    """Return the clauses that are not decided, with the safe end of when they are due, the earliest first. [ms]."""
    found = []
    for state in clause_states(session, batch_id=batch_id):
        due = next((at for at in from_facts(state.facts).due or () if at is not None), None)
        if due is not None and state.verdict == Verdict.OPEN:
            found.append((state, due))
    return sorted(found, key=lambda each: (each[1], each[0].vessel or 1))


def _unmeasured(batch: BatchView, site: SiteView) -> Iterator[Line]:
    """Return a line where no probe watches a batch of which something is asked, or none that speaks for all of it."""
    clauses = [clause for curve in batch.curves for clause in curve.clauses]
    if clauses and all(clause.verdict is Verdict.NONE for clause in clauses):
        return
    standing = [placed for placed in batch.placements if placed.to_ms is None]
    apart = len({each.vessel for each in standing}) < batch.vessels and not any(each.slowest for each in standing)
    if not standing:
        last = next((curve.last_c for curve in batch.curves if curve.last_c is not None), None)
        words = _("no probe is in it") + (
            ""
            if last is None
            else "; " + _("last measured {temperature}").format(temperature=temperature(last, site.scale))
        )
        yield Line(batch.title, words, _BY_HAND, _page(batch))
    elif apart:
        todo = _("Say which vessel cools slowest and put the probe there, or measure the others by hand.")
        yield Line(
            batch.title,
            _("{measured}, and nothing is shown of the others").format(measured=batch.measured),
            todo,
            _page(batch),
        )


def _finding(found: FindingView) -> Line:
    return Line(found.title, found.reason, found.todo, f"/findings?finding={found.id}")


def _named(batch: BatchView, vessel: int) -> str:
    return (
        _("{batch}, vessel {vessel} of {vessels}").format(batch=batch.title, vessel=vessel, vessels=batch.vessels)
        if batch.vessels > 1
        else batch.title
    )


def _page(batch: BatchView) -> str:
    return f"/batches?batch={batch.id}"
