"""What holds for every test."""

import os
import tempfile
from functools import cache
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from hypothesis import HealthCheck, settings

from holdwatch.people import pins
from holdwatch.storage import engine
from holdwatch.storage.engine import Store, store_url
from holdwatch.storage.migrating import bring_up
from tests.support.left_out import pytest_make_collect_report, pytest_runtest_makereport
from tests.support.temporary import temporary_root

__all__ = ["pytest_make_collect_report", "pytest_runtest_makereport"]


def pytest_configure() -> None:
    """Put the directories of the tests where they are made and removed soonest; time no example of a property."""
    os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(temporary_root()))
    settings.register_profile("untimed", deadline=None, suppress_health_check=[HealthCheck.too_slow])
    settings.load_profile("untimed")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the files that take longest, so that no process is left alone with one of them at the end."""
    items.sort(key=lambda item: item.get_closest_marker("long") is None)


@pytest.fixture(autouse=True)
def _no_settings_from_outside(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the settings of whoever runs the tests away from them."""
    for name in [name for name in os.environ if name.upper().startswith("HOLDWATCH_")]:
        monkeypatch.delenv(name)


@pytest.fixture(autouse=True)
def _new_stores_are_copies(monkeypatch: pytest.MonkeyPatch) -> None:
    """Copy one migrated SQLite store instead of migrating each: the same file, a quarter of a second sooner.

    What tests migrating itself has a fixture of this name that does nothing.
    """

    def copy_or_bring_up(store: Store) -> None:
        file = Path(str(store.parsed.database))
        if store.is_sqlite and file.parent.is_dir() and not file.exists():
            file.write_bytes(_migrated_store())
        bring_up(store)

    monkeypatch.setattr(engine, "_migrate", copy_or_bring_up)


@pytest.fixture(autouse=True)
def _pins_are_hashed_lightly(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hash PINs by Argon2id with its least cost, a thousand times sooner: most tests are about who may do what.

    What tests the cost itself has a fixture of this name that does nothing.
    """
    light = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(pins, "_hasher", lambda: light)


@cache
def _migrated_store() -> bytes:
    """Return the file of a store that has just been made."""
    with tempfile.TemporaryDirectory() as name:
        store = Store(engine.parse_url(store_url(Path(name), None)))
        bring_up(store)
        store.close()
        return Path(str(store.parsed.database)).read_bytes()
