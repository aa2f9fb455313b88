"""A store with a site, a finding and two who are told."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.register import set_site
from tests.storage.conftest import cluster, postgres_url

__all__ = ["START_MS", "cluster", "postgres_url", "sqlite_store", "store"]

START_MS = 1_795_500_000_000


def _set_up(opened: Store) -> None:
    """Set the site."""
    with opened.write() as session:
        set_site(
            session,
            name="Linden Street Patisserie",
            timezone="America/Denver",
            limits="us-food-code-2022",
            unit="F",
            from_ms=START_MS,
            now_ms=START_MS,
            by="console user ana",
        )


@pytest.fixture
def sqlite_store(tmp_path: Path) -> Iterator[Store]:
    """Open a fresh store of a kitchen of our own invention, on SQLite."""
    opened = open_store(store_url(tmp_path, None), migrate=True)
    _set_up(opened)
    yield opened
    opened.close()


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)])
def store(request: pytest.FixtureRequest) -> Iterator[Store]:
    """Open a fresh store of that kitchen, on either database."""
    if request.param == "sqlite":
        yield request.getfixturevalue("sqlite_store")
        return
    opened = open_store(request.getfixturevalue("postgres_url"))
    _set_up(opened)
    yield opened
    opened.close()
