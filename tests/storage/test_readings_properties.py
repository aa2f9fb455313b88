"""What holds of readings in whatever order, doubled or contested, they come."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text
from sqlmodel import Session, SQLModel, select

from holdwatch.readings import Series
from holdwatch.storage.engine import Store
from holdwatch.storage.ids import id_of
from holdwatch.storage.readings import NewReading, load_series, load_trace, write_history, write_readings
from holdwatch.storage.register import add_correction
from holdwatch.storage.tables import ReadingFlag, Rollup1h, Rollup5m
from tests.storage.kitchen import BY, NOW, open_kitchen

pytestmark = pytest.mark.long

HOUR = 3_600_000
EVER = (0, 2**60)

_instants = st.integers(min_value=NOW - 3 * HOUR, max_value=NOW).map(lambda at: at - at % 40_000)
_values = st.sampled_from([-2.5, 3.25, 4.0, 4.1, 60.0])
_flags = st.sampled_from([0, 0, 0, int(ReadingFlag.ARRIVAL_INSTANT), int(ReadingFlag.UNKNOWN_INSTANT)])
_reading = st.builds(NewReading, st.sampled_from([1, 2]), _instants, _values, st.just(NOW), _flags)
_groups = st.lists(st.lists(_reading, max_size=25), max_size=6)

_slow = settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])


@contextmanager
def _emptied(store: Store) -> Iterator[None]:
    """Give an empty store to each example."""
    with store.write() as session:
        for table in reversed(SQLModel.metadata.sorted_tables):
            session.connection().execute(text(f"DELETE FROM {table.name}"))  # noqa: S608 - names of our own tables
    yield


def _by_hand(series: Series, width: int) -> list[dict[str, Any]]:
    """Roll a series up in the plainest way."""
    found = []
    for bucket in sorted(set((series.at_ms - series.at_ms % width).tolist())):
        inside = (series.at_ms >= bucket) & (series.at_ms < bucket + width)
        at_ms, celsius = series.at_ms[inside], series.celsius[inside]
        found.append(
            {
                "bucket_ms": bucket,
                "count": len(at_ms),
                "first_ms": int(at_ms.min()),
                "last_ms": int(at_ms.max()),
                "min_c": float(celsius.min()),
                "mean_c": pytest.approx(float(celsius.mean())),
                "max_c": float(celsius.max()),
                "hole_ms": int(np.diff(at_ms).max()) if len(at_ms) > 1 else 0,
            }
        )
    return found


def _rollups(session: Session, table: type[Rollup5m] | type[Rollup1h], probe_id: int) -> list[dict[str, Any]]:
    rows = session.exec(select(table).where(table.probe_id == probe_id).order_by(table.bucket_ms)).all()  # type: ignore[arg-type]
    return [row.model_dump(exclude={"probe_id"}) for row in rows]


@given(groups=_groups)
@_slow
def test_rollups_equal_those_made_by_hand(store: Store, groups: list[list[NewReading]]) -> None:
    """After any late, doubled, contested or unjudged writes each bucket is what its readings make it."""
    with _emptied(store):
        for group in groups:
            with store.write() as session:
                write_readings(session, group, NOW)
        with store.read() as session:
            for probe_id in (1, 2):
                series = load_series(session, probe_id, *EVER)
                assert _rollups(session, Rollup5m, probe_id) == _by_hand(series, HOUR // 12)
                assert _rollups(session, Rollup1h, probe_id) == _by_hand(series, HOUR)


@given(readings=st.lists(_reading.filter(lambda r: not r.flags & ReadingFlag.NOT_JUDGED), max_size=40), data=st.data())
@_slow
def test_series_is_the_same_in_whatever_order_it_came(
    store: Store, readings: list[NewReading], data: st.DataObject
) -> None:
    """The same readings give the same series, in any order and in any groups."""
    found: list[list[list[float]]] = []
    for order in (readings, data.draw(st.permutations(readings)), readings[::-1]):
        size = data.draw(st.integers(min_value=1, max_value=max(1, len(order))))
        with _emptied(store):
            for start in range(0, len(order), size):
                with store.write() as session:
                    write_readings(session, order[start : start + size], NOW)
            with store.read() as session:
                series = [load_series(session, probe_id, *EVER) for probe_id in (1, 2)]
        found.append([[*each.at_ms.tolist(), *each.celsius.tolist()] for each in series])
    assert found[0] == found[1] == found[2]
    expected = {(r.probe_id, r.at_ms, r.celsius) for r in readings}
    assert sum(len(each) // 2 for each in found[0]) == len(expected)


@given(
    seed=st.integers(min_value=0, max_value=2**32 - 1),
    first=st.integers(min_value=0, max_value=6 * HOUR),
    length=st.integers(min_value=0, max_value=60 * HOUR),
    points=st.sampled_from([2, 7, 50, 500]),
    corrected=st.booleans(),
)
@settings(_slow, max_examples=40)
def test_load_trace_never_loses_an_extreme_or_a_hole(
    store: Store, seed: int, first: int, length: int, points: int, *, corrected: bool
) -> None:
    """Whatever the zoom: the same lowest and highest value, each reading inside one point, no hole bridged."""
    random = np.random.default_rng(seed)
    start = NOW - 60 * HOUR
    at_ms = start + np.cumsum(random.choice([20_000, 60_000, 90_000, 3 * HOUR], 1_500, p=[0.4, 0.3, 0.298, 0.002]))
    at_ms = at_ms[at_ms <= NOW]
    with _emptied(store):
        with store.write() as session:
            probe = open_kitchen(session).food
            number = id_of(probe)
            write_history(session, number, at_ms, np.round(random.normal(4, 3, len(at_ms)), 2), NOW)
            if corrected:
                middle = int(at_ms[len(at_ms) // 2])
                add_correction(session, probe, from_ms=middle, to_ms=None, offset_c=7.5, by=BY, why="test", now_ms=NOW)
        with store.read() as session:
            low, high = start + first, start + first + length
            series = load_series(session, number, low, high)
            trace = load_trace(session, number, low, high, points)
    _check_trace(series, trace)


def _check_trace(series: Series, trace: Any) -> None:
    assert (len(trace) > 0) == (len(series) > 0)
    assert (np.diff(trace.at_ms) >= 0).all()
    assert (trace.first_ms[1:] > trace.last_ms[:-1]).all()
    for i in range(len(trace)):
        inside = series.between(int(trace.first_ms[i]), int(trace.last_ms[i]))
        assert trace.first_ms[i] <= trace.at_ms[i] <= trace.last_ms[i]
        assert trace.min_c[i] == pytest.approx(inside.celsius.min())
        assert trace.max_c[i] == pytest.approx(inside.celsius.max())
        assert trace.mean_c[i] == pytest.approx(inside.celsius.mean())
        assert trace.hole_ms[i] == (np.diff(inside.at_ms).max() if len(inside) > 1 else 0)
    seen = sum(len(series.between(int(f), int(t))) for f, t in zip(trace.first_ms, trace.last_ms, strict=True))
    assert seen == len(series)
