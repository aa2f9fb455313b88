"""Corrections on reading: raw values stay as they came, what is judged and shown is raw plus offset."""

import numpy as np
from numpy.typing import NDArray
from sqlmodel import Session, col, or_, select

from holdwatch.storage.tables import Correction

__all__ = ["corrections_of", "edges_of", "offsets"]


def corrections_of(session: Session, probe_id: int, first_ms: int, last_ms: int) -> list[Correction]:
    """Return the corrections that cover any instant of a span, in the order they were recorded."""
    query = select(Correction).where(
        Correction.probe_id == probe_id,
        Correction.from_ms <= last_ms,
        or_(col(Correction.to_ms).is_(None), col(Correction.to_ms) >= first_ms),
    )
    return list(session.exec(query.order_by(col(Correction.id))))


def offsets(corrections: list[Correction], at_ms: NDArray[np.int64]) -> NDArray[np.float64]:
    """Return the offset at each instant, in order of time; the correction recorded last counts. [°C]."""
    found = np.zeros(len(at_ms), dtype=np.float64)
    for correction in corrections:
        low = np.searchsorted(at_ms, correction.from_ms, side="left")
        high = len(at_ms) if correction.to_ms is None else np.searchsorted(at_ms, correction.to_ms, side="right")
        found[low:high] = correction.offset_c
    return found


def edges_of(corrections: list[Correction]) -> list[int]:
    """Return the instants at which an offset may change: the first corrected one, and the first after the last."""
    starts = [correction.from_ms for correction in corrections]
    return sorted({*starts, *(c.to_ms + 1 for c in corrections if c.to_ms is not None)})
