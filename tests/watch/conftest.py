"""Stores for the watch: a real SQLite file and a real PostgreSQL database, each with a site set."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from holdwatch.storage.engine import open_store, store_url
from tests.support.postgres import Cluster, postgres_cluster
from tests.watch.kitchen import Kitchen

DATABASES = ["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)]


@pytest.fixture(scope="session")
def cluster() -> Iterator[Cluster]:
    """A PostgreSQL server of our own, with a migrated database to copy, called ``template_store``."""
    with postgres_cluster() as started:
        started.create(name="template_store")
        open_store(started.url("template_store"), migrate=True).close()
        yield started


@pytest.fixture
def kitchen(tmp_path: Path) -> Iterator[Kitchen]:
    """A kitchen on SQLite."""
    made = Kitchen.on(store_url(tmp_path, None), migrate=True)
    yield made
    made.store.close()


@pytest.fixture(params=DATABASES)
def make_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator["Urls"]:
    """Something that gives the URL of one fresh migrated store after another, on either database."""
    cluster = request.getfixturevalue("cluster") if request.param == "postgresql" else None
    urls = Urls(tmp_path, cluster)
    yield urls
    urls.drop()


class Urls:
    """Fresh migrated stores."""

    def __init__(self, path: Path, cluster: Cluster | None) -> None:
        self._path, self._cluster = path, cluster
        self._made: list[str] = []

    def __call__(self) -> str:
        """Make one, and give its URL."""
        if self._cluster is not None:
            name = self._cluster.create("template_store")
            self._made.append(name)
            return self._cluster.url(name)
        directory = self._path / f"store{len(self._made)}"
        directory.mkdir()
        self._made.append(directory.name)
        url = store_url(directory, None)
        open_store(url, migrate=True).close()
        return url

    def drop(self) -> None:
        """Drop the databases."""
        if self._cluster is not None:
            for name in self._made:
                self._cluster.drop(name)
