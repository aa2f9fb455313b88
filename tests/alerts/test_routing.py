"""Who is told, when: by kind, unit, weekday and hour, and after how long nobody has seen it."""

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from holdwatch.alerts.routing import Route, told
from holdwatch.clock import to_ms
from holdwatch.storage.tables import FindingKind

ZONE = "America/Denver"
COOK, MANAGER, OWNER = 1, 2, 3
MINUTE = 60_000


def _at(day: int, hour: int, minute: int = 0) -> int:
    """Return an instant of November 2026 by Denver's clock; the 23rd is a Monday."""
    return to_ms(datetime(2026, 11, day, hour, minute, tzinfo=ZoneInfo(ZONE)))


NIGHT = Route(from_min=22 * 60, to_min=5 * 60)
FRIDAY_NIGHT = Route(days=frozenset({4}), from_min=22 * 60, to_min=5 * 60)
DAY = Route(from_min=5 * 60, to_min=22 * 60)


@pytest.mark.parametrize(
    ("route", "at_ms", "matches"),
    [
        (Route(), _at(23, 0), True),
        (DAY, _at(23, 4, 59), False),
        (DAY, _at(23, 5), True),
        (DAY, _at(23, 21, 59), True),
        (DAY, _at(23, 22), False),
        (NIGHT, _at(23, 22), True),
        (NIGHT, _at(24, 4, 59), True),
        (NIGHT, _at(24, 5), False),
        (FRIDAY_NIGHT, _at(27, 23), True),  # Friday
        (FRIDAY_NIGHT, _at(28, 4), True),  # Saturday before dawn is still Friday's night
        (FRIDAY_NIGHT, _at(27, 4), False),  # Friday before dawn is Thursday's
        (FRIDAY_NIGHT, _at(28, 23), False),
        (Route(days=frozenset({6})), _at(29, 12), True),
        (Route(days=frozenset({6})), _at(30, 12), False),
    ],
)
def test_hours_and_weekdays(route: Route, at_ms: int, matches: bool) -> None:
    """Both ends of a span, and the night that belongs to the day it begins on."""
    local = datetime.fromtimestamp(at_ms / 1000, ZoneInfo(ZONE))
    assert route.matches(FindingKind.SOON, None, local) == matches


def test_kinds_and_units() -> None:
    """A route for one walk-in says nothing of batches."""
    local = datetime(2026, 11, 23, 12, tzinfo=ZoneInfo(ZONE))
    own = Route(kinds=frozenset({FindingKind.DEVIATION}), units=frozenset({7}))
    assert own.matches(FindingKind.DEVIATION, 7, local)
    assert not own.matches(FindingKind.SOON, 7, local)
    assert not own.matches(FindingKind.DEVIATION, 8, local)
    assert not own.matches(FindingKind.DEVIATION, None, local)


def test_without_routes_everybody_is_told_at_once() -> None:
    """The kitchen that has set nothing misses nothing."""
    assert told({COOK: (), MANAGER: ()}, FindingKind.SOON, None, _at(23, 3), ZONE) == {COOK: 0, MANAGER: 0}


def test_passing_on_goes_from_cook_to_manager_to_owner() -> None:
    """Each with an own wait; the soonest of a contact's routes counts."""
    routes = {
        COOK: (Route(),),
        MANAGER: (Route(after_ms=15 * MINUTE), Route(kinds=frozenset({FindingKind.DEVIATION}), after_ms=5 * MINUTE)),
        OWNER: (Route(after_ms=45 * MINUTE),),
    }
    assert told(routes, FindingKind.SOON, None, _at(23, 9), ZONE) == {COOK: 0, MANAGER: 15 * MINUTE, OWNER: 45 * MINUTE}
    assert told(routes, FindingKind.DEVIATION, None, _at(23, 9), ZONE)[MANAGER] == 5 * MINUTE


def test_hours_are_those_at_which_it_would_ring() -> None:
    """Passed on at 05:50 for a wait of a quarter of an hour, it rings at 06:05: by the hours of 06:05."""
    early = Route(from_min=6 * 60, to_min=14 * 60, after_ms=15 * MINUTE)
    late = Route(from_min=14 * 60, to_min=6 * 60, after_ms=15 * MINUTE)
    assert told({COOK: (early,), MANAGER: (late,)}, FindingKind.SOON, None, _at(23, 5, 50), ZONE) == {COOK: 15 * MINUTE}


def test_where_nobody_is_on_everybody_is_told() -> None:
    """A hole in the rota swallows nothing."""
    assert told({COOK: (DAY,), MANAGER: (DAY,)}, FindingKind.SOON, None, _at(23, 3), ZONE) == {COOK: 0, MANAGER: 0}


def test_the_hour_that_is_twice_matches_twice() -> None:
    """On the morning the clocks go back both passes of 01:30 are in a route from 01:00 to 02:00."""
    route = Route(from_min=60, to_min=120)
    first = to_ms(datetime(2026, 11, 1, 1, 30, tzinfo=ZoneInfo(ZONE)))
    for at_ms in (first, first + 60 * MINUTE):
        assert (
            told({COOK: (route,), OWNER: (Route(after_ms=MINUTE * 999),)}, FindingKind.SOON, None, at_ms, ZONE)[COOK]
            == 0
        )
    assert COOK not in told({COOK: (route,), OWNER: ()}, FindingKind.SOON, None, first + 120 * MINUTE, ZONE)
