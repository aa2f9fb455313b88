"""The database's own answers, without the rows of a table made of them: for many readings, and for very small questions."""

from typing import Any

import numpy as np
from numpy.typing import NDArray
from sqlmodel import Session

__all__ = ["fetch", "tuples"]


def fetch(session: Session, sql: str, parameters: tuple[Any, ...], row: np.dtype[Any]) -> NDArray[Any]:
    """Return the rows of a query as an array, straight from the driver: a month is a quarter of a million rows."""
    connection = session.connection()
    driver: Any = connection.connection.driver_connection
    if connection.dialect.name == "sqlite":
        return np.fromiter(driver.execute(sql, parameters), dtype=row)
    with driver.cursor(binary=True) as cursor:
        cursor.execute(sql.replace("?", "%s"), parameters)
        return np.fromiter(cursor.fetchall(), dtype=row)  # one row at a time it takes twice as long


def tuples(session: Session, sql: str, parameters: tuple[Any, ...]) -> list[tuple[Any, ...]]:
    """Return the rows of a query as tuples, with what the session has not written yet."""
    if session.autoflush:
        session.flush()
    connection = session.connection()
    driver: Any = connection.connection.driver_connection
    if connection.dialect.name == "sqlite":
        found: list[tuple[Any, ...]] = driver.execute(sql, parameters).fetchall()
        return found
    with driver.cursor(binary=True) as cursor:
        return list(cursor.execute(sql.replace("?", "%s"), parameters).fetchall())
