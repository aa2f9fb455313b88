"""Running ``holdwatch`` as a person does."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

from typer.testing import CliRunner, Result

from holdwatch.cli.main import app

__all__ = ["SITE", "begin", "holdwatch", "init", "printed", "refused", "start", "succeed", "typed"]

SITE = ("--site", "Linden Street Patisserie", "--timezone", "America/Denver", "--limits", "us-food-code-2022")


def holdwatch(*words: object) -> Result:
    """Run a command in this process."""
    return CliRunner().invoke(app, [str(word) for word in words], prog_name="holdwatch")


def succeed(*words: object) -> str:
    """Run a command that must succeed, and return what it printed."""
    result = holdwatch(*words)
    assert result.exit_code == 0, result.output
    assert result.stderr == ""
    return result.stdout


def typed(line: str, *words: object) -> Result:
    """Run a command in this process with a line typed into it."""
    return CliRunner().invoke(app, [str(word) for word in words], input=line, prog_name="holdwatch")


def printed(*words: object) -> Any:
    """Run a command with ``--json``, and return what it printed."""
    return json.loads(succeed(*words, "--json"))


def refused(*words: object, status: int = 1) -> str:
    """Run a command that must be refused in one line, and return that line."""
    result = holdwatch(*words)
    assert result.exit_code == status, result.output
    lines = result.stderr.splitlines()
    assert len(lines) == 1, result.stderr
    assert lines[0].startswith("holdwatch: ")
    assert "Traceback" not in result.output
    return lines[0]


def init(data: Path) -> Path:
    """Make a data directory, and return it."""
    succeed("init", "--data", data, *SITE)
    return data


def begin(data: Path) -> Path:
    """Make a data directory with a unit, a probe and a batch that it watches."""
    init(data)
    succeed("unit", "add", "Walk-in 1", "--kind", "walk-in", "--data", data)
    succeed("probe", "add", "p1", "--medium", "food", "--data", data)
    succeed("batch", "start", "--product", "Pastry cream", "--lot", "L1", "--probe", "p1", "--data", data)
    return data


def start(*words: object, **environment: str) -> subprocess.Popen[str]:
    """Start ``holdwatch`` as a process of its own."""
    command = [sys.executable, "-m", "holdwatch", *(str(word) for word in words)]
    known = {name: value for name, value in os.environ.items() if not name.startswith("HOLDWATCH_")}
    return subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env={**known, **environment}
    )
