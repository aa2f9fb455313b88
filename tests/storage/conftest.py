"""Stores to test on: a real SQLite file and a real PostgreSQL database, fresh for each test."""

from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from holdwatch.storage.engine import Store, open_store, store_url
from tests.support.postgres import Cluster, postgres_cluster

DATABASES = ["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)]


@pytest.fixture(scope="session")
def cluster() -> Iterator[Cluster]:
    """A PostgreSQL server of our own, with a migrated database to copy, called ``template_store``."""
    with postgres_cluster() as started:
        started.create(name="template_store")
        open_store(started.url("template_store"), migrate=True).close()
        yield started


@pytest.fixture
def postgres_url(cluster: Cluster) -> Iterator[str]:
    """The URL of a fresh migrated PostgreSQL database."""
    name = cluster.create("template_store")
    yield cluster.url(name)
    cluster.drop(name)


@pytest.fixture(params=DATABASES)
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The URL of a fresh migrated store, on either database."""
    if request.param == "postgresql":
        found: str = request.getfixturevalue("postgres_url")
        return found
    made = store_url(tmp_path, None)
    open_store(made, migrate=True).close()
    return made


@pytest.fixture
def store(url: str) -> Iterator[Store]:
    """A fresh store, on either database."""
    with ExitStack() as stack:
        opened = open_store(url)
        stack.callback(opened.close)
        yield opened


@pytest.fixture
def sqlite_store(tmp_path: Path) -> Iterator[Store]:
    """A fresh store on SQLite."""
    opened = open_store(store_url(tmp_path, None), migrate=True)
    yield opened
    opened.close()
