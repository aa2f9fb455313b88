"""Deliveries as they came to the door: measured, held against the receiving limits, taken or refused."""

from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from holdwatch.errors import ConfigError
from holdwatch.language import N_, _, written_day
from holdwatch.storage.batching import note, start_batch
from holdwatch.storage.events import events, record_event
from holdwatch.storage.ids import id_of
from holdwatch.storage.inforce import limits_of
from holdwatch.storage.names import check_instant, check_name, check_temperature
from holdwatch.storage.said import DELIVERIES, check_day
from holdwatch.storage.site import site_at
from holdwatch.storage.tables import Event, EventKind

__all__ = ["Delivered", "deliveries", "record_delivery"]


@dataclass(frozen=True)
class Delivered:
    """What came, from whom, how it was, and whether it was taken."""

    what: str
    supplier: str
    part: str | None
    """What it is held against: one of ``storage.said.DELIVERIES``; ``None`` where no temperature is asked."""
    celsius: float | None
    """Between two packs, or of shell eggs the air around them; ``None`` where nobody measured. [°C]"""
    taken: bool
    why: str = ""
    """Why it was refused, or taken although the limit was not kept."""
    use_by: str = ""
    lot: str = ""
    """The batch that it becomes; empty where it becomes none."""


def record_delivery(session: Session, came: Delivered, *, at_ms: int, now_ms: int, today: date, by: str) -> Event:
    """Record a delivery; one that is taken may begin a batch, one that is refused never does.

    Parameters
    ----------
    came : what came.
    at_ms, now_ms : when it came, and the present. [ms]
    today : the site's local day on which it came.

    Raises
    ------
    ConfigError
        If something is missing or contradicts itself: a refusal without its reason, food beyond the limit or past its
        date that is taken without one, a lot for what was refused.
    NameTakenError
        If there is a batch of that lot.
    """
    check_instant(session, N_("the delivery"), at_ms, now_ms)
    what, supplier = check_name(N_("name of what came"), came.what), check_name(N_("supplier"), came.supplier)
    use_by, why = check_day(N_("use-by date"), came.use_by), came.why.strip()
    if came.celsius is not None:
        check_temperature(came.celsius)
    verdict, facts = _held(session, came, at_ms)
    _refuse(_missing(came, verdict, why, use_by, today))
    facts |= {"supplier": supplier, "taken": came.taken, "part": came.part, "use_by": use_by, "why": why}
    batch_id = _begin(session, came, what, verdict, use_by, at_ms, now_ms, by) if came.lot.strip() else None
    return record_event(
        session,
        EventKind.DELIVERED,
        at_ms=at_ms,
        now_ms=now_ms,
        by=by,
        batch_id=batch_id,
        celsius=came.celsius,
        text=what,
        facts={name: value for name, value in facts.items() if value not in {None, ""}},
    )


def deliveries(session: Session, first_ms: int, last_ms: int) -> list[Event]:
    """Return the deliveries of a span with both ends included, in the order in which they came. [ms]."""
    return events(session, since_ms=first_ms, until_ms=last_ms, kinds=[EventKind.DELIVERED])


def _held(session: Session, came: Delivered, at_ms: int) -> tuple[str, dict[str, object]]:
    """Hold a delivery against the receiving limits that were in force; return the verdict, and what is kept of it."""
    from holdwatch.quantities import Scale
    from holdwatch.readings import Medium
    from holdwatch.rules.receiving import judge_receiving
    from holdwatch.rules.words import Words

    if came.part is None:
        return "none", {"verdict": "none"}
    if came.part not in DELIVERIES:
        raise ConfigError(
            _("no delivery is held against {part!r}: use one of {known}").format(
                part=came.part, known=", ".join(DELIVERIES)
            )
        )
    site = site_at(session, at_ms)
    medium = Medium.AIR if came.part == "receiving-shell-eggs" else Medium.FOOD
    measured = float("nan") if came.celsius is None else came.celsius
    words = Words(when=lambda __: _("the door"), scale=Scale(site.unit))
    clause = judge_receiving(limits_of(session, site), came.part, measured, at_ms, medium=medium, words=words)
    said = _("nobody measured it") if came.celsius is None else clause.reason
    kept = {"clause": clause.clause, "requires": clause.requires, "says": said}
    return clause.verdict.value, {"verdict": clause.verdict.value, **kept}


def _missing(came: Delivered, verdict: str, why: str, use_by: str, today: date) -> str:
    """Return what is missing, or contradicts itself."""
    lot, over = came.lot.strip(), bool(use_by) and date.fromisoformat(use_by) < today
    refused = {
        _("what was refused becomes no batch: leave out the lot"): bool(lot),
        _("say why it was refused"): not why,
    }
    taken = {
        _("its use-by date, {use_by}, is over: refuse it").format(use_by=use_by and written_day(use_by)): over,
        _("the receiving limit was not kept: refuse it, or say why it is taken all the same"): verdict == "missed"
        and not why,
        _("shell eggs have a limit for the air around them: leave out the lot, and say which unit keeps them"): bool(
            lot
        )
        and came.part == "receiving-shell-eggs",
        _("of what needs no temperature control start the batch itself, with its evidence: leave out the lot"): bool(
            lot
        )
        and came.part is None,
    }
    return next((words for words, holds in (taken if came.taken else refused).items() if holds), "")


def _begin(
    session: Session, came: Delivered, what: str, verdict: str, use_by: str, at_ms: int, now_ms: int, by: str
) -> int:
    """Start the batch of what was taken, and note what it measured at the door."""
    begins = "hot-holding" if came.part == "receiving-hot" else "cold-holding"
    if came.part == "receiving-cold" and verdict == "missed":
        begins = "received-cooling"
    batch = start_batch(
        session, product=what, lot=came.lot, processes=[begins], use_by=use_by, at_ms=at_ms, now_ms=now_ms, by=by
    )
    note(
        session,
        batch,
        EventKind.RECEIVED,
        at_ms=at_ms,
        now_ms=now_ms,
        by=by,
        celsius=came.celsius,
        facts={"part": came.part},
    )
    return id_of(batch)


def _refuse(why: str) -> None:
    if why:
        raise ConfigError(why)
