"""A day of trays, parts and reheating: whatever order the readings and the words come in, the same is found."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from holdwatch.storage.engine import store_url
from holdwatch.storage.parts import add_part, divide_batch
from holdwatch.storage.register import batch_named, end_batch, note, place
from holdwatch.storage.tables import EventKind
from tests.watch.day import Standing, answers, standing
from tests.watch.kitchen import HOUR, MIN, T0, Kitchen, Pair, cooling, straight

Found = tuple[dict[tuple[str, str, str], tuple[object, ...]], set[Standing]]
END_MS = T0 + 14 * HOUR
AGAIN_MS = T0 + 6 * HOUR
UNDER_4H = {"under": "time-control-4h"}
READINGS: dict[str, list[Pair]] = {
    # a custard cooled in time, reheated, held hot, cooled again too slowly
    "p1": [
        *cooling(350, every_min=2),
        *straight(40, 168, 60, start_ms=AGAIN_MS + MIN, every_min=1),
        *cooling(400, from_f=168, half_min=140, start_ms=AGAIN_MS + 62 * MIN, every_min=4),
    ],
    # a tray that is taken out, and topped up
    "p2": [*straight(38, 39, 60, every_min=3), *straight(44, 60, 240, start_ms=T0 + 63 * MIN, every_min=6)],
    "p3": straight(38, 38, 180, every_min=5),
    # half of a slow cream, poured off at two hours
    "p4": cooling(120, half_min=90, every_min=2),
    "p5": cooling(600, from_f=79.9, half_min=200, start_ms=T0 + 2 * HOUR, every_min=5),
}


def _begin(kitchen: Kitchen) -> None:
    for code in READINGS:
        kitchen.probe(code)
    kitchen.batch("Custard", "p1")
    kitchen.batch("Tray", "p2", processes=["cold-holding"])
    kitchen.batch("Fresh", "p3", processes=["cold-holding"])
    kitchen.batch("Cream", "p4")
    with kitchen.store.write() as session:
        cream = batch_named(session, "Cream")
        part = divide_batch(session, cream, lot="Part", at_ms=T0 + 2 * HOUR, now_ms=T0 + 2 * HOUR, by="test")
        at_ms = T0 + 2 * HOUR
        place(session, kitchen.probes["p5"], batch=part, vessel=1, at_ms=at_ms, now_ms=at_ms, by="test")


def _said(kitchen: Kitchen, now_ms: int | None) -> list[tuple[int, Callable[[], None]]]:
    """Return what is said during the day, each with its instant; entered then, or at `now_ms`."""

    def noted(lot: str, kind: EventKind, at_ms: int, **more: object) -> tuple[int, Callable[[], None]]:
        def enter() -> None:
            with kitchen.store.write() as session:
                entered_ms = at_ms if now_ms is None else now_ms
                batch = batch_named(session, lot)
                note(session, batch, kind, at_ms=at_ms, now_ms=entered_ms, by="test", **more)  # type: ignore[arg-type]

        return at_ms, enter

    def topped_up() -> None:
        with kitchen.store.write() as session:
            tray, fresh = batch_named(session, "Tray"), batch_named(session, "Fresh")
            at_ms = T0 + 150 * MIN
            add_part(session, tray, fresh, at_ms=at_ms, now_ms=at_ms if now_ms is None else now_ms, by="test")

    return [
        noted("Custard", EventKind.LEFT_HEAT, T0),
        noted("Custard", EventKind.REHEATING, AGAIN_MS, text="hot-holding"),
        noted("Custard", EventKind.LEFT_HEAT, AGAIN_MS + 62 * MIN),
        noted("Tray", EventKind.REMOVED, T0 + 60 * MIN, facts=UNDER_4H),
        (T0 + 150 * MIN, topped_up),
        noted("Cream", EventKind.LEFT_HEAT, T0),
    ]


def _live(kitchen: Kitchen) -> None:
    """Enter and send everything at its instant."""
    told = [(at_ms, enter) for at_ms, enter in _said(kitchen, None)]
    for code, readings in READINGS.items():
        for at in range(0, len(readings), 30):
            part = readings[at : at + 30]
            told.append((part[-1][0], lambda code=code, part=part: kitchen.arrive(code, part, part[-1][0])))  # type: ignore[misc]
    for at_ms, do in sorted(told, key=lambda each: each[0]):
        do()
        kitchen.rounds(at_ms)


def _mixed(kitchen: Kitchen, seed: int) -> None:
    """Send all readings in groups of any order, with what was said entered in between, hours later."""
    order = np.random.default_rng(seed)
    told: list[Callable[[], None]] = [enter for _, enter in _said(kitchen, END_MS)]
    for code, readings in READINGS.items():
        mixed = [readings[n] for n in order.permutation(len(readings))]
        told += [
            lambda code=code, part=mixed[at : at + 90]: kitchen.arrive(code, part, END_MS)  # type: ignore[misc]
            for at in range(0, len(mixed), 90)
        ]
    for n in order.permutation(len(told)):
        told[n]()
        kitchen.rounds(END_MS)


def _ended(kitchen: Kitchen) -> None:
    with kitchen.store.write() as session:
        end_batch(session, batch_named(session, "Tray"), outcome="sold", at_ms=T0 + 6 * HOUR, now_ms=END_MS, by="test")
    for minute in (0, 11, 12):
        kitchen.rounds(END_MS + minute * MIN)


def _day(directory: Path, tell: Callable[[Kitchen], None]) -> Found:
    """Return every verdict with its brackets, and every finding that stands, after a day that is told so."""
    kitchen = Kitchen.on(store_url(directory, None), migrate=True)
    _begin(kitchen)
    tell(kitchen)
    _ended(kitchen)
    told = answers(kitchen), standing(kitchen)
    kitchen.store.close()
    return told


@pytest.fixture(scope="module")
def as_it_came(tmp_path_factory: pytest.TempPathFactory) -> Found:
    """What is found where everything is told at its instant."""
    return _day(tmp_path_factory.mktemp("live"), _live)


@pytest.mark.parametrize("seed", [1, 2])
def test_day_of_trays_and_parts_in_any_order_gives_the_same(as_it_came: Found, tmp_path: Path, seed: int) -> None:
    """Every verdict with its brackets, and every finding that stands."""
    live, live_found = as_it_came
    mixed, mixed_found = _day(tmp_path, lambda kitchen: _mixed(kitchen, seed))
    assert live == mixed
    assert live_found == mixed_found
    assert all(finding.clause for finding in live_found if finding.kind != "system")
    assert {finding.clause for finding in live_found} >= {"3-501.19(B)", "3-501.14(A)(1)", "3-501.14(A)(2)"}
