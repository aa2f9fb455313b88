"""From a stored reading to a verdict: one live reading, a day that comes in one burst, two weeks of a kitchen.

Run ``python -m benchmarks.watching``. The ceiling is the judgement alone, of records that are in memory already: what a
round takes beyond it is the price of looking into the store, of findings that keep their identity, and of the commit.
"""

import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from sqlmodel import func, select

from benchmarks.support import alternate, is_small, percentile, say, seconds_of, table, times_of
from holdwatch import clock
from holdwatch.demo.start import prepare
from holdwatch.limits import load_limits
from holdwatch.readings import Record
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Process, Step
from holdwatch.settings import Settings
from holdwatch.storage.arrivals import waiting
from holdwatch.storage.engine import open_store, store_url
from holdwatch.storage.findings import findings
from holdwatch.storage.readings import count_readings, load_series
from holdwatch.storage.states import clause_states
from holdwatch.storage.tables import Batch
from holdwatch.watch.rounds import Watch
from tests.watch.kitchen import DAY, HOUR, T0, Kitchen, cooling, minutes

LIMITS = load_limits("us-food-code-2022")
UNITS, EVERY_S = 20, 30


def main() -> None:
    """Measure, and print the section of the page."""
    small = is_small()
    say("## Watching", "")
    with tempfile.TemporaryDirectory() as name, kitchen(Path(name), "live") as made:
        one_reading(made, looks=20 if small else 200)
    burst(units=2 if small else UNITS, runs=1 if small else 3)
    if not small:
        two_weeks()


@contextmanager
def kitchen(directory: Path, name: str) -> Iterator[Kitchen]:
    """Make a kitchen on SQLite."""
    data = directory / name
    data.mkdir()
    made = Kitchen.on(store_url(data, None), migrate=True)
    try:
        yield made
    finally:
        made.store.close()


# ---------------------------------------------------------------- one reading


def one_reading(made: Kitchen, looks: int) -> None:
    """Let readings arrive one by one, and go round after each: of a batch six hours old, of a unit's day."""
    made.probe("p1")
    made.probe("f1")
    made.batch("L1", "p1")
    unit = made.unit("Walk-in 1", "walk-in", "f1", at_ms=T0 - 12 * HOUR)
    every_ms = EVERY_S * clock.MS_PER_SECOND
    now_ms = T0 + 6 * HOUR
    made.arrive("p1", _every(cooling(6 * 60, from_f=140, half_min=60), every_ms), now_ms)
    made.arrive(
        "f1", minutes(*[38.0 + n % 3 for n in range(2 * 60 * 18)], start_ms=T0 - 12 * HOUR, every_ms=every_ms), now_ms
    )
    made.rounds(now_ms)
    say(
        "A reading is in the store; how long until its verdict is. After each look the stored verdict was checked to be of it."
    )
    rows = []
    for code, what, process in (
        ("p1", "of a vessel, 6 h old, every 30 s", Process.COOLING),
        ("f1", "of a walk-in, 18 h, every 30 s", Process.COLD_HOLDING),
    ):
        subject = "batch:1:1" if code == "p1" else f"unit:{unit.id}:{made.probes[code].id}"
        rounds, alone = [], []
        for _ in range(looks):
            now_ms += every_ms
            made.arrive(code, [(now_ms, 3.5)], now_ms)
            rounds.append(seconds_of(partial(made.watch.go_round, now_ms)))
            assert _judged_ms(made, subject) == now_ms, subject
            alone.append(_alone(made, code, process, now_ms))
        rows.append(
            (
                what,
                f"{percentile(rounds, 50) * 1_000:.1f} ms",
                f"{percentile(rounds, 99) * 1_000:.1f} ms",
                f"{percentile(alone, 50) * 1_000:.2f} ms",
                f"{percentile(rounds, 50) / percentile(alone, 50):.1f}",
            )
        )
    table((f"a reading ({looks} looks)", "round, half within", "99 % within", "judging alone", "ratio"), rows)


def _every(pairs: list[tuple[int, float]], every_ms: int) -> list[tuple[int, float]]:
    """Put a second reading between any two, half-way."""
    return [pair for at_ms, celsius in pairs for pair in ((at_ms, celsius), (at_ms + every_ms, celsius))]


def _judged_ms(made: Kitchen, subject: str) -> int:
    """Return of which instant the newest verdict of a subject is."""
    return max(state.judged_ms for state in made.clauses() if state.subject == subject)


def _alone(made: Kitchen, code: str, process: Process, now_ms: int) -> float:
    """Return how long judging takes once the record is in memory. [s]."""
    with made.store.read() as session:
        first_ms = T0 if process is Process.COOLING else T0 - 12 * HOUR
        record = Record(load_series(session, made.probes[code].id or 0, first_ms, now_ms))
    if process is Process.COOLING:
        return seconds_of(
            lambda: judge_vessel(record, LIMITS, step=Step.COOL, holding="cold", until_ms=now_ms, started_ms=T0)
        )
    return seconds_of(lambda: judge(process, record, LIMITS, until_ms=now_ms))


# ---------------------------------------------------------------- a day at once


def burst(units: int, runs: int) -> None:
    """Let a day of a whole kitchen come in one burst."""
    every_ms = EVERY_S * clock.MS_PER_SECOND
    day = minutes(*[38.0 + n % 3 for n in range(DAY // every_ms)], start_ms=T0, every_ms=every_ms)
    count = units * len(day)
    judged = list[int]()

    def whole() -> float:
        with tempfile.TemporaryDirectory() as name, kitchen(Path(name), "burst") as made:
            for number in range(units):
                made.probe(f"f{number}")
                made.unit(f"Unit {number}", "walk-in", f"f{number}")
            for number in range(units):
                made.arrive(f"f{number}", day, T0 + DAY)
            took = seconds_of(lambda: judged.append(made.watch.catch_up(T0 + DAY).judged))
            with made.store.read() as session:
                assert count_readings(session) == count
                assert waiting(session) == 0
            told = [row for row in made.clauses() if row.subject.startswith("unit:")]
            assert len({row.subject for row in told}) == units
            assert all(row.facts["used"] > len(day) // 2 for row in told if row.day == "2026-11-24"), (
                "the readings were used"
            )
        return took

    def alone() -> float:
        with tempfile.TemporaryDirectory() as name, kitchen(Path(name), "alone") as made:
            made.probe("f0")
            made.arrive("f0", day, T0 + DAY)
            with made.store.read() as session:
                record = Record(load_series(session, 1, T0, T0 + DAY))
        assert len(record.probe) == len(day)
        return seconds_of(
            lambda: [judge(Process.COLD_HOLDING, record, LIMITS, until_ms=T0 + DAY) for _ in range(units)]
        )

    ours, bare = alternate(runs, whole, alone)
    say(
        f"A day of {units} units, {count:,} readings at one in {EVERY_S} s, is in the store and nothing of it was judged;"
        f" how long until all is. {runs} runs; median (least–most).",
    )
    table(
        ("a day at once", "takes", "subjects judged", "judging the records alone", "ratio"),
        [
            (
                f"{units} units",
                f"{ours.median:.2f} s ({ours.low:.2f}–{ours.high:.2f})",
                str(judged[-1]),
                times_of(bare),
                f"{ours.median / bare.median:.1f}",
            )
        ],
    )


def two_weeks() -> None:
    """Let the watch find what there is in the two weeks of the demonstration."""
    with tempfile.TemporaryDirectory() as name:
        settings = Settings(data=Path(name))
        now_ms = clock.now_ms()
        made = seconds_of(lambda: prepare(settings, lambda _: None, clock=lambda: now_ms))
        store = open_store(settings.store_url)
        began, cpu = time.perf_counter(), time.process_time()
        report = Watch(store).catch_up(now_ms)
        took, busy = time.perf_counter() - began, time.process_time() - cpu
        with store.read() as session:
            readings, found = count_readings(session), findings(session)
            batches = session.exec(select(func.count()).select_from(Batch)).one()
            assert waiting(session) == 0
            assert {
                state.batch_id for state in clause_states(session) if state.batch_id is not None
            }.__len__() == batches
        store.close()
    assert not report.trouble
    assert {finding.kind for finding in found} >= {"deviation", "soon"}
    say(
        f"The demonstration's two weeks ({readings:,} readings, {batches} batches, made and stored in {made:.1f} s): the watch"
        f" finds everything in {took:.1f} s, {busy:.1f} s of it on a processor: {report.judged} judgements,"
        f" {busy / report.judged * 1_000:.1f} ms each, {len(found)} findings.",
        "",
    )


if __name__ == "__main__":
    main()
