"""Roll-ups: what each five minutes and each hour hold of a probe, from raw judged values.

A touched five-minute bucket is computed again from its readings, and the hours around it from their
five-minute buckets, in the transaction of the readings. So a doubled, late or contested one can never be counted twice.
Corrections are no part of them: they apply on reading.
"""

import json
from collections.abc import Iterable
from functools import cache

from sqlalchemy import TextClause, text
from sqlmodel import Session, col, delete

from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.storage.tables import ReadingFlag, Rollup1h, Rollup5m

__all__ = ["HOUR_MS", "SHORT_MS", "bucket_of", "recompute_rollups", "touch"]

SHORT_MS = 5 * MS_PER_MINUTE
HOUR_MS = MS_PER_HOUR
_AT_ONCE = 5_000

_TOUCHED = {
    "sqlite": "SELECT json_extract(value, '$[0]') AS probe_id, json_extract(value, '$[1]') AS bucket_ms"
    " FROM json_each(:touched)",
    "postgresql": "SELECT probe_id, bucket_ms FROM"
    " unnest(CAST(:probes AS integer[]), CAST(:buckets AS bigint[])) AS t(probe_id, bucket_ms)",
}
# Both walk the touched buckets first and seek each one's rows by the primary key.
_JOIN = {
    "sqlite": "touched t CROSS JOIN {table} r WHERE r.probe_id = t.probe_id"
    " AND r.{instant} >= t.bucket_ms AND r.{instant} < t.bucket_ms + {width}",
    "postgresql": "touched t CROSS JOIN LATERAL (SELECT * FROM {table} WHERE probe_id = t.probe_id"
    " AND {instant} >= t.bucket_ms AND {instant} < t.bucket_ms + {width} OFFSET 0) r WHERE true",
}
_SHORT = """
WITH touched AS ({touched}),
raw AS (
    SELECT t.probe_id, t.bucket_ms, r.at_ms, r.celsius FROM {readings} AND (r.flags & {not_judged}) = 0
    UNION ALL SELECT t.probe_id, t.bucket_ms, r.at_ms, r.celsius FROM {contested}
),
steps AS (
    SELECT *, at_ms - lag(at_ms) OVER (PARTITION BY probe_id, bucket_ms ORDER BY at_ms) AS step_ms FROM raw
)
INSERT INTO rollup_5m (probe_id, bucket_ms, count, first_ms, last_ms, min_c, mean_c, max_c, hole_ms)
SELECT probe_id, bucket_ms, count(*), min(at_ms), max(at_ms), min(celsius), avg(celsius), max(celsius),
    coalesce(max(step_ms), 0)
FROM steps WHERE true GROUP BY probe_id, bucket_ms
"""
_HOUR = """
WITH touched AS ({touched}),
steps AS (
    SELECT r.*, t.bucket_ms AS hour_ms,
        r.first_ms - lag(r.last_ms) OVER (PARTITION BY t.probe_id, t.bucket_ms ORDER BY r.bucket_ms) AS step_ms
    FROM {shorts}
)
INSERT INTO rollup_1h (probe_id, bucket_ms, count, first_ms, last_ms, min_c, mean_c, max_c, hole_ms)
SELECT probe_id, hour_ms, sum(count), min(first_ms), max(last_ms), min(min_c), sum(mean_c * count) / sum(count), max(max_c),
    max(CASE WHEN step_ms > hole_ms THEN step_ms ELSE hole_ms END)
FROM steps WHERE true GROUP BY probe_id, hour_ms
"""
_INSTEAD = """
ON CONFLICT (probe_id, bucket_ms) DO UPDATE SET count = excluded.count, first_ms = excluded.first_ms,
    last_ms = excluded.last_ms, min_c = excluded.min_c, mean_c = excluded.mean_c, max_c = excluded.max_c,
    hole_ms = excluded.hole_ms
"""


def bucket_of(at_ms: int, width_ms: int) -> int:
    """Return the start of the bucket that an instant falls into."""
    return at_ms - at_ms % width_ms


def touch(session: Session, instants: Iterable[tuple[int, int]]) -> None:
    """Compute again every bucket that holds one of the (probe id, instant) pairs."""
    shorts = sorted({(probe_id, bucket_of(at_ms, SHORT_MS)) for probe_id, at_ms in instants})
    hours = sorted({(probe_id, bucket_of(at_ms, HOUR_MS)) for probe_id, at_ms in shorts})
    dialect = session.connection().dialect.name
    _run(session, _short_statement(dialect), dialect, shorts)
    _run(session, _hour_statement(dialect), dialect, hours)


def recompute_rollups(session: Session, probe_id: int, first_ms: int, last_ms: int) -> None:
    """Compute the roll-ups of a span again from raw, whatever they held."""
    low, high = bucket_of(first_ms, HOUR_MS), bucket_of(last_ms, HOUR_MS) + HOUR_MS
    for table in (Rollup5m, Rollup1h):
        session.exec(
            delete(table).where(
                col(table.probe_id) == probe_id, col(table.bucket_ms) >= low, col(table.bucket_ms) < high
            )
        )
    query = text(
        "SELECT DISTINCT at_ms - at_ms % :width FROM (SELECT at_ms FROM reading"
        " WHERE probe_id = :probe AND at_ms >= :low AND at_ms < :high UNION ALL SELECT at_ms FROM contested"
        " WHERE probe_id = :probe AND at_ms >= :low AND at_ms < :high) AS instants"
    )
    found = session.connection().execute(query, {"width": SHORT_MS, "probe": probe_id, "low": low, "high": high})
    touch(session, [(probe_id, int(row[0])) for row in found])


def _run(session: Session, statement: TextClause, dialect: str, touched: list[tuple[int, int]]) -> None:
    connection = session.connection()
    for start in range(0, len(touched), _AT_ONCE):
        part = touched[start : start + _AT_ONCE]
        if dialect == "sqlite":
            connection.execute(statement, {"touched": json.dumps(part)})
        else:
            probes, buckets = zip(*part, strict=True)
            connection.execute(statement, {"probes": list(probes), "buckets": list(buckets)})


@cache
def _short_statement(dialect: str) -> TextClause:
    join = _JOIN[dialect]
    sql = _SHORT.format(
        touched=_TOUCHED[dialect],
        readings=join.format(table="reading", instant="at_ms", width=SHORT_MS),
        contested=join.format(table="contested", instant="at_ms", width=SHORT_MS),
        not_judged=int(ReadingFlag.NOT_JUDGED),
    )
    return text(sql + _INSTEAD)


@cache
def _hour_statement(dialect: str) -> TextClause:
    shorts = _JOIN[dialect].format(table="rollup_5m", instant="bucket_ms", width=HOUR_MS)
    return text(_HOUR.format(touched=_TOUCHED[dialect], shorts=shorts) + _INSTEAD)
