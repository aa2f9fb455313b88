"""Whether readings of a span were taken away: what was found of it stands then, and nothing changes it any more."""

from sqlmodel import Session, col, select

from holdwatch.clock import MS_PER_DAY
from holdwatch.storage.chain_tables import ThinnedDay
from holdwatch.storage.keeping import KEPT, Kind
from holdwatch.storage.sealing import day_of

__all__ = ["is_thinned"]


def is_thinned(session: Session, first_ms: int, last_ms: int, now_ms: int) -> bool:
    """Return whether readings of a span were taken away: then what was found of it stands, and is not judged again.

    Whose readings they were makes no difference: food is also judged by the air around it.
    """
    if first_ms > now_ms - (KEPT[Kind.READINGS].floor_days or 0) * MS_PER_DAY:
        return False  # too young: it is asked at every look
    within = col(ThinnedDay.day).between(day_of(first_ms), day_of(last_ms))
    return session.exec(select(ThinnedDay.id).where(within).limit(1)).first() is not None
