"""A store with a site of our own invention."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from holdwatch.clock import to_ms
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.register import set_site
from tests.storage.conftest import cluster, postgres_url

__all__ = ["SITE_SET_MS", "ZONE", "cluster", "either_store", "empty_store", "postgres_url", "set_up_site", "store"]

ZONE = "America/Denver"
SITE_SET_MS = to_ms(datetime(2026, 10, 1, tzinfo=UTC))


@pytest.fixture
def empty_store(tmp_path: Path) -> Iterator[Store]:
    """Open a fresh store in which no site was set yet."""
    opened = open_store(store_url(tmp_path / "data", None), migrate=True)
    yield opened
    opened.close()


def set_up_site(store: Store) -> None:
    """Set the site, before anything happens in it."""
    with store.write() as session:
        set_site(
            session,
            name="Linden Street Patisserie",
            timezone=ZONE,
            limits="us-food-code-2022",
            unit="F",
            from_ms=SITE_SET_MS,
            now_ms=SITE_SET_MS,
            by="console user ana",
        )


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)])
def either_store(request: pytest.FixtureRequest) -> Iterator[Store]:
    """Open a fresh store of that kitchen, on either database."""
    if request.param == "sqlite":
        yield request.getfixturevalue("store")
        return
    opened = open_store(request.getfixturevalue("postgres_url"))
    set_up_site(opened)
    yield opened
    opened.close()


@pytest.fixture
def store(empty_store: Store) -> Store:
    """Open a fresh store of a kitchen that nothing has happened in."""
    set_up_site(empty_store)
    return empty_store
