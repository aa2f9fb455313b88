"""What the Set-up page asks of how long records are kept, and what it records; like `data`, for one part of a page."""

from dashboards.data import now_ms, signed_by, store, told
from holdwatch.people.roles import Right
from holdwatch.storage.handling import Signer
from holdwatch.storage.keeping import KEPT, Keeping, Kind, keeping_history, keeping_of, parse_period, set_keeping

__all__ = ["history", "keep_for", "kept"]


def kept() -> list[Keeping]:
    """Return how long each kind of record is kept now."""
    with store().read() as session:
        return [keeping_of(session, kind) for kind in KEPT]


def history() -> list[Keeping]:
    """Return every period that was ever set, the oldest first."""
    with store().read() as session:
        return keeping_history(session)


@told
def keep_for(period: str, *, why: str, by: str, pin: str) -> bool:
    """Say how long readings are kept from now on."""
    days, signer = parse_period(period), signed_by(by, pin, Right.SET_UP)
    with store().write() as session:
        set_keeping(
            session,
            Kind.READINGS,
            days,
            Signer(by if signer is None else signer.name, signer, signed=signer is not None),
            why=why,
            now_ms=now_ms(),
        )
    return True
