"""Corrections on reading: raw values stay as they came; what is judged and shown is ``slope · raw + offset``."""

from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np
from numpy.typing import NDArray
from sqlmodel import Session, col, or_, select

from holdwatch.storage.tables import Correction

__all__ = ["corrected", "corrections_of", "edges_of", "supposing"]

_SUPPOSED = "holdwatch supposed correction"


def corrections_of(session: Session, probe_id: int, first_ms: int, last_ms: int) -> list[Correction]:
    """Return the corrections that cover any instant of a span, in the order they were recorded."""
    query = select(Correction).where(
        Correction.probe_id == probe_id,
        Correction.from_ms <= last_ms,
        or_(col(Correction.to_ms).is_(None), col(Correction.to_ms) >= first_ms),
    )
    found = list(session.exec(query.order_by(col(Correction.id))))
    supposed: Correction | None = session.info.get(_SUPPOSED)
    if supposed is not None and supposed.probe_id == probe_id:
        found.append(supposed)
    return found


@contextmanager
def supposing(session: Session, correction: Correction) -> Iterator[None]:
    """Read in a session as if one more correction had been recorded last; nothing is written."""
    session.info[_SUPPOSED] = correction
    try:
        yield
    finally:
        del session.info[_SUPPOSED]


def corrected(
    corrections: list[Correction], at_ms: NDArray[np.int64], celsius: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return what was measured at each instant, in order of time; the correction recorded last counts. [°C]."""
    slope = np.ones(len(at_ms), dtype=np.float64)
    offset_c = np.zeros(len(at_ms), dtype=np.float64)
    for correction in corrections:
        low = np.searchsorted(at_ms, correction.from_ms, side="left")
        high = len(at_ms) if correction.to_ms is None else np.searchsorted(at_ms, correction.to_ms, side="right")
        slope[low:high], offset_c[low:high] = correction.slope, correction.offset_c
    return slope * celsius + offset_c


def edges_of(corrections: list[Correction]) -> list[int]:
    """Return the instants at which a correction may change: the first corrected one, and the first after the last."""
    starts = [correction.from_ms for correction in corrections]
    return sorted({*starts, *(c.to_ms + 1 for c in corrections if c.to_ms is not None)})
