"""``holdwatch export``."""

import csv
import json
from pathlib import Path

from tests.support.commands import refused, succeed


def test_a_file_and_what_its_columns_mean(kitchen: Path, tmp_path: Path) -> None:
    """They lie beside each other; what cannot be printed is refused."""
    here = ("--data", kitchen)
    assert succeed("export", "events", "-o", tmp_path / "done.csv", *here) == ""
    with (tmp_path / "done.csv").open(encoding="utf-8", newline="") as file:
        (head, *rows) = list(csv.reader(file))
    about = json.loads((tmp_path / "done.csv.dictionary.json").read_text(encoding="utf-8"))
    assert head == [column["name"] for column in about["columns"]]
    assert (about["holds"], about["form"], about["site_time_zone"]) == ("events", "csv", "America/Denver")
    assert "batch-started" in {row[head.index("kind")] for row in rows}
    succeed("export", "readings", "--format", "parquet", "-o", tmp_path / "x.parquet", "--probe", "p1", *here)
    assert (tmp_path / "x.parquet").read_bytes()[:4] == b"PAR1"
    assert "name it with -o" in refused("export", "readings", "--format", "parquet", *here)
