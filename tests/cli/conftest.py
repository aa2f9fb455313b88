"""A data directory to work on."""

from pathlib import Path

import pytest

from tests.support.commands import begin, init


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """Make a data directory with nothing but its site."""
    return init(tmp_path / "kitchen")


@pytest.fixture
def kitchen(tmp_path: Path) -> Path:
    """Make a data directory with a unit, a probe and a batch."""
    return begin(tmp_path / "kitchen")
