"""The running kitchen, once on SQLite and once on PostgreSQL."""

from collections.abc import Iterator

import pytest

from tests.endtoend.kitchen import Kitchen, running_kitchen
from tests.support.postgres import postgres_cluster


@pytest.fixture(scope="module", params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)])
def kitchen(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Kitchen]:
    """A whole system that runs for the tests of one module."""
    directory = tmp_path_factory.mktemp("kitchen")
    if request.param == "sqlite":
        with running_kitchen(directory, None) as running:
            yield running
        return
    with postgres_cluster() as cluster, running_kitchen(directory, cluster.url(cluster.create())) as running:
        yield running
