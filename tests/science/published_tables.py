"""Helpers of the tests of the formulas."""

import csv
from pathlib import Path

PUBLISHED = Path(__file__).parent.parent / "published"


def published_rows(name: str) -> list[dict[str, str]]:
    """Read a table of published values; the lines before its header name the source."""
    lines = (PUBLISHED / name).read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# source:"), f"{name} does not name its source"
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))
