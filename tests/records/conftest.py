"""A store with a site of our own invention."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from holdwatch.clock import to_ms
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.register import set_site

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


@pytest.fixture
def store(empty_store: Store) -> Store:
    """Open a fresh store of a kitchen that nothing has happened in."""
    set_up_site(empty_store)
    return empty_store
