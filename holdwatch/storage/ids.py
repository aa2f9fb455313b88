"""The number of a row that is in the store, and rows by their numbers."""

from collections.abc import Iterable
from typing import Protocol, TypeVar

from sqlmodel import Session, select

from holdwatch.storage.look import at_hand, gather

__all__ = ["id_of", "numbered"]


class _Row(Protocol):
    """A row of a small table."""

    id: int | None


R = TypeVar("R", bound=_Row)


def id_of(row: _Row) -> int:
    """Return the number of a row.

    Raises
    ------
    ValueError
        If the row was never written to the store.
    """
    if row.id is None:
        message = f"{row!r} is not in the store yet"
        raise ValueError(message)
    return row.id


def numbered(session: Session, table: type[R], numbers: Iterable[int | None]) -> dict[int, R]:
    """Return the rows of a table that have some numbers, in one question instead of one for each; ``None`` is nobody's.

    As long as they are kept, ``session.get`` finds them without asking.
    """
    wanted = {number for number in numbers if number is not None}
    found = {id_of(row): row for row in gather(session, table.__name__, select(table), table.id, wanted)}
    known = (at_hand(session, table.__name__, number) or [] for number in wanted - found.keys())
    return found | {id_of(row): row for rows in known for row in rows}
