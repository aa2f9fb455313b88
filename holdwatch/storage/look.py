"""What one look at the store needs again and again, asked for once.

A page or a paper asks much the same of every batch and every unit, and for so small a question making the statement and
its rows takes many times as long as the database does. While a look lasts nothing is written in its session, so that no
answer changes: it is kept until the look is over, and what is asked of several batches or units can be gathered before,
in one question. Where no look was begun nothing is kept.
"""

from collections.abc import Callable, Hashable, Iterable, Iterator
from contextlib import contextmanager
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

from sqlmodel import Session, col
from sqlmodel.sql.expression import SelectOfScalar

__all__ = ["asked_once", "at_hand", "gather", "once", "one_look"]

_LOOK = "holdwatch look"
P = ParamSpec("P")
R = TypeVar("R")


@contextmanager
def one_look(session: Session) -> Iterator[None]:
    """Keep rows that are asked for in a session until the block ends; a look inside of another is part of it."""
    if _LOOK in session.info:
        yield
        return
    session.info[_LOOK] = {}
    try:
        yield
    finally:
        del session.info[_LOOK]


def once(session: Session, what: Hashable, ask: Callable[[], R]) -> R:
    """Return the answer to a question, asked once a look; `what` names it, with all that it is asked of."""
    kept = session.info.get(_LOOK)
    if kept is None:
        return ask()
    if what not in kept:
        kept[what] = ask()
    answer: R = kept[what]
    return answer


def asked_once(ask: Callable[Concatenate[Session, P], list[R]]) -> Callable[Concatenate[Session, P], list[R]]:
    """Make of a question for rows one that is asked once a look; what is asked must be hashable."""

    @wraps(ask)
    def asking(session: Session, /, *args: P.args, **kwargs: P.kwargs) -> list[R]:
        what = (ask, args, tuple(sorted(kwargs.items())))
        return list(once(session, what, lambda: ask(session, *args, **kwargs)))

    return asking


def gather(session: Session, what: str, query: SelectOfScalar[R], column: Any, numbers: Iterable[int]) -> list[R]:
    """Ask in one question for the rows that have one of some numbers in a column, and have them at hand while a look lasts.

    Parameters
    ----------
    what : their name, such as "events of a batch".
    query : what is asked for a single number, in its order.

    Returns
    -------
    list
        The rows that were not at hand before.
    """
    kept: dict[Hashable, list[R]] = session.info.get(_LOOK, {})
    missing = {number for number in numbers if (what, number) not in kept}
    if not missing:
        return []
    rows = list(session.exec(query.where(col(column).in_(missing))))
    kept.update({(what, number): [] for number in missing})
    for row in rows:
        kept[what, getattr(row, column.key)].append(row)
    return rows


def at_hand(session: Session, what: str, number: int | None) -> list[Any] | None:
    """Return the rows that were gathered for a number; ``None`` where they were not, and are to be asked for."""
    found = session.info.get(_LOOK, {}).get((what, number))
    return None if found is None else list(found)
