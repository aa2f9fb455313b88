"""A store with a site, a finding and two who are told."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.register import set_site

START_MS = 1_795_500_000_000


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """Open a fresh store of a kitchen of our own invention."""
    opened = open_store(store_url(tmp_path, None), migrate=True)
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
    yield opened
    opened.close()
