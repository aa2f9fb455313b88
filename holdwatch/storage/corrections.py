"""Corrections on reading: raw values stay as they came; what is judged and shown is ``slope · raw + offset``."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from sqlmodel import Session

from holdwatch.storage.driver import tuples
from holdwatch.storage.tables import Correction

__all__ = ["Corrected", "corrected", "corrections_of", "edges_of", "supposing"]

_COVERING = (
    "SELECT from_ms, to_ms, slope, offset_c FROM correction"
    " WHERE probe_id = ? AND from_ms <= ? AND (to_ms IS NULL OR to_ms >= ?) ORDER BY id"
)
_SUPPOSED = "holdwatch supposed correction"


class Corrected(NamedTuple):
    """What holds of a probe's raw values from one instant to another, both included. [ms]."""

    from_ms: int
    to_ms: int | None
    slope: float
    offset_c: float


def corrections_of(session: Session, probe_id: int, first_ms: int, last_ms: int) -> list[Corrected]:
    """Return the corrections that cover any instant of a span, in the order they were recorded."""
    found = [Corrected(*row) for row in tuples(session, _COVERING, (probe_id, last_ms, first_ms))]
    supposed: Correction | None = session.info.get(_SUPPOSED)
    if supposed is not None and supposed.probe_id == probe_id:
        found.append(Corrected(supposed.from_ms, supposed.to_ms, supposed.slope, supposed.offset_c))
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
    corrections: list[Corrected], at_ms: NDArray[np.int64], celsius: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return what was measured at each instant, in order of time; the correction recorded last counts. [°C]."""
    slope = np.ones(len(at_ms), dtype=np.float64)
    offset_c = np.zeros(len(at_ms), dtype=np.float64)
    for correction in corrections:
        low = np.searchsorted(at_ms, correction.from_ms, side="left")
        high = len(at_ms) if correction.to_ms is None else np.searchsorted(at_ms, correction.to_ms, side="right")
        slope[low:high], offset_c[low:high] = correction.slope, correction.offset_c
    return slope * celsius + offset_c


def edges_of(corrections: list[Corrected]) -> list[int]:
    """Return the instants at which a correction may change: the first corrected one, and the first after the last."""
    starts = [correction.from_ms for correction in corrections]
    return sorted({*starts, *(c.to_ms + 1 for c in corrections if c.to_ms is not None)})
