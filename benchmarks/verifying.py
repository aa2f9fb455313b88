"""Telling whether ten million readings are those that were sealed, beside reading them alone.

Run ``python -m benchmarks.verifying``. The ceiling reads the same rows, with all that a seal is over, into arrays and stops.
"""

import tempfile
from pathlib import Path

from benchmarks.judging import A_DAY, EVERY_MS, FIRST_MS, fill
from benchmarks.storing import Opened, sqlite
from benchmarks.support import alternate, is_small, say, seconds_of, table
from holdwatch.clock import MS_PER_DAY
from holdwatch.records.verify import Verified, verify
from holdwatch.storage.ids import id_of
from holdwatch.storage.register import add_probe
from holdwatch.storage.sealing import SETTLE_MS, readings_between, seal_next
from holdwatch.trust.keys import key_in

SENSORS, DAYS = 10, 348
PROMISED_S = 30.0


def main() -> None:
    """Measure, and print the section of the page."""
    sensors, days = (2, 5) if is_small() else (SENSORS, DAYS)
    with tempfile.TemporaryDirectory() as name, sqlite(Path(name) / "sealed") as opened:
        _seal(opened, Path(name), sensors, days)
        measure(opened, sensors, days, runs=1 if is_small() else 3)


def _seal(opened: Opened, directory: Path, sensors: int, days: int) -> None:
    """Write the readings, and seal every day but the last."""
    with opened.store.write() as session:
        known = id_of(add_probe(session, "s1", medium="food", now_ms=FIRST_MS, by="benchmark"))
        assert known == 1, "the first probe of the store"
        for number in range(2, sensors + 1):
            add_probe(session, f"s{number}", medium="food", now_ms=FIRST_MS, by="benchmark")
    fill(opened, sensors, days * A_DAY)
    key, now_ms, made = key_in(directory), FIRST_MS + days * MS_PER_DAY + SETTLE_MS, 0
    while seal_next(opened.store, key, now_ms) is not None:
        made += 1
    assert made == sensors * days, "every day of every probe was sealed"


def measure(opened: Opened, sensors: int, days: int, runs: int) -> None:
    """Verify, beside reading alone."""
    count = sensors * days * A_DAY
    last: list[Verified] = []

    def reading() -> float:
        def work() -> None:
            with opened.store.read() as session:
                end_ms = FIRST_MS + days * A_DAY * EVERY_MS
                read = (len(readings_between(session, n, FIRST_MS, end_ms)[0]) for n in range(1, sensors + 1))
                assert sum(read) == count, "all readings were read"

        return seconds_of(work)

    def verified() -> float:
        took = seconds_of(lambda: last.append(verify(opened.store)))
        assert last[-1].whole, last[-1].problems
        assert (last[-1].sealed, last[-1].unsealed) == (count, 0), "all readings were under a seal"
        return took

    alone, took = alternate(runs, reading, verified)
    say(
        "## Verifying",
        "",
        f"{count:,} readings of {sensors} probes under {last[-1].seals:,} signed seals, on SQLite: every signature, every root"
        f" and every line of the chain. {runs} runs of each, in turn; median (least–most).",
        "",
    )
    table(
        ("verifying", "takes", "times the ceiling", "promised"),
        [
            ("ceiling: reading the rows into arrays", f"{alone.median:.2f} s", "1.00", ""),
            (
                "the whole record",
                f"{took.median:.2f} s ({took.low:.2f}–{took.high:.2f})",
                f"{took.median / alone.median:.2f}",
                f"at most {PROMISED_S:g} s for 10 million",
            ),
        ],
    )


if __name__ == "__main__":
    main()
