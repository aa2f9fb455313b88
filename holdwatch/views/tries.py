"""Every try that was refused, with and without a PIN, for a manager to look at."""

from dataclasses import dataclass

from sqlmodel import Session

from holdwatch.language import N_, _
from holdwatch.storage.ids import id_of
from holdwatch.storage.people import people
from holdwatch.storage.people_tables import TryOutcome
from holdwatch.storage.refusals import refusals
from holdwatch.storage.signing import tries

__all__ = ["RefusedTry", "refused_tries"]

_WHY = {
    TryOutcome.BEGUN: N_("a PIN that was not looked at to the end"),
    TryOutcome.WRONG: N_("wrong PIN"),
    TryOutcome.TOO_SOON: N_("too soon after wrong PINs"),
    TryOutcome.NO_PIN: N_("no PIN has been set"),
    TryOutcome.NOT_ALLOWED: N_("not with this role, or works here no more"),
}


@dataclass(frozen=True)
class RefusedTry:
    """One try that was refused, or the same one several times."""

    at_ms: int
    who: str
    """As it was said; empty where nobody said."""
    what: str
    place: str
    why: str
    times: int


def refused_tries(session: Session, *, since_ms: int = 0) -> list[RefusedTry]:
    """Return every refused try since an instant, the newest first."""
    names = {id_of(person): person.name for person in people(session, ended=True)}
    found = [
        RefusedTry(each.at_ms, names[each.person_id], each.act or "sign", each.place, _(_WHY[outcome]), each.times)
        for each in tries(session, since_ms=since_ms)
        if (outcome := TryOutcome(each.outcome)) in _WHY
    ]
    found += [
        RefusedTry(each.at_ms, each.who, each.what, each.place, each.why, each.times)
        for each in refusals(session, since_ms=since_ms)
    ]
    return sorted(found, key=lambda each: -each.at_ms)
