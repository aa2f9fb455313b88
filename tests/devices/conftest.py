"""A real broker for the simulated probes."""

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.support.mosquitto import mosquitto


def until(condition: Callable[[], bool], seconds: float = 15) -> None:
    """Wait for a condition."""
    for _ in range(int(seconds / 0.02)):
        if condition():
            return
        time.sleep(0.02)
    pytest.fail("what was waited for did not come")


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[str]:
    """The address of a real broker on a free port of the loopback."""
    with mosquitto(tmp_path / "broker") as running:
        yield running.url
