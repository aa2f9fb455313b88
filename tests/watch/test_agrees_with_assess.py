"""Live and afterwards are the same: what the watch says of a record is what judging the exported file says."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from holdwatch.clock import to_iso
from holdwatch.limits import load_limits
from holdwatch.readings import Declaration, DeclarationKind, Record
from holdwatch.recordfile import read_record_file
from holdwatch.rules.facts import to_facts
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Judgement, Process
from holdwatch.storage.engine import store_url
from holdwatch.storage.tables import EventKind
from tests.watch.kitchen import HOUR, MIN, T0, Kitchen, Pair

pytestmark = pytest.mark.long

LIMITS = load_limits("us-food-code-2022")
SLOW = settings(max_examples=20, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])


@contextmanager
def _kitchen() -> Iterator[tuple[Kitchen, Path]]:
    with tempfile.TemporaryDirectory() as name:
        kitchen = Kitchen.on(store_url(Path(name), None), migrate=True)
        yield kitchen, Path(name)
        kitchen.store.close()


def _assess(
    path: Path, readings: list[Pair], process: Process, declared: list[Declaration], until_ms: int
) -> Judgement:
    """Write the readings into a file, and judge it as the command does."""
    rows = "\n".join(f"{to_iso(at_ms)},{celsius!r}" for at_ms, celsius in readings)
    file = path / "readings.csv"
    file.write_text(f"time,temperature_c\n{rows}\n", encoding="utf-8")
    record = Record(probe=read_record_file(file).series, declared=tuple(sorted(declared)))
    return judge(process, record, LIMITS, until_ms=until_ms)


def _same(kitchen: Kitchen, subject: str, judgement: Judgement, day: str = "") -> None:
    """Compare every clause: verdict, brackets and spells."""
    stored = {row.clause: row for row in kitchen.clauses() if row.subject == subject and row.day == day}
    for clause in judgement.clauses:
        facts = to_facts(clause)
        for name in ("verdict", "started", "due", "spells", "doubtful"):
            assert stored[clause.clause].facts[name] == facts[name], (clause.clause, name)


@st.composite
def _cooling_readings(draw: st.DrawFn) -> list[Pair]:
    """Give a cooling that may be quick or slow, hesitate, jump, and have holes."""
    at_ms, celsius, around = T0, draw(st.floats(50, 95)), draw(st.floats(-5, 20))
    readings: list[Pair] = []
    for _ in range(draw(st.integers(1, 60))):
        readings.append((at_ms, round(celsius, 3)))
        minutes = draw(st.sampled_from([1, 2, 5, 5, 5, 10, 10, 25, 60]))
        half_min = draw(st.sampled_from([20.0, 40.0, 60.0, 200.0]))
        at_ms += minutes * MIN + draw(st.integers(0, 2_000))
        celsius = (
            around + (celsius - around) * 0.5 ** (minutes / half_min) + draw(st.sampled_from([0.0, 0.0, 0.3, 9.0]))
        )
    return readings


@SLOW
@given(
    readings=_cooling_readings(),
    cuts=st.lists(st.integers(1, 59), max_size=4),
    waits=st.lists(st.integers(0, 3 * 60), min_size=6, max_size=6),
    kept_back=st.sets(st.integers(0, 59), max_size=20),
    left_heat=st.booleans(),
)
def test_cooling_judged_live_agrees_with_the_file(
    readings: list[Pair], cuts: list[int], waits: list[int], kept_back: set[int], left_heat: bool
) -> None:
    """At every instant on the way, with some readings still to come, and in the end when the last have come."""
    with _kitchen() as (kitchen, path):
        kitchen.probe("p1")
        batch = kitchen.batch("L1", "p1")
        declared = [Declaration(T0, DeclarationKind.PLACED)]
        if left_heat:
            kitchen.note(batch, EventKind.LEFT_HEAT, T0)
            declared.append(Declaration(T0, DeclarationKind.LEFT_HEAT))
        known: list[Pair] = []
        edges = sorted({min(cut, len(readings)) for cut in cuts} | {len(readings)})
        pauses, begun = iter(waits), 0
        for edge in edges:
            part = [reading for n, reading in enumerate(readings[begun:edge], begun) if n not in kept_back]
            begun = edge
            now_ms = readings[edge - 1][0]
            if part:
                kitchen.arrive("p1", part, now_ms)
                known += part
            kitchen.rounds(now_ms)
            if edge == len(readings):
                now_ms += next(pauses) * MIN
            elif edge < len(readings):
                now_ms = max(now_ms, readings[edge][0] - 1)
            kitchen.rounds(now_ms)
            if known:
                _same(kitchen, "batch:1:1", _assess(path, known, Process.COOLING, declared, now_ms))
        late = [reading for n, reading in enumerate(readings) if n in kept_back]
        kitchen.arrive("p1", late[::-1], now_ms)
        kitchen.rounds(now_ms)
        _same(kitchen, "batch:1:1", _assess(path, readings, Process.COOLING, declared, now_ms))


@SLOW
@given(
    steps=st.lists(
        st.tuples(st.sampled_from([1, 5, 5, 5, 15, 15, 30, 90]), st.sampled_from([3.0, 3.5, 4.0, 4.9, 5.0, 6.5])),
        min_size=1,
        max_size=80,
    ),
    wait_min=st.integers(0, 40),
    seed=st.integers(1, 80),
)
def test_holding_judged_live_agrees_with_the_file(steps: list[tuple[int, float]], wait_min: int, seed: int) -> None:
    """Of a local day that is over, and of the one that runs."""
    evening = T0 + 13 * HOUR
    midnight = T0 + 16 * HOUR
    readings, at_ms = [], evening
    for minutes, celsius in steps:
        readings.append((at_ms, celsius))
        at_ms += minutes * MIN
    now_ms = readings[-1][0] + wait_min * MIN
    with _kitchen() as (kitchen, path):
        kitchen.probe("f1")
        kitchen.unit("Walk-in 1", "walk-in", "f1", at_ms=evening)
        for part in (readings[seed::2], readings[:seed:3], readings):
            kitchen.arrive("f1", part, now_ms)
            kitchen.rounds(now_ms)
        placed = Declaration(evening, DeclarationKind.PLACED)
        first = [reading for reading in readings if reading[0] < midnight]
        if now_ms < midnight:
            declared = [placed, Declaration(evening, DeclarationKind.FROM)]
            _same(kitchen, "unit:1:1", _assess(path, first, Process.COLD_HOLDING, declared, now_ms), "2026-11-24")
            return
        ends = [Declaration(midnight - 1, DeclarationKind.ENDED)] if now_ms > midnight - 1 else []
        declared = [placed, Declaration(evening, DeclarationKind.FROM), *ends]
        until_ms = min(now_ms, midnight - 1 + 15 * MIN)
        _same(kitchen, "unit:1:1", _assess(path, first, Process.COLD_HOLDING, declared, until_ms), "2026-11-24")
        second = [reading for reading in readings if reading[0] >= midnight]
        if second and now_ms < midnight + 24 * HOUR:
            declared = [Declaration(midnight, DeclarationKind.FROM)]
            _same(kitchen, "unit:1:1", _assess(path, second, Process.COLD_HOLDING, declared, now_ms), "2026-11-25")
