"""Every row of the record that is written, changed or taken away adds a line to the chain, in the same transaction.

It happens below everything that writes: whoever adds a table need not think of it, and cannot forget it. What is no
part of the record is named here with its reason. One transaction writes at a time (`engine`), so the chain never forks.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from sqlalchemy import event, insert, inspect
from sqlmodel import Session, SQLModel, col, select

from holdwatch.storage.chain_tables import Link
from holdwatch.storage.every_table import every_table
from holdwatch.trust.lines import NOTHING_BEFORE, Line, digest_of

__all__ = [
    "LEFT_OUT",
    "NOT_CHAINED",
    "ChainedSession",
    "begin_chain",
    "chained_tables",
    "content_of",
    "head",
    "key_of_row",
]

NOT_CHAINED: Mapping[str, str] = {
    "link": "it is the chain",
    "reading": "sealed by the day",
    "contested": "sealed by the day",
    "late_reading": "a queue; a supplement names what was in it",
    "rollup_5m": "computed again from the readings",
    "rollup_1h": "computed again from the readings",
    "set_aside": "only the newest are held",
    "heard": "what speaks and is not added; adding it is in the chain",
    "arrival": "a queue",
    "clause_state": "computed again from readings and events",
    "forecast_state": "computed again from readings and events",
    "watch_state": "computed again from readings and events",
    "alert": "a queue; every try is in alert_attempt",
    "role_status": "how the program is doing now",
    "secret": "keys",
    "screen": "which browsers are signed in, and when each was last touched; the shifts there are in the chain",
}
"""The tables that are no part of the record, and why."""

LEFT_OUT: Mapping[str, frozenset[str]] = {
    "person": frozenset({"pin_hash"}),
    "contact": frozenset({"url"}),
}
"""What is not written into the chain, which may be handed out: what opens something."""

_PENDING = "holdwatch changed rows"


class ChainedSession(Session):
    """A session that writes; what it changes of the record goes into the chain when it is committed."""


def content_of(row: SQLModel) -> dict[str, Any]:
    """Return what a row holds, as the chain keeps it."""
    left_out = LEFT_OUT.get(_table(row), frozenset())
    return {c.key: getattr(row, c.key) for c in inspect(type(row)).columns if c.key not in left_out}


def key_of_row(row: SQLModel) -> str:
    """Return the primary key of a row as text."""
    return ":".join(str(part) for part in inspect(type(row)).primary_key_from_instance(row))


def chained_tables() -> dict[str, type[SQLModel]]:
    """Return the tables that are part of the record, by name."""
    return {name: table for name, table in every_table().items() if name not in NOT_CHAINED}


def head(session: Session) -> tuple[int, str]:
    """Return how many lines the chain has, and the digest of the last."""
    query = select(Link.position, Link.digest).order_by(col(Link.position).desc()).limit(1)
    return session.exec(query).first() or (0, NOTHING_BEFORE)


def begin_chain(session: Session) -> None:
    """Take what a store already holds into an empty chain, as it stands; nothing happens where a chain has begun."""
    if head(session)[0]:
        return
    rows = [row for table in chained_tables().values() for row in session.exec(select(table))]
    _append(session, [("chain", "begun", {"rows": len(rows)}), *(_entry(row) for row in rows)])


def _table(row: SQLModel) -> str:
    return str(inspect(type(row)).local_table.name)


def _entry(row: SQLModel) -> tuple[str, str, dict[str, Any] | None]:
    return _table(row), key_of_row(row), content_of(row)


def _append(session: Session, entries: Iterable[tuple[str, str, dict[str, Any] | None]]) -> None:
    rows = list(_links(*head(session), entries))
    if rows:
        session.connection().execute(insert(Link), rows)


def _links(
    position: int, previous: str, entries: Iterable[tuple[str, str, dict[str, Any] | None]]
) -> Iterator[dict[str, Any]]:
    for table, row, content in entries:
        position += 1
        text = Line(position, previous, table, row, content).text()
        previous = digest_of(text)
        yield {"position": position, "table_name": table, "row": row, "text": text, "digest": previous}


# ---------------------------------------------------------------- what the library calls


def _gather(session: Session, _context: Any) -> None:
    """Remember what a flush wrote, in the order in which it was first touched."""
    changed: dict[tuple[str, str], SQLModel | None] = session.info.setdefault(_PENDING, {})
    for row in (*session.new, *(row for row in session.dirty if session.is_modified(row))):
        if _table(row) not in NOT_CHAINED:
            changed[_table(row), key_of_row(row)] = row
    for row in session.deleted:
        if _table(row) not in NOT_CHAINED:
            changed[_table(row), key_of_row(row)] = None


def _write_lines(session: Session) -> None:
    """Put what was changed into the chain, as it is now."""
    session.flush()
    changed: dict[tuple[str, str], SQLModel | None] = session.info.pop(_PENDING, {})
    _append(
        session,
        [(table, key, None if row is None else content_of(row)) for (table, key), row in changed.items()],
    )


def _forget(session: Session, _transaction: Any) -> None:
    session.info.pop(_PENDING, None)


event.listen(ChainedSession, "after_flush", _gather)
event.listen(ChainedSession, "before_commit", _write_lines)
event.listen(ChainedSession, "after_soft_rollback", _forget)
