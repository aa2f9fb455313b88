"""Judging again what was kept: a year of a whole kitchen, growing records, and one live reading through its rules.

Run ``python -m benchmarks.judging``. The ceiling of a year is the time to read the same rows from the store into arrays,
which nobody who judges them can spare.
"""

import gc
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from benchmarks.storing import Opened, sqlite
from benchmarks.support import Spread, alternate, is_small, percentile, say, seconds_of, table, times_of
from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR, MS_PER_MINUTE, MS_PER_SECOND
from holdwatch.limits import load_limits
from holdwatch.readings import Declaration, DeclarationKind, Record, Series
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.judge import judge
from holdwatch.rules.standing import Standing, carried_on, standing_of
from holdwatch.rules.verdicts import Judgement, Process, Step, Verdict
from holdwatch.storage.readings import load_series

LIMITS = load_limits("us-food-code-2022")
FIRST_MS = 1_767_225_600_000  # 1 January 2026
EVERY_MS = 30 * MS_PER_SECOND
A_DAY = MS_PER_DAY // EVERY_MS
SENSORS, DAYS = 20, 365
EVENING_MS, AFTER_MS = 12 * MS_PER_HOUR, 15 * MS_PER_MINUTE  # what the watch lets the sieve see beside a day
MILLIONS = (1, 2, 5, 10, 20, 50)
PROMISED, PROMISED_US = 2.0, 100.0


def main() -> None:
    """Measure, and print the section of the page."""
    small = is_small()
    say("## Judging again", "")
    with tempfile.TemporaryDirectory() as name, sqlite(Path(name) / "year") as opened:
        a_year(opened, sensors=2 if small else SENSORS, days=20 if small else DAYS, runs=1 if small else 3)
    growing((0.1, 0.2) if small else MILLIONS, runs=1 if small else 3)
    one_reading(hours=1 if small else 6)


# ---------------------------------------------------------------- a year of a kitchen


def fridge(count: int, seed: int) -> Series:
    """Return a food probe in a walk-in: compressor, day and night, noise, a spike a day and a warm hour a month."""
    chance = np.random.default_rng(seed)
    at_ms = FIRST_MS + EVERY_MS * np.arange(count, dtype=np.int64)
    hours = np.arange(count) * (EVERY_MS / MS_PER_HOUR)
    fahrenheit = 37.4 + 1.2 * np.sin(2 * np.pi * hours / 0.7) + 0.8 * np.sin(2 * np.pi * hours / 24)
    fahrenheit += chance.normal(0, 0.12, count)
    fahrenheit += 5 * np.clip(1 - np.abs((hours - 100 * seed) % 720 - 360), 0, None)
    fahrenheit[A_DAY // 3 :: A_DAY] += 45
    return Series(at_ms, np.round((fahrenheit - 32) / 1.8, 2))


def fill(opened: Opened, sensors: int, count: int) -> None:
    """Write the readings of all sensors by the bare driver."""
    for sensor in range(1, sensors + 1):
        series = fridge(count, sensor)
        rows = zip(series.at_ms.tolist(), series.celsius.tolist(), strict=True)
        opened.insert([(sensor, at, celsius, 0, 0) for at, celsius in rows])


def read(opened: Opened, sensors: int, last_ms: int) -> Iterator[Series]:
    """Read every sensor's readings from the store into arrays."""
    for sensor in range(1, sensors + 1):
        with opened.store.read() as session:
            yield load_series(session, sensor, FIRST_MS, last_ms)


def day_by_day(series: Series) -> Sequence[Judgement]:
    """Judge every day as the watch does: the sieve sees the evening before it and a quarter of an hour after."""
    answers = []
    for first_ms in range(FIRST_MS, int(series.at_ms[-1]) + 1, MS_PER_DAY):
        last_ms = first_ms + MS_PER_DAY - 1
        declared = (Declaration(first_ms, DeclarationKind.FROM), Declaration(last_ms, DeclarationKind.ENDED))
        record = Record(series.between(first_ms - EVENING_MS, last_ms + AFTER_MS), declared=declared)
        answers.append(judge(Process.COLD_HOLDING, record, LIMITS, until_ms=last_ms + AFTER_MS))
    return answers


def at_once(series: Series) -> Sequence[Judgement]:
    """Judge the whole record in one."""
    return [judge(Process.COLD_HOLDING, Record(series), LIMITS, until_ms=int(series.at_ms[-1]))]


def a_year(opened: Opened, sensors: int, days: int, runs: int) -> None:
    """Judge a year of a kitchen again, from the store, beside reading alone."""
    count = days * A_DAY
    last_ms = FIRST_MS + count * EVERY_MS
    fill(opened, sensors, count)
    missed: dict[str, int] = {}

    def reading() -> float:
        return seconds_of(
            lambda: _check(sum(len(series) for series in read(opened, sensors, last_ms)), sensors * count)
        )

    def judged(how: str) -> float:
        ways = {"day": day_by_day, "whole": at_once}
        used = 0

        def work() -> None:
            nonlocal used
            answers = [answer for series in read(opened, sensors, last_ms) for answer in ways[how](series)]
            missed[how] = sum(answer.verdict is Verdict.MISSED for answer in answers)
            used = sum(answer.used for answer in answers)

        took = seconds_of(work)
        assert used > sensors * count * 0.99, "the readings were used"
        return took

    alone, days_took, whole_took = alternate(runs, reading, lambda: judged("day"), lambda: judged("whole"))
    assert missed["day"] >= sensors * (days // 31), "the warm hours were found"
    say(
        f"A year of {sensors} food probes in walk-ins, one reading in 30 s, {sensors * count:,} in all, is read from SQLite"
        f" and held against 41 °F; the ceiling reads the same rows into arrays and stops. {runs} runs of each, in turn;"
        f" median (least–most). The spikes were set aside, and the {missed['day']} days with a warm hour were found.",
    )
    table(
        ("judging again", "takes", "a million readings", "times the ceiling", "promised"),
        [
            ("ceiling: reading the rows into arrays", *_row(alone, alone, sensors * count), ""),
            ("every local day, as the watch does", *_row(days_took, alone, sensors * count), _kept(days_took, alone)),
            ("each probe's year as one record", *_row(whole_took, alone, sensors * count), _kept(whole_took, alone)),
        ],
    )


def _check(got: int, wanted: int) -> None:
    assert got == wanted, "rows are missing"


def _row(spread: Spread, alone: Spread, count: int) -> tuple[str, str, str]:
    takes = f"{spread.median:.2f} s ({spread.low:.2f}–{spread.high:.2f})"
    return takes, f"{spread.median / count * 1e9:.0f} ms", f"{spread.median / alone.median:.2f}"


def _kept(spread: Spread, alone: Spread) -> str:
    return f"at most {PROMISED:.0f}" + ("" if spread.median <= PROMISED * alone.median else ", NOT KEPT HERE")


# ---------------------------------------------------------------- growing records


def growing(millions: Sequence[float], runs: int) -> None:
    """Judge one record of ever more readings: what it costs a reading must not grow."""
    rows, firsts = [], []
    for million in millions:
        series = fridge(round(million * 1e6), 1)
        (spread,) = alternate(runs if million <= 10 else 1, lambda series=series: seconds_of(lambda: at_once(series)))  # type: ignore[misc]
        each = spread.median / len(series) * 1e6
        firsts.append(each)
        rows.append((f"{len(series):,}", times_of(spread), f"{each:.3f} µs", f"{each / firsts[0]:.2f}"))
        del series
        gc.collect()
    say("One record, judged in one: linear, if the last column stays near 1.")
    table(("readings", "takes", "a reading", "times that of the first row"), rows)


# ---------------------------------------------------------------- one live reading


def one_reading(hours: int) -> None:
    """Carry two subjects on reading by reading, and judge them again where a reading may change something."""
    hours_of = np.arange(hours * 120) / 120
    pan = Series(FIRST_MS + EVERY_MS * np.arange(len(hours_of), dtype=np.int64), 1 + 64 * 0.5**hours_of)
    subjects = (
        ("of a vessel that cools: two stages, then holding", pan, _vessel),
        ("of a walk-in's day", fridge(A_DAY // 4 * min(4, hours), 1), _unit),
    )
    rows = []
    for what, series, judged in subjects:
        each, again = list[float](), list[float]()
        standing: Standing | None = None
        for n, (at_ms, celsius) in enumerate(zip(series.at_ms.tolist(), series.celsius.tolist(), strict=True)):
            state, carried = None, False

            def work(n: int = n, at_ms: int = at_ms, celsius: float = celsius) -> None:
                nonlocal state, carried
                state = None if standing is None else carried_on(standing, at_ms, celsius)  # noqa: B023 - used at once
                carried = state is not None
                if state is None:
                    record = Record(Series(series.at_ms[: n + 1], series.celsius[: n + 1]))  # noqa: B023
                    state = standing_of(record, judged(record, at_ms), LIMITS)  # noqa: B023

            each.append(seconds_of(work))
            if not carried:
                again.append(each[-1])
            standing = state
        kept = f"{PROMISED_US:.0f} µs" + ("" if percentile(each, 50) * 1e6 <= PROMISED_US else ", NOT KEPT HERE")
        rows.append(
            (
                what,
                f"{len(each):,}",
                f"{percentile(each, 50) * 1e6:.1f} µs",
                f"{percentile(each, 99) * 1e6:,.0f} µs",
                f"{len(again) / len(each):.1%}",
                f"{percentile(again, 50) * 1e6:,.0f} µs",
                kept,
            )
        )
    say(
        "One live reading through all rules of its subject, from the state that the reading before left: most change no"
        " verdict, and the rest have the record judged again from its beginning, which is counted in. The watch judges"
        " every time from the beginning, which the last but one column tells (DEVELOPERS.md, decision 2).",
    )
    table(
        (
            "a live reading",
            "readings",
            "half within",
            "99 % within",
            "judged again",
            "from the beginning, half within",
            "promised, half within",
        ),
        rows,
    )


def _vessel(record: Record, until_ms: int) -> Sequence[Judgement]:
    return judge_vessel(record, LIMITS, step=Step.COOL, holding="cold", until_ms=until_ms, started_ms=FIRST_MS)


def _unit(record: Record, until_ms: int) -> Sequence[Judgement]:
    begun = replace(record, declared=(Declaration(FIRST_MS, DeclarationKind.FROM),))
    return (judge(Process.COLD_HOLDING, begun, LIMITS, until_ms=until_ms),)


if __name__ == "__main__":
    main()
