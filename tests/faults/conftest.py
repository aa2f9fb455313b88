"""A store with three probes, a broker, and processes to be killed."""

import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from holdwatch.storage.engine import Store
from tests.intake.conftest import make_store
from tests.support.mosquitto import Mosquitto, mosquitto

ROOT = Path(__file__).parents[2]


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """Open a store with three probes."""
    opened = make_store(tmp_path)
    yield opened
    opened.close()


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Mosquitto]:
    """Run a broker."""
    with mosquitto(tmp_path / "broker") as running:
        yield running


@contextmanager
def process(module: str, *arguments: object, before: tuple[str, ...] = ()) -> Iterator[subprocess.Popen[bytes]]:
    """Run a module of these tests in a process of its own, and end it with the block."""
    command = [*before, sys.executable, "-m", f"tests.faults.{module}", *map(str, arguments)]
    started = subprocess.Popen(command, cwd=ROOT)
    try:
        yield started
    finally:
        if started.poll() is None:
            started.send_signal(signal.SIGTERM)
            try:
                started.wait(20)
            except subprocess.TimeoutExpired:
                started.kill()
                started.wait(5)
