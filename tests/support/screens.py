"""What browser tests share: a real Chromium, and the screens of an empty kitchen."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from subprocess import Popen

import pytest
from playwright.sync_api import Browser, sync_playwright

from holdwatch.run.screens import healthy
from tests.support.chromium import chromium_path
from tests.support.commands import init, start
from tests.support.mosquitto import free_port
from tests.support.waiting import wait_for

__all__ = ["browser", "served", "serving"]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """A real Chromium."""
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium_path(), args=["--no-sandbox", "--disable-gpu"])
        yield opened
        opened.close()


@contextmanager
def served(directory: Path, **environment: str) -> Iterator[tuple[Path, int]]:
    """Serve the screens of an empty kitchen; give its data directory and the port."""
    data, port = init(directory), free_port()
    with serving(data, port, **environment):
        yield data, port


@contextmanager
def serving(data: Path, port: int, **environment: str) -> Iterator[Popen[str]]:
    """Serve the screens of a kitchen until the block ends; give the process."""
    process = start("dashboard", "--data", data, "--port", port, **environment)
    try:
        wait_for(lambda: process.poll() is not None or healthy("127.0.0.1", port), within_s=60, what="the screens")
        assert process.poll() is None, process.stderr
        yield process
    finally:
        process.terminate()
        process.communicate(timeout=20)
