"""What a forecast leads to: a warning that says by how much it misses, in the unit of the site."""

import pytest
from sqlmodel import col, select

from holdwatch.quantities import celsius_of_f
from holdwatch.storage.tables import EventKind, ForecastState
from tests.watch.kitchen import HOUR, MIN, T0, Kitchen, Pair, cooling, straight

STAGE_1, STAGE_2 = "3-501.14(A)(1)", "3-501.14(A)(2)"
SLOW = cooling(160, half_min=120)
"""Leaves 135 °F after 24 min, and is above 80 °F two hours and a quarter later."""


def test_outlook_that_misses_says_how_much_faster_it_must_cool(kitchen: Kitchen) -> None:
    """After an hour the fall to 70 °F takes half as long again as there is time; the reason says so in °F."""
    kitchen.probe("p1")
    kitchen.batch("L1", "p1")
    kitchen.arrive("p1", [pair for pair in SLOW if pair[0] <= T0 + HOUR], T0 + HOUR)
    kitchen.rounds(T0 + HOUR)
    (soon,) = kitchen.found()
    assert (soon.kind, soon.clause) == ("soon", STAGE_1)
    assert "expected at 70 °F" in soon.reason
    assert "times as fast from now on" in soon.reason
    assert "°C" not in soon.reason


def test_outlook_of_hand_readings_warns_too(kitchen: Kitchen) -> None:
    """A vessel without a probe, read by hand every ten minutes, is looked ahead to as well."""
    batch = kitchen.batch("L1")
    for at_ms, celsius in SLOW[0:81:10]:
        kitchen.note(batch, EventKind.READING, at_ms, vessel=1, celsius=celsius)
    kitchen.rounds(T0 + 80 * MIN)
    found = kitchen.found()
    assert [(f.kind, f.clause) for f in found] == [("soon", STAGE_1)]


def test_outlook_in_air_that_is_too_warm_names_the_air_in_the_unit_of_the_site(kitchen: Kitchen) -> None:
    """In a walk-in at 44 °F the food will not get to 41 °F, and the reason names the air."""
    kitchen.probe("p1")
    kitchen.probe("air", medium="air")
    unit = kitchen.unit("Walk-in", "walk-in", "air")
    kitchen.note(kitchen.batch("L1", "p1"), EventKind.MOVED, T0, unit=unit)
    pairs = cooling(140, half_min=25, around_f=44)
    kitchen.arrive("air", [(at_ms, celsius_of_f(44)) for at_ms, _ in pairs], pairs[-1][0])
    kitchen.arrive("p1", pairs, pairs[-1][0])
    kitchen.rounds(pairs[-1][0])
    (soon,) = [finding for finding in kitchen.found() if (finding.kind, finding.clause) == ("soon", STAGE_2)]
    assert "44.0\u202f°F" in soon.reason


def _forecast_of(kitchen: Kitchen, clause: str) -> dict[str, tuple[object, ...]]:
    """Return what is forecast of a clause, by subject."""
    with kitchen.store.read() as session:
        rows = session.exec(select(ForecastState).where(col(ForecastState.clause) == clause)).all()
    return {row.subject: (row.reaches, row.expected_ms, row.earliest_ms, row.latest_ms, row.reason) for row in rows}


@pytest.mark.parametrize("so_far_min", [20, 40, 60])
def test_outlook_of_a_second_cooling_is_that_of_its_own_readings(kitchen: Kitchen, so_far_min: int) -> None:
    """Reheated and cooled again in the same vessel: the same forecast as of food that has only the second cooling."""
    hot_ms = T0 + 7 * HOUR + 22 * MIN
    again: list[Pair] = cooling(so_far_min, from_f=168, half_min=140, start_ms=hot_ms + MIN)
    kitchen.probe("p1")
    batch = kitchen.batch("Twice", "p1")
    kitchen.note(batch, EventKind.LEFT_HEAT, T0)
    kitchen.note(batch, EventKind.REHEATING, T0 + 6 * HOUR, text="hot-holding")
    hot = straight(40, 168, 60, start_ms=T0 + 6 * HOUR + MIN)
    held = straight(168, 168, 20, start_ms=T0 + 7 * HOUR + 2 * MIN)
    kitchen.note(batch, EventKind.LEFT_HEAT, hot_ms)
    kitchen.arrive("p1", [*cooling(360, from_f=205, half_min=35), *hot, *held, *again], again[-1][0])
    kitchen.probe("p2")
    kitchen.batch("Once", "p2", at_ms=hot_ms - 21 * MIN)
    kitchen.arrive("p2", [*hot[-1:], *held, *again], again[-1][0])
    kitchen.rounds(again[-1][0])
    twice, once = _forecast_of(kitchen, STAGE_1).values()
    assert twice[0] is not None
    assert twice == once
