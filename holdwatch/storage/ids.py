"""The number of a row that is in the store."""

from typing import Protocol

__all__ = ["id_of"]


class _Row(Protocol):
    """A row of a small table."""

    id: int | None


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
