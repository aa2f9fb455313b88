"""How long commands take to start, against an interpreter that does nothing.

Run ``python -m benchmarks.start_up``. Help and ``assess`` are meant to stay under half a second, everything else under one.
"""

import json
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

from benchmarks.support import ROOT, Spread, alternate, is_small, say, seconds_of, table, times_of
from holdwatch.clock import MS_PER_MINUTE, to_iso
from tests.support.commands import begin

T0 = 1_795_532_400_000  # 24 November 2026, 15:00 UTC
_PROGRAM = Path(sys.executable).with_name("holdwatch")


def main() -> None:
    """Measure, and print the section of the page."""
    runs = 3 if is_small() else 15
    with tempfile.TemporaryDirectory() as name:
        data = begin(Path(name) / "kitchen")
        record = write_record(Path(name) / "record.csv")
        cases: list[tuple[str, Sequence[object], Callable[[str], bool], float]] = [
            ("--help", ("--help",), lambda told: "assess" in told, 0.5),
            ("version", ("version",), lambda told: told.strip() != "", 0.5),
            (
                "assess, 360 readings",
                ("assess", record, "--process", "cooling", "--limits", "us-food-code-2022", "--json"),
                lambda told: json.loads(told)["verdict"] == "met",
                0.5,
            ),
            (
                "probe list",
                ("probe", "list", "--json", "--data", data),
                lambda told: json.loads(told)[0]["id"] == "p1",
                1.0,
            ),
            (
                "batch list",
                ("batch", "list", "--json", "--data", data),
                lambda told: json.loads(told)[0]["lot"] == "L1",
                1.0,
            ),
            ("findings", ("findings", "--json", "--data", data), lambda told: json.loads(told) == [], 1.0),
            (
                "export readings",
                ("export", "readings", "--format", "jsonl", "--data", data),
                lambda told: told == "",
                1.0,
            ),
            ("watch --once", ("watch", "--once", "--data", data), lambda told: told.startswith("judged"), 1.0),
        ]
        bare, *told = alternate(
            runs,
            lambda: seconds_of(lambda: subprocess.run([sys.executable, "-c", "pass"], check=True)),
            *(_case(words, right) for _, words, right, _ in cases),
        )
    say(
        "## Starting up",
        "",
        f"A whole process, from its start to its end, {runs} times each, in turn; median (least–most). Each run's answer was"
        " read and was right.",
    )
    rows = [("ceiling: `python -c pass`", times_of(bare), "", "")]
    rows += [_row(name, spread, bare, promised) for (name, _, _, promised), spread in zip(cases, told, strict=True)]
    table(("command", "takes", "times the ceiling", "promised"), rows)


def _row(name: str, spread: Spread, bare: Spread, promised: float) -> tuple[str, str, str, str]:
    kept = "" if spread.median < promised else ", NOT KEPT HERE"
    return f"`holdwatch {name}`", times_of(spread), f"{spread.median / bare.median:.1f}", f"under {promised:g} s{kept}"


def _case(words: Sequence[object], right: Callable[[str], bool]) -> Callable[[], float]:
    """Return what runs a command, times it, and checks what it answers."""
    said: list[str] = []

    def run() -> None:
        command = [str(_PROGRAM), *map(str, words)]
        said.append(subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT).stdout)

    def measured() -> float:
        took = seconds_of(run)
        assert right(said[-1]), said[-1]
        return took

    return measured


def write_record(path: Path) -> Path:
    """Write a cooling of six hours that keeps both stages."""
    lines = [f"{to_iso(T0 + n * MS_PER_MINUTE)},{1 + 64 * 0.5 ** (n / 40):.2f}\n" for n in range(360)]
    path.write_text("time,temperature_c\n" + "".join(lines), encoding="utf-8")
    return path


if __name__ == "__main__":
    main()
