"""How long judging takes: one vessel of 3,000 readings, a unit's day, a record full of doubts.

Run ``python benchmarks/judging.py``. One vessel and one unit day are meant to stay under 3 ms.
"""

import time
from collections.abc import Callable

import numpy as np

from holdwatch.limits import load_limits
from holdwatch.readings import Record, Series
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Process, Step

LIMITS = load_limits("us-food-code-2022")
START_MS = 1_772_000_400_000
REPEATS = 50


def _series(degrees_f: np.ndarray, every_ms: int) -> Series:
    at = START_MS + every_ms * np.arange(len(degrees_f), dtype=np.int64)
    return Series(at, (degrees_f - 32) / 1.8)


def _best(work: Callable[[], object]) -> float:
    times = []
    for _ in range(REPEATS):
        began = time.perf_counter()
        work()
        times.append(time.perf_counter() - began)
    return min(times) * 1_000


def main() -> None:
    """Print the best of several runs of each case."""
    seconds = 10 * np.arange(3_000)
    pan = _series(38 + 130 * np.exp(-seconds / 4_800), 10_000)
    day = _series(38 + 2 * np.sin(np.arange(2_880) / 40), 30_000)
    noisy = _series(38 + 130 * np.exp(-seconds / 4_800) + np.random.default_rng(1).normal(0, 6, 3_000), 10_000)

    def vessel(series: Series) -> Callable[[], object]:
        last = int(series.at_ms[-1])
        return lambda: judge_vessel(Record(series), LIMITS, step=Step.COOL, holding="cold", until_ms=last)

    last = int(day.at_ms[-1])
    cases = {
        "one vessel, 3,000 readings": vessel(pan),
        "one unit day, 2,880 readings": lambda: judge(Process.COLD_HOLDING, Record(day), LIMITS, until_ms=last),
        "a probe that is all noise, 3,000 readings": vessel(noisy),
    }
    for name, work in cases.items():
        print(f"{name}: {_best(work):.2f} ms")


if __name__ == "__main__":
    main()
