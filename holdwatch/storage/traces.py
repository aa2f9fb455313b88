"""A probe's pen trace over any span: few points, and never without the extremes or the holes.

Short spans are raw. Longer ones come from the five-minute or the hourly roll-ups, read raw where a bucket lies
across an end of the span or a correction changes inside it. Neighbouring buckets are merged
until few enough are left, but never across a hole.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from sqlmodel import Session

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.readings import Series
from holdwatch.storage.corrections import Corrected, corrected, corrections_of, edges_of
from holdwatch.storage.driver import fetch, tuples
from holdwatch.storage.ranges import load_series
from holdwatch.storage.rollups import HOUR_MS, SHORT_MS, bucket_of

__all__ = ["Trace", "load_buckets", "load_trace"]

_HOLE_MS = 20 * MS_PER_MINUTE  # buckets this far apart are never merged
_SHORT_A_POINT = 12  # more five-minute buckets a point than this, and the hours are asked
_ROW = np.dtype(
    [
        ("bucket_ms", np.int64),
        ("count", np.int64),
        ("first_ms", np.int64),
        ("last_ms", np.int64),
        ("min_c", np.float64),
        ("mean_c", np.float64),
        ("max_c", np.float64),
        ("hole_ms", np.int64),
    ]
)
_BUCKETS = (
    "SELECT bucket_ms, count, first_ms, last_ms, min_c, mean_c, max_c, hole_ms FROM {table}"
    " WHERE probe_id = ? AND bucket_ms >= ? AND bucket_ms < ? ORDER BY bucket_ms"
)
# In order, and whether judged or not: so both databases walk the key and stop, and neither plans for a whole year.
_FEW = "SELECT 1 FROM reading WHERE probe_id = ? AND at_ms >= ? AND at_ms <= ? ORDER BY at_ms LIMIT 1 OFFSET ?"


@dataclass(frozen=True, eq=False)
class Trace:
    """Points of a pen trace in order of time; each stands for the readings from `first_ms` to `last_ms`.

    Parameters
    ----------
    at_ms : the middle of the readings that a point stands for. [ms]
    min_c, mean_c, max_c : of those readings, corrected. [°C]
    hole_ms : the longest hole between two of them; 0 for a single one. [ms]
    raw : whether every point is one reading.
    """

    at_ms: NDArray[np.int64]
    min_c: NDArray[np.float64]
    mean_c: NDArray[np.float64]
    max_c: NDArray[np.float64]
    hole_ms: NDArray[np.int64]
    first_ms: NDArray[np.int64]
    last_ms: NDArray[np.int64]
    raw: bool

    def __len__(self) -> int:
        return len(self.at_ms)


def load_trace(session: Session, probe_id: int, first_ms: int, last_ms: int, points: int = 500) -> Trace:
    """Return a probe's trace over a span, both ends included, in about `points` points (more where holes part it)."""
    points = max(points, 2)
    if _is_few(session, probe_id, first_ms, last_ms, 2 * points):
        return _raw(load_series(session, probe_id, first_ms, last_ms))
    width = SHORT_MS if (last_ms - first_ms) <= points * _SHORT_A_POINT * SHORT_MS else HOUR_MS
    rows = _rows(session, probe_id, first_ms, last_ms, width)
    return _trace(_merge(rows, _groups(rows, points)))


def load_buckets(session: Session, probe_id: int, first_ms: int, last_ms: int) -> NDArray[np.void]:
    """Return what each five minutes of a span held, corrected, also of a day that was thinned since.

    Fields: bucket_ms, count, first_ms, last_ms, min_c, mean_c, max_c, hole_ms.
    """
    return _rows(session, probe_id, first_ms, last_ms, SHORT_MS)


def _is_few(session: Session, probe_id: int, first_ms: int, last_ms: int, limit: int) -> bool:
    return not tuples(session, _FEW, (probe_id, first_ms, last_ms, limit))


def _raw(series: Series) -> Trace:
    zero = np.zeros(len(series), dtype=np.int64)
    at_ms, celsius = series.at_ms, series.celsius
    return Trace(at_ms, celsius, celsius, celsius, zero, at_ms, at_ms, raw=True)


def _rows(session: Session, probe_id: int, first_ms: int, last_ms: int, width: int) -> NDArray[np.void]:
    """Return the buckets of a span, corrected; those that roll-ups cannot answer for are made of raw readings."""
    low, high = bucket_of(first_ms, width), bucket_of(last_ms, width) + width
    table = "rollup_5m" if width == SHORT_MS else "rollup_1h"
    rows = fetch(session, _BUCKETS.format(table=table), (probe_id, low, high), _ROW)
    corrections = corrections_of(session, probe_id, low, high)
    # A bucket holds all that is asked of it if nothing of it lies outside, and one offset holds for all of it.
    partial = {bucket_of(edge, width) for edge in (first_ms, last_ms + 1, *edges_of(corrections)) if edge % width}
    partial = {bucket for bucket in partial if low <= bucket < high}
    whole = rows[~np.isin(rows["bucket_ms"], list(partial))]
    _shift(whole, corrections)
    parts = [_bucket(session, probe_id, max(b, first_ms), min(b + width - 1, last_ms), width) for b in sorted(partial)]
    joined = np.concatenate([whole, *(part for part in parts if len(part))])
    return joined[np.argsort(joined["first_ms"], kind="stable")]


def _shift(rows: NDArray[np.void], corrections: list[Corrected]) -> None:
    for name in ("min_c", "mean_c", "max_c"):  # no slope turns a scale round, so the least stays the least
        rows[name] = corrected(corrections, rows["bucket_ms"], rows[name])


def _bucket(session: Session, probe_id: int, first_ms: int, last_ms: int, width: int) -> NDArray[np.void]:
    """Return one bucket made of the raw readings of a span; none where there are no readings."""
    series = load_series(session, probe_id, first_ms, last_ms)
    if not len(series):
        return np.empty(0, dtype=_ROW)
    at_ms, celsius = series.at_ms, series.celsius
    hole_ms = int(np.diff(at_ms).max()) if len(at_ms) > 1 else 0
    start_ms = bucket_of(first_ms, width)
    found = (start_ms, len(at_ms), at_ms[0], at_ms[-1], celsius.min(), celsius.mean(), celsius.max(), hole_ms)
    return np.array([found], dtype=_ROW)


def _groups(rows: NDArray[np.void], points: int) -> NDArray[np.intp]:
    """Return where each group of neighbouring buckets begins."""
    size = -(-len(rows) // points)
    starts = np.zeros(len(rows), dtype=bool)
    starts[::size] = True
    starts[1:] |= (rows["first_ms"][1:] - rows["last_ms"][:-1]) > _HOLE_MS
    return np.flatnonzero(starts)


def _merge(rows: NDArray[np.void], starts: NDArray[np.intp]) -> NDArray[np.void]:
    """Merge each group of buckets into one, keeping its extremes and its longest hole."""
    if not len(rows):
        return rows
    merged = rows[starts]
    merged["count"] = np.add.reduceat(rows["count"], starts)
    merged["last_ms"] = np.maximum.reduceat(rows["last_ms"], starts)
    merged["min_c"] = np.minimum.reduceat(rows["min_c"], starts)
    merged["max_c"] = np.maximum.reduceat(rows["max_c"], starts)
    merged["mean_c"] = np.add.reduceat(rows["mean_c"] * rows["count"], starts) / merged["count"]
    before = np.zeros(len(rows), dtype=np.int64)  # the hole in front of each bucket, inside its group
    before[1:] = rows["first_ms"][1:] - rows["last_ms"][:-1]
    before[starts] = 0
    merged["hole_ms"] = np.maximum.reduceat(np.maximum(rows["hole_ms"], before), starts)
    return merged


def _trace(rows: NDArray[np.void]) -> Trace:
    first_ms, last_ms = rows["first_ms"].copy(), rows["last_ms"].copy()
    return Trace(
        at_ms=first_ms + (last_ms - first_ms) // 2,
        min_c=rows["min_c"].copy(),
        mean_c=rows["mean_c"].copy(),
        max_c=rows["max_c"].copy(),
        hole_ms=rows["hole_ms"].copy(),
        first_ms=first_ms,
        last_ms=last_ms,
        raw=False,
    )
