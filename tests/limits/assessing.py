"""Ask ``holdwatch assess`` about readings, as another program would."""

import json
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from typer.testing import CliRunner

from holdwatch.cli.main import app as holdwatch
from holdwatch.clock import to_iso

__all__ = ["EXIT", "assess"]

EXIT = {"met": 0, "missed": 1, "unproven": 3, "open": 3, "none": 4}


def assess(
    path: Path,
    readings: Iterable[tuple[int, float]],
    unit: str,
    process: str,
    limits: str,
    *,
    declared: Iterable[tuple[str, int]] = (),
    more: Sequence[str] = (),
) -> tuple[dict[str, Any], int]:
    """Write readings (ms, degrees of the unit F or C) as a file, and return what is answered, and the exit status."""
    lines = [f"{to_iso(at)},{degrees!r}" for at, degrees in readings]
    path.write_text("\n".join([f"time,temperature_{unit.lower()}", *lines, ""]), encoding="utf-8")
    words = ["assess", str(path), "--process", process, "--limits", limits, "--json", *more]
    for key, at in declared:
        words += ["--declare", f"{key}={to_iso(at)}"]
    done = CliRunner().invoke(holdwatch, words)
    assert done.stdout, done.stderr
    return json.loads(done.stdout), done.exit_code
