"""A demonstration that was started once, on a store of its own."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from holdwatch.demo.plan import DemoPlan
from holdwatch.demo.start import prepare
from holdwatch.settings import Settings
from holdwatch.storage.engine import Store, open_store
from holdwatch.watch.rounds import Watch

T0 = 1_795_566_180_000
"""Tuesday 24 November 2026, 17:23 in Denver."""


@dataclass(frozen=True)
class Demo:
    """What a first start leaves behind."""

    data: Path
    plan: DemoPlan
    store: Store
    said: tuple[str, ...]


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Demo]:
    """The demonstration after its first start at T0; read it only."""
    data = tmp_path_factory.mktemp("demo")
    said: list[str] = []
    settings = Settings(data=data)
    plan = prepare(settings, said.append, clock=lambda: T0)
    store = open_store(settings.store_url)
    yield Demo(data, plan, store, tuple(said))
    store.close()


@contextmanager
def copied(demo: Demo, into: Path) -> Iterator[Demo]:
    """Give a copy of a demonstration in another directory."""
    demo.store.checkpoint()
    for name in ("holdwatch.db", "demo.json"):
        (into / name).write_bytes((demo.data / name).read_bytes())
    store = open_store(Settings(data=into).store_url)
    try:
        yield replace(demo, data=into, store=store)
    finally:
        store.close()


@pytest.fixture
def copy(demo: Demo, tmp_path: Path) -> Iterator[Demo]:
    """A copy of the demonstration to change."""
    with copied(demo, tmp_path) as found:
        yield found


@pytest.fixture(scope="session")
def watched(demo: Demo, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Demo]:
    """The demonstration after the watch has gone round until nothing more waits; read it only."""
    with copied(demo, tmp_path_factory.mktemp("watched")) as found:
        watch = Watch(found.store, "http://127.0.0.1:8501", None, give_way=lambda _: None)
        for number in range(60):
            report = watch.go_round(T0 + number * 1_000)
            if number > 0 and not (report.arrivals or report.judged or report.due or report.unfinished):
                break
        else:
            pytest.fail("the watch does not come to rest")
        yield found
