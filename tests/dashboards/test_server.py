"""What the server of the screens does once for all of its pages."""

import subprocess
import sys
from pathlib import Path

import pytest

from dashboards import data


def test_the_settings_are_read_again_when_their_file_or_the_environment_changes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pages ask for them all the time, so they are not read each time."""
    monkeypatch.setenv("HOLDWATCH_DATA", str(tmp_path))
    assert data.settings().reload_every_min == 60
    assert data.settings() is data.settings()
    (tmp_path / "holdwatch.toml").write_text("reload_every_min = 30\n", encoding="utf-8")
    assert data.settings().reload_every_min == 30
    monkeypatch.setenv("HOLDWATCH_RELOAD_EVERY_MIN", "45")
    assert data.settings().reload_every_min == 45


def test_what_was_loaded_is_left_out_of_the_search_for_garbage() -> None:
    """Libraries are most of what there is: Python's own count of what it does not look through tells."""
    counts = "import gc, dashboards.serve; print(gc.get_freeze_count(), len(gc.get_objects()))"
    done = subprocess.run([sys.executable, "-c", counts], capture_output=True, text=True, check=True)
    frozen, looked_through = map(int, done.stdout.split())
    assert frozen > looked_through
