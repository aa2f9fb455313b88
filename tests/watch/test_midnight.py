"""Midnight cuts days, and nothing else: what a probe said before and after it is one record."""

import pytest

from holdwatch.quantities import celsius_of_f
from holdwatch.storage import register
from tests.watch.kitchen import DAY, HOUR, MIN, T0, Kitchen, Pair

MIDNIGHT = T0 + 16 * HOUR
"""Denver's: the end of 24 November."""
S = 1_000


def _flat(first_ms: int, last_ms: int, fahrenheit: float, every_min: int = 5) -> list[Pair]:
    return [(at, celsius_of_f(fahrenheit)) for at in range(first_ms, last_ms, every_min * MIN)]


def _walk_in(kitchen: Kitchen) -> None:
    kitchen.probe("f1")
    kitchen.unit("Walk-in 1", "walk-in", "f1", at_ms=T0)


def _days(kitchen: Kitchen) -> dict[str, str]:
    return {day: verdict for (_, day, _), verdict in kitchen.verdicts().items()}


@pytest.mark.parametrize("back_after_s", [0, 90])
@pytest.mark.parametrize("late", [False, True])
def test_spike_at_the_end_of_a_day_breaks_no_day(kitchen: Kitchen, back_after_s: int, *, late: bool) -> None:
    """A reading of 70 °F half a minute before midnight, and cold again after it, is a spike whenever that is heard."""
    _walk_in(kitchen)
    spike = (MIDNIGHT - 30 * S, celsius_of_f(70))
    back = (MIDNIGHT + back_after_s * S, celsius_of_f(38))
    evening = [*_flat(T0, MIDNIGHT, 38), spike]
    morning = _flat(MIDNIGHT + 4 * MIN, MIDNIGHT + HOUR, 38)
    kitchen.arrive("f1", evening, spike[0])
    kitchen.rounds(spike[0])
    assert _days(kitchen) == {"2026-11-24": "open"}
    if late:
        kitchen.arrive("f1", morning, morning[-1][0])
        kitchen.rounds(morning[-1][0])
        assert _days(kitchen)["2026-11-24"] != "met"
    kitchen.arrive("f1", [back, *morning], morning[-1][0])
    kitchen.rounds(morning[-1][0])
    assert _days(kitchen) == {"2026-11-24": "met", "2026-11-25": "met"}
    assert [finding for finding in kitchen.found(open_only=True) if finding.kind == "deviation"] == []


def test_spike_where_the_evening_begins_is_no_probe_out_of_the_food(kitchen: Kitchen) -> None:
    """The next day looks back twelve hours: a spike at that very reading is not taken for food that the probe left."""
    _walk_in(kitchen)
    day = _flat(T0, MIDNIGHT + HOUR, 38, every_min=1)
    noon = MIDNIGHT - 12 * HOUR
    kitchen.arrive("f1", [(at, celsius_of_f(85)) if at == noon else (at, c) for at, c in day], MIDNIGHT + HOUR)
    kitchen.rounds(MIDNIGHT + HOUR)
    assert _days(kitchen) == {"2026-11-24": "met", "2026-11-25": "met"}
    assert kitchen.clauses()[-1].facts["used"] == 60


def test_warm_food_at_the_end_of_a_day_is_no_spike(kitchen: Kitchen) -> None:
    """Food that is still warm after midnight was warm before it."""
    _walk_in(kitchen)
    warm = [*_flat(T0, MIDNIGHT - 40 * MIN, 38), *_flat(MIDNIGHT - 40 * MIN, MIDNIGHT + HOUR, 48)]
    kitchen.arrive("f1", warm, MIDNIGHT + HOUR)
    kitchen.rounds(MIDNIGHT + HOUR)
    assert _days(kitchen) == {"2026-11-24": "missed", "2026-11-25": "missed"}


@pytest.mark.parametrize("out_hours", [3, 11, 13, 15.5])
@pytest.mark.parametrize("groups", [1, 9, 30])
def test_probe_out_for_days_is_in_doubt_on_every_one_of_them(kitchen: Kitchen, out_hours: float, groups: int) -> None:
    """However long ago it was pulled out, the days after it do not take the counter for warm food."""
    _walk_in(kitchen)
    out, back = MIDNIGHT - round(out_hours * HOUR), MIDNIGHT + 2 * DAY + 6 * HOUR
    told = _flat(T0, out, 38) + _flat(out, back, 71) + _flat(back, MIDNIGHT + 3 * DAY + HOUR, 38)
    for group in range(groups):
        part = told[len(told) * group // groups : len(told) * (group + 1) // groups]
        kitchen.arrive("f1", part, part[-1][0])
        kitchen.rounds(part[-1][0])
    assert _days(kitchen) == {
        "2026-11-24": "unproven",
        "2026-11-25": "unproven",
        "2026-11-26": "unproven",
        "2026-11-27": "unproven",
        "2026-11-28": "met",
    }


def test_word_that_settles_a_doubt_reaches_every_day_of_it(kitchen: Kitchen) -> None:
    """The cook says days later that the probe was placed anew that morning: then the food was warm, on all the days."""
    _walk_in(kitchen)
    out, now = MIDNIGHT - 15 * HOUR, MIDNIGHT + 2 * DAY + HOUR
    kitchen.arrive("f1", _flat(T0, out, 38) + _flat(out, now, 71), now)
    kitchen.rounds(now)
    days = ("2026-11-24", "2026-11-25", "2026-11-26", "2026-11-27")
    assert _days(kitchen) == dict.fromkeys(days, "unproven")
    with kitchen.store.write() as session:
        probe, unit = session.merge(kitchen.probes["f1"]), session.merge(kitchen.units["Walk-in 1"])
        register.place(session, probe, unit=unit, at_ms=out - MIN, now_ms=now, by="test")
    kitchen.rounds(now)
    assert _days(kitchen) == dict.fromkeys(days, "missed")
    assert [finding.since_ms for finding in kitchen.found(open_only=True)] == [out]


def test_day_that_arrives_last_reaches_every_day_that_its_doubt_reaches(kitchen: Kitchen) -> None:
    """A week of 71 °F looks like warm food until the day arrives on which the probe was pulled out."""
    _walk_in(kitchen)
    out, now = MIDNIGHT - 15 * HOUR, MIDNIGHT + 5 * DAY + HOUR
    kitchen.arrive("f1", _flat(MIDNIGHT, now, 71), now)
    kitchen.rounds(now)
    assert set(list(_days(kitchen).values())[1:]) == {"missed"}
    kitchen.arrive("f1", _flat(T0, out, 38) + _flat(out, MIDNIGHT, 71), now)
    kitchen.rounds(now)
    assert set(_days(kitchen).values()) == {"unproven"}
    assert {finding.kind for finding in kitchen.found(open_only=True)} == {"not-shown"}
