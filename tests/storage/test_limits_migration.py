"""A store made before limits were kept by their text goes on as it was, on both databases."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from alembic import command
from sqlalchemy import text

from holdwatch.limits import load_limits
from holdwatch.storage.engine import Store, migrate, open_store, store_url
from holdwatch.storage.inforce import FileNow, file_now, limits_of
from holdwatch.storage.migrating import configuration
from holdwatch.storage.place import parse_url
from holdwatch.storage.register import set_site, site_at
from tests.storage.conftest import DATABASES
from tests.storage.kitchen import NOW
from tests.support.postgres import Cluster

_SITE = (
    'INSERT INTO site_version (from_ms, name, timezone, limits, unit, "by", recorded_ms)'
    " VALUES (0, 'Linden Street Patisserie', 'America/Denver', 'scotland', 'C', 'Mara', 1)"
)


@pytest.fixture
def _new_stores_are_copies() -> None:
    """Migrate each store here."""


@pytest.fixture(params=DATABASES)
def empty_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The URL of a database without tables."""
    if request.param == "sqlite":
        yield store_url(tmp_path, None)
        return
    cluster: Cluster = request.getfixturevalue("cluster")
    name = cluster.create()
    yield cluster.url(name)
    cluster.drop(name)


def test_site_of_before_keeps_its_limits_and_has_answered_nothing(empty_url: str) -> None:
    """Its limits are the file that it names, until limits are taken into force; who inspects was not said."""
    old = Store(parse_url(empty_url), pooled=False)
    with old.engine.execution_options(holdwatch_write=True).connect() as connection, connection.begin():
        command.upgrade(configuration(connection), "0002")
        connection.execute(text(_SITE))
    old.close()
    store = open_store(empty_url, migrate=True)
    try:
        with store.write() as session:
            site = site_at(session, None)
            assert (site.limits_digest, site.authority, site.raw_egg, site.susceptible) == ("", "", "", "")
            assert limits_of(session, site) == load_limits("scotland")
            assert file_now(session, site) is FileNow.SAME
            later = set_site(session, limits="scotland", from_ms=NOW, now_ms=NOW, by="Mara")
            assert later.limits_digest == load_limits("scotland").digest
            assert later.name == "Linden Street Patisserie"
        migrate(store)
    finally:
        store.close()
