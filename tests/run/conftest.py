"""A kitchen's data directory and its open store."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from holdwatch.settings import Settings, load_settings
from holdwatch.storage.engine import Store, open_store
from tests.support.commands import begin
from tests.support.mosquitto import free_port


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    """Settings of a data directory with a unit, a probe and a batch, on free ports."""
    return load_settings(data=begin(tmp_path / "kitchen"), port=free_port(), broker_port=free_port())


@pytest.fixture
def store(settings: Settings) -> Iterator[Store]:
    """Open its store."""
    opened = open_store(settings.store_url)
    yield opened
    opened.close()
