"""Readings: written in bulk, read as arrays, rolled up by five minutes and by the hour."""

from holdwatch.storage.ranges import count_readings, last_readings, load_series, recent_instants
from holdwatch.storage.rollups import recompute_rollups
from holdwatch.storage.traces import Trace, load_trace
from holdwatch.storage.writing import NewReading, Written, write_history, write_readings

__all__ = [
    "NewReading",
    "Trace",
    "Written",
    "count_readings",
    "last_readings",
    "load_series",
    "load_trace",
    "recent_instants",
    "recompute_rollups",
    "write_history",
    "write_readings",
]
