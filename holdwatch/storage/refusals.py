"""Tries that were refused: kept, in a transaction of their own, for the refused one is undone."""

from sqlmodel import Session, col, select

from holdwatch.clock import MS_PER_HOUR
from holdwatch.storage.engine import Store
from holdwatch.storage.people_tables import Refusal

__all__ = ["keep_refusal", "refusals"]

_LONGEST = 200


def keep_refusal(store: Store, *, who: str, what: str, place: str, why: str, now_ms: int) -> None:
    """Keep a try; the same one again within an hour only counts, so that nobody fills the store with them."""
    who, what, why = who[:_LONGEST], what[:_LONGEST], why[:_LONGEST]
    with store.write() as session:
        query = select(Refusal).where(
            Refusal.who == who,
            Refusal.what == what,
            Refusal.place == place,
            Refusal.why == why,
            Refusal.at_ms > now_ms - MS_PER_HOUR,
        )
        last = session.exec(query.order_by(col(Refusal.id).desc()).limit(1)).first()
        if last is None:
            session.add(Refusal(at_ms=now_ms, who=who, what=what, place=place, why=why))
        else:
            last.times += 1


def refusals(session: Session, *, since_ms: int = 0) -> list[Refusal]:
    """Return the refused tries since an instant, in order; those with a PIN are `signing.tries`."""
    return list(session.exec(select(Refusal).where(Refusal.at_ms >= since_ms).order_by(col(Refusal.id))))
