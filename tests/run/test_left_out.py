"""A test that is left out is told on a person's machine, and fails in CI."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

HOOKS = Path(__file__).parents[1] / "support" / "left_out.py"
SKIPS = {
    "in a test": "import pytest\ndef test_x(): pytest.skip('no broker here')\n",
    "in a fixture": "import pytest\n@pytest.fixture\ndef f(): pytest.skip('no broker here')\ndef test_x(f): pass\n",
    "in a file": "import pytest\npytest.skip('no broker here', allow_module_level=True)\n",
}


@pytest.mark.parametrize("where", SKIPS)
def test_left_out_test_fails_in_ci_alone(tmp_path: Path, where: str) -> None:
    """Wherever it is left out, CI notices, with the reason."""
    shutil.copy(HOOKS, tmp_path / "conftest.py")
    (tmp_path / "test_it.py").write_text(SKIPS[where], encoding="utf-8")
    known = {name: value for name, value in os.environ.items() if name not in {"CI", "PYTEST_ADDOPTS"}}
    command = [sys.executable, "-m", "pytest", "-q", "-rA", "-p", "no:cacheprovider", "-c", os.devnull, str(tmp_path)]
    by_status = {}
    for ci in ({}, {"CI": "true"}):
        done = subprocess.run(
            command, env={**known, **ci}, cwd=tmp_path, capture_output=True, text=True, check=False, timeout=60
        )
        by_status[bool(ci)] = done
        assert "no broker here" in done.stdout
    assert by_status[True].returncode in {1, 2}, by_status[True].stdout
    assert by_status[False].returncode in {0, 5}, by_status[False].stdout
