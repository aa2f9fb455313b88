"""What a forecast leads to: a warning that says by how much it misses, in the unit of the site."""

from holdwatch.quantities import celsius_of_f
from holdwatch.storage.tables import EventKind
from tests.watch.kitchen import HOUR, MIN, T0, Kitchen, cooling

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
