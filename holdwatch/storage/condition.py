"""What tells how a probe itself is doing: when its last readings came, and its messages that held no temperature."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from sqlmodel import Session, col, select

from holdwatch.storage.driver import fetch
from holdwatch.storage.tables import Probe, SetAsideMessage

__all__ = ["Arrived", "recent_arrivals", "recent_refusals"]

_ROW = np.dtype([("at_ms", np.int64), ("lag_ms", np.int64), ("flags", np.int64)])
_RECENT = "SELECT at_ms, lag_ms, flags FROM reading WHERE probe_id = ? AND at_ms <= ? ORDER BY at_ms DESC LIMIT ?"


@dataclass(frozen=True, eq=False)
class Arrived:
    """A probe's last readings in order of their instants; arrays of one length."""

    at_ms: NDArray[np.int64]
    received_ms: NDArray[np.int64]
    flags: NDArray[np.int64]
    """Each a ``ReadingFlag``."""

    def __len__(self) -> int:
        return len(self.at_ms)

    def only(self, mask: NDArray[np.bool_]) -> "Arrived":
        """Return some of them."""
        return Arrived(self.at_ms[mask], self.received_ms[mask], self.flags[mask])


def recent_arrivals(session: Session, probe_id: int, count: int, before_ms: int) -> Arrived:
    """Return a probe's last `count` readings at or before an instant, those that are not judged among them."""
    rows = fetch(session, _RECENT, (probe_id, before_ms, count), _ROW)[::-1]
    at_ms = np.ascontiguousarray(rows["at_ms"])
    return Arrived(at_ms, at_ms + rows["lag_ms"], np.ascontiguousarray(rows["flags"]))


def recent_refusals(session: Session, probe: Probe, since_ms: int, count: int) -> list[SetAsideMessage]:
    """Return a known probe's last messages since an instant that held no temperature, in order of their arrival."""
    message = SetAsideMessage
    query = (
        select(message)
        .where(
            message.topic == probe.topic,
            message.received_ms >= since_ms,
            col(message.detail).startswith(f"{probe.code}: ", autoescape=True),
        )
        .order_by(col(message.id).desc())
        .limit(count)
    )
    return list(reversed(session.exec(query).all()))
