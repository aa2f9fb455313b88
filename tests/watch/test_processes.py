"""Live and afterwards are the same, for every process: the watch, and `assess` of the same readings and instants."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from holdwatch.clock import to_iso
from holdwatch.limits import load_limits
from holdwatch.readings import Declaration, DeclarationKind, Medium, Record, Series
from holdwatch.recordfile import read_record_file
from holdwatch.rules.facts import to_facts
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import ClauseVerdict, Process, Step
from holdwatch.storage import register
from holdwatch.storage.engine import store_url
from holdwatch.storage.tables import EventKind
from holdwatch.storage.unit_eggs import set_shell_eggs
from tests.watch.kitchen import HOUR, MIN, T0, Kitchen, Pair, cooling, straight

Note = tuple[EventKind, float, dict[str, object]]


@dataclass(frozen=True)
class Case:
    """Readings and notes (minutes after the start), how the batch began, and what is asked of the file."""

    process: Process
    readings: Sequence[Pair]
    begins: tuple[str, ...] = ()
    notes: Sequence[Note] = ()
    until_min: float = 0.0
    limits: str = "us-food-code-2022"
    step: Step = Step.STORE
    declared: Sequence[tuple[DeclarationKind, float]] = field(default_factory=list)
    """What is declared of the file beside the notes of the batch."""


def _hot(*notes: Note) -> Sequence[Note]:
    return [(EventKind.LEFT_HEAT, 0, {}), *notes]


def _time(under: str, at_min: float = 30) -> Note:
    return (EventKind.REMOVED, at_min, {"facts": {"under": under}})


COLD = straight(38, 39, 30, every_min=2)
WARMING = [*COLD, *straight(42, 66, 200, start_ms=T0 + 32 * MIN, every_min=4)]
ON_DISPLAY = [*straight(40, 42, 60, every_min=5), *straight(50, 50, 180, start_ms=T0 + 65 * MIN, every_min=5)]
COOKED = [*straight(60, 140, 20), *[(T0 + 21 * MIN + n * 10_000, 68.5) for n in range(12)]]
REHEATED = [
    *straight(39, 40, 10),
    *straight(44, 166, 90, start_ms=T0 + 11 * MIN),
    *straight(166, 170, 5, start_ms=T0 + 102 * MIN),
]
CASES = {
    "cooling kept": Case(Process.COOLING, cooling(300), ("cooling",), _hot(), 310),
    "cooling missed": Case(Process.COOLING, cooling(400, half_min=120), ("cooling",), _hot(), 400),
    "cooling runs": Case(Process.COOLING, cooling(100, half_min=60), ("cooling",), _hot(), 100),
    "no figure for cooling": Case(Process.COOLING, cooling(300), ("cooling",), _hot(), 310, "scotland"),
    "a further 4 h": Case(Process.COOLING, cooling(400, half_min=80), ("cooling",), _hot(), 400, "australia"),
    "ambient kept": Case(
        Process.AMBIENT_COOLING,
        straight(70, 40, 180, every_min=5),
        ("ambient-cooling",),
        [(EventKind.PREPARED, 0, {})],
        200,
    ),
    "ambient missed": Case(
        Process.AMBIENT_COOLING,
        straight(70, 50, 300, every_min=5),
        ("ambient-cooling",),
        [(EventKind.PREPARED, 0, {})],
        300,
    ),
    "ambient without its start": Case(
        Process.AMBIENT_COOLING, straight(70, 40, 180, every_min=5), ("ambient-cooling",), (), 200
    ),
    "received warm": Case(
        Process.RECEIVED_COOLING,
        straight(48, 40, 120, every_min=5),
        ("received-cooling",),
        [(EventKind.RECEIVED, 0, {})],
        130,
    ),
    "cold holding kept": Case(Process.COLD_HOLDING, straight(38, 40, 300, every_min=10), ("cold-holding",), (), 305),
    "cold holding missed": Case(Process.COLD_HOLDING, straight(38, 44, 300, every_min=10), ("cold-holding",), (), 305),
    "cold holding with a hole": Case(
        Process.COLD_HOLDING,
        [*straight(38, 38, 60, every_min=10), *straight(38, 38, 60, start_ms=T0 + 2 * HOUR, every_min=10)],
        ("cold-holding",),
        (),
        185,
    ),
    "out for preparation": Case(
        Process.COLD_HOLDING,
        [*straight(38, 38, 60, every_min=10), *straight(55, 38, 60, start_ms=T0 + 65 * MIN, every_min=5)],
        ("cold-holding",),
        [(EventKind.REMOVED, 62, {}), (EventKind.RETURNED, 125, {})],
        130,
    ),
    "one spell borne on display": Case(
        Process.COLD_HOLDING,
        straight(46, 47, 300, every_min=10)[:6] + straight(50, 44, 120, start_ms=T0 + HOUR, every_min=10),
        ("cold-holding",),
        (),
        180,
        "england-wales-ni",
        Step.DISPLAY,
    ),
    "hot holding kept": Case(Process.HOT_HOLDING, straight(150, 140, 300, every_min=10), ("hot-holding",), (), 305),
    "hot holding missed": Case(Process.HOT_HOLDING, straight(150, 130, 300, every_min=10), ("hot-holding",), (), 305),
    "4 h, gone in time": Case(
        Process.TIME_CONTROL_4H,
        WARMING,
        ("cold-holding",),
        [_time("time-control-4h"), (EventKind.ENDED, 200, {"text": "sold"})],
        235,
    ),
    "4 h, running": Case(Process.TIME_CONTROL_4H, WARMING, ("cold-holding",), [_time("time-control-4h")], 235),
    "4 h, no end recorded": Case(Process.TIME_CONTROL_4H, WARMING, ("cold-holding",), [_time("time-control-4h")], 300),
    "4 h, put back is no end": Case(
        Process.TIME_CONTROL_4H,
        WARMING,
        ("cold-holding",),
        [_time("time-control-4h"), (EventKind.RETURNED, 100, {}), (EventKind.MOVED, 280, {})],
        300,
    ),
    "4 h, too warm at the start": Case(
        Process.TIME_CONTROL_4H, straight(60, 62, 60, every_min=5), ("cold-holding",), [_time("time-control-4h")], 70
    ),
    "4 h, start not shown": Case(
        Process.TIME_CONTROL_4H,
        straight(60, 62, 60, start_ms=T0 + 40 * MIN, every_min=5),
        ("cold-holding",),
        [_time("time-control-4h")],
        100,
    ),
    "6 h, never above 70 °F": Case(
        Process.TIME_CONTROL_6H,
        WARMING,
        ("cold-holding",),
        [_time("time-control-6h"), (EventKind.ENDED, 232, {"text": "sold"})],
        235,
    ),
    "6 h, above 70 °F": Case(
        Process.TIME_CONTROL_6H,
        [*COLD, *straight(42, 72, 200, start_ms=T0 + 32 * MIN, every_min=4)],
        ("cold-holding",),
        [_time("time-control-6h")],
        235,
    ),
    "cut or opened at room temperature": Case(
        Process.TIME_CONTROL_FROM_ROOM,
        straight(65, 69, 120, every_min=5),
        ("cold-holding",),
        [_time("time-control-from-room"), (EventKind.ENDED, 118, {"text": "sold"})],
        120,
    ),
    "2 h and 4 h, back in time": Case(
        Process.CUMULATIVE_TIME,
        [
            *straight(40, 40, 30, every_min=5),
            *straight(55, 55, 60, start_ms=T0 + 35 * MIN, every_min=5),
            *straight(40, 40, 30, start_ms=T0 + 100 * MIN, every_min=5),
        ],
        ("cold-holding",),
        [_time("cumulative-time", 31), (EventKind.RETURNED, 97, {})],
        132,
        "australia",
    ),
    "2 h and 4 h, over": Case(
        Process.CUMULATIVE_TIME,
        [*straight(40, 40, 30, every_min=5), *straight(55, 60, 260, start_ms=T0 + 35 * MIN, every_min=5)],
        ("cold-holding",),
        [_time("cumulative-time", 31)],
        300,
        "australia",
    ),
    "times are not added up here": Case(
        Process.CUMULATIVE_TIME, COLD, ("cold-holding",), [_time("cumulative-time", 20)], 35
    ),
    "eggs cooked": Case(Process.COOK_EGGS, COOKED, ("cook-eggs",), [(EventKind.LEFT_HEAT, 24, {})], 25),
    "eggs not cooked": Case(
        Process.COOK_EGGS, straight(60, 140, 20), ("cook-eggs",), [(EventKind.LEFT_HEAT, 20, {})], 25
    ),
    "an egg to order": Case(
        Process.COOK_EGGS_TO_ORDER, COOKED, ("cook-eggs-to-order",), [(EventKind.LEFT_HEAT, 24, {})], 25
    ),
    "still cooking": Case(Process.COOK_EGGS, straight(60, 140, 20), ("cook-eggs",), (), 20),
    "reheated": Case(
        Process.REHEATING,
        REHEATED,
        ("cold-holding",),
        [(EventKind.REHEATING, 10, {"text": "hot-holding"})],
        108,
        declared=[(DeclarationKind.REMOVED, 10)],
    ),
    "reheated too slowly": Case(
        Process.REHEATING,
        [*straight(39, 40, 10), *straight(44, 140, 150, start_ms=T0 + 11 * MIN)],
        ("cold-holding",),
        [(EventKind.REHEATING, 10, {"text": "hot-holding"})],
        165,
        declared=[(DeclarationKind.REMOVED, 10)],
    ),
}
_DECLARED = {
    EventKind.LEFT_HEAT: DeclarationKind.LEFT_HEAT,
    EventKind.PREPARED: DeclarationKind.PREPARED,
    EventKind.REMOVED: DeclarationKind.REMOVED,
    EventKind.RETURNED: DeclarationKind.RETURNED,
    EventKind.MOVED: DeclarationKind.MOVED,
    EventKind.ENDED: DeclarationKind.ENDED,
    EventKind.RECEIVED: DeclarationKind.FROM,
}


def test_every_process_of_food_has_a_case() -> None:
    """A process added without a case here is not shown to be judged live; two more are those of units."""
    air = {Process.SHELL_EGGS, Process.FROZEN_STORAGE}
    assert {case.process for case in CASES.values()} == set(Process) - air


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("parts", [1, 4])
def test_watch_and_assess_agree(name: str, parts: int, tmp_path: Path) -> None:
    """Verdict, clause, instants and reason of the watch are those of the file, however the readings came."""
    case = CASES[name]
    until_ms = T0 + round(case.until_min * MIN)
    kitchen = Kitchen.on(store_url(tmp_path, None), migrate=True)
    try:
        _watch(kitchen, case, parts, until_ms)
        live = {row.clause: row.facts for row in kitchen.clauses() if row.process == case.process.value}
    finally:
        kitchen.store.close()
    filed = _file(tmp_path, case, until_ms)
    assert {clause.clause for clause in filed} == set(live)
    for clause in filed:
        expected = to_facts(clause)
        for fact in ("verdict", "source", "requires", "started", "due", "reached", "spells", "doubtful"):
            assert live[clause.clause][fact] == expected[fact], (
                name,
                fact,
                clause.reason,
                live[clause.clause]["reason"],
            )


@pytest.mark.parametrize("warmest_f", [44.0, 47.0])
@pytest.mark.parametrize(
    ("process", "kind", "medium", "limits"),
    [
        (Process.SHELL_EGGS, "walk-in", Medium.AIR, "us-food-code-2022"),
        (Process.FROZEN_STORAGE, "freezer", Medium.FOOD, "england-wales-ni"),
        (Process.FROZEN_STORAGE, "freezer", Medium.FOOD, "us-food-code-2022"),
        (Process.COLD_HOLDING, "reach-in", Medium.AIR, "us-food-code-2022"),
        (Process.HOT_HOLDING, "hot-cabinet", Medium.FOOD, "us-food-code-2022"),
    ],
)
def test_watch_and_assess_agree_on_units(
    kitchen: Kitchen, process: Process, kind: str, medium: Medium, limits: str, warmest_f: float
) -> None:
    """The day of a unit that runs is what the file of its readings shows so far."""
    kitchen.limits(limits)
    kitchen.probe("u1", medium.value)
    unit = kitchen.unit("Unit", kind, "u1")
    with kitchen.store.write() as session:
        set_shell_eggs(session, session.merge(unit), kept=True, at_ms=T0, now_ms=T0, by="test")
    readings = [
        *straight(40, warmest_f, 120, every_min=10),
        *straight(40, 40, 60, start_ms=T0 + 130 * MIN, every_min=10),
    ]
    until_ms = readings[-1][0]
    for part in (readings[1::2], readings[::2]):
        kitchen.arrive("u1", part, until_ms)
        kitchen.rounds(until_ms)
    declared = (Declaration(T0, DeclarationKind.FROM), Declaration(T0, DeclarationKind.PLACED))
    record = Record(probe=Series.of(readings), medium=medium, declared=declared)
    live = {row.clause: row.facts for row in kitchen.clauses()}
    for clause in judge(process, record, load_limits(limits), until_ms=until_ms).clauses:
        expected = to_facts(clause)
        for fact in ("verdict", "source", "requires", "started", "due", "reached", "spells", "doubtful"):
            assert live[clause.clause][fact] == expected[fact], fact


def _watch(kitchen: Kitchen, case: Case, parts: int, until_ms: int) -> None:
    kitchen.limits(case.limits)
    kitchen.probe("p1")
    with kitchen.store.write() as session:
        batch = register.start_batch(
            session, product="Pastry cream", lot="L1", processes=case.begins, at_ms=T0, now_ms=T0, by="test"
        )
        register.place(session, kitchen.probes["p1"], batch=batch, vessel=1, at_ms=T0, now_ms=T0, by="test")
    if case.step is Step.DISPLAY:
        kitchen.note(batch, EventKind.STEP, T0, text="display")
    for kind, at_min, more in case.notes:
        kitchen.note(batch, kind, T0 + round(at_min * MIN), **more)
    for part in range(parts):
        kitchen.arrive("p1", list(case.readings)[parts - 1 - part :: parts], until_ms)
        kitchen.rounds(until_ms)


def _file(path: Path, case: Case, until_ms: int) -> tuple[ClauseVerdict, ...]:
    """Write the readings into a file, and judge it as the command does, with the same instants declared."""
    file = path / "readings.csv"
    ends = [at for kind, at, _ in case.notes if kind is EventKind.ENDED]
    last_ms = min([until_ms, *(T0 + round(at * MIN) for at in ends)])
    rows = "\n".join(f"{to_iso(at_ms)},{celsius!r}" for at_ms, celsius in case.readings if at_ms <= last_ms)
    file.write_text(f"time,temperature_c\n{rows}\n", encoding="utf-8")
    notes = [(kind, at) for kind, at, _ in case.notes if kind in _DECLARED]
    declared = {Declaration(T0 + round(at * MIN), _DECLARED[kind]) for kind, at in notes}
    declared |= {Declaration(T0 + round(at * MIN), kind) for kind, at in case.declared}
    declared.add(Declaration(T0, DeclarationKind.PLACED))
    record = Record(probe=read_record_file(file).series, declared=tuple(sorted(declared)))
    return judge(case.process, record, load_limits(case.limits), until_ms=until_ms, step=case.step).clauses
