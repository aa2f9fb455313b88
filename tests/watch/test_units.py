"""What the watch finds in units: a verdict a local day, spells across midnight, air that only warns."""

from itertools import pairwise

import pytest

from holdwatch.quantities import celsius_of_f
from holdwatch.storage.register import place, set_site, take_out
from holdwatch.storage.states import due_watch_states
from holdwatch.storage.tables import Unit
from holdwatch.storage.unit_eggs import set_shell_eggs
from holdwatch.watch.unitdays import day_at, day_named
from tests.watch.kitchen import DAY, HOUR, MIN, T0, Kitchen, Pair

COLD = "3-501.16(A)(2)"
MIDNIGHT = T0 + 16 * HOUR


def _flat(first_ms: int, last_ms: int, fahrenheit: float, every_min: int = 5) -> list[Pair]:
    return [(at, celsius_of_f(fahrenheit)) for at in range(first_ms, last_ms, every_min * MIN)]


def _walk_in(kitchen: Kitchen, medium: str = "food", kind: str = "walk-in", at_ms: int = T0) -> Unit:
    kitchen.probe("f1", medium)
    return kitchen.unit("Walk-in 1", kind, "f1", at_ms=at_ms)


def _send(kitchen: Kitchen, readings: list[Pair]) -> None:
    for at in range(0, len(readings), 36):
        part = readings[at : at + 36]
        kitchen.arrive("f1", part, part[-1][0])
        kitchen.rounds(part[-1][0])


def test_unit_has_one_verdict_a_local_day(kitchen: Kitchen) -> None:
    """Denver's days, not those of UTC: two days and a beginning."""
    _walk_in(kitchen)
    _send(kitchen, _flat(T0, T0 + 2 * DAY, 38))
    days = {day: verdict for (_, day, _), verdict in kitchen.verdicts().items()}
    assert days == {"2026-11-24": "met", "2026-11-25": "met", "2026-11-26": "met"}
    assert kitchen.found() == []


def test_spell_of_food_through_midnight_is_one_finding(kitchen: Kitchen) -> None:
    """Both days are missed, and the deviation is one, from its first reading until it is cold again."""
    _walk_in(kitchen)
    _send(kitchen, _flat(T0, MIDNIGHT - HOUR, 38) + _flat(MIDNIGHT - HOUR, MIDNIGHT + HOUR, 45))
    (running,) = kitchen.found()
    assert (running.kind, running.since_ms, running.closed_ms) == ("deviation", MIDNIGHT - HOUR, None)
    _send(kitchen, _flat(MIDNIGHT + HOUR, MIDNIGHT + 2 * HOUR, 38))
    (over,) = kitchen.found()
    assert over.id == running.id
    assert over.closed_ms is not None
    days = {day: verdict for (_, day, _), verdict in kitchen.verdicts().items()}
    assert days == {"2026-11-24": "missed", "2026-11-25": "missed"}


@pytest.mark.parametrize("in_order", [True, False])
def test_probe_out_of_the_food_over_midnight_is_no_warm_food(kitchen: Kitchen, *, in_order: bool) -> None:
    """The day that begins with a probe on the counter is in doubt like the evening before, in whatever order it comes."""
    _walk_in(kitchen)
    out, back = MIDNIGHT - 20 * MIN, MIDNIGHT + 30 * MIN
    evening = _flat(T0, out, 38) + _flat(out, MIDNIGHT, 71)
    morning = _flat(MIDNIGHT, back, 71) + _flat(back, MIDNIGHT + 3 * HOUR, 38)
    kitchen.arrive("f1", evening if in_order else morning, MIDNIGHT + 3 * HOUR)
    kitchen.rounds(MIDNIGHT + 3 * HOUR)
    kitchen.arrive("f1", morning if in_order else evening, MIDNIGHT + 3 * HOUR)
    kitchen.rounds(MIDNIGHT + 3 * HOUR)
    days = {day: verdict for (_, day, _), verdict in kitchen.verdicts().items()}
    assert days == {"2026-11-24": "unproven", "2026-11-25": "unproven"}
    assert {finding.kind for finding in kitchen.found(open_only=True)} == {"not-shown"}


def test_spell_goes_on_over_a_day_without_readings(kitchen: Kitchen) -> None:
    """A hole ends nothing: the food that was warm before it and is warm after it is one spell."""
    _walk_in(kitchen)
    _send(kitchen, _flat(T0, T0 + HOUR, 38) + _flat(T0 + HOUR, T0 + 2 * HOUR, 45))
    kitchen.rounds(T0 + 2 * DAY)
    _send(kitchen, _flat(T0 + 2 * DAY, T0 + 2 * DAY + HOUR, 45))
    food = [finding for finding in kitchen.found() if finding.clause == COLD]
    assert [(f.since_ms, f.closed_ms) for f in food] == [(T0 + HOUR, None)]
    days = {day: verdict for (_, day, _), verdict in kitchen.verdicts().items()}
    assert days == {"2026-11-24": "missed", "2026-11-25": "unproven", "2026-11-26": "missed"}


def test_hole_in_a_day_changes_its_verdict_and_is_told_by_the_silence_alone(kitchen: Kitchen) -> None:
    """One cause, one finding."""
    _walk_in(kitchen)
    _send(kitchen, _flat(T0, T0 + HOUR, 38))
    kitchen.rounds(T0 + 2 * HOUR)
    _send(kitchen, _flat(T0 + 2 * HOUR, T0 + 3 * HOUR, 38))
    assert kitchen.verdicts() == {("unit:1:1", "2026-11-24", COLD): "unproven"}
    (silent,) = kitchen.found()
    assert (silent.subject, silent.closed_ms is not None) == ("probe:1", True)


def test_day_is_judged_when_it_is_over_without_another_reading(kitchen: Kitchen) -> None:
    """Midnight alone makes the day of a silent probe "not shown", and begins the next."""
    _walk_in(kitchen)
    _send(kitchen, _flat(T0, T0 + HOUR, 38))
    kitchen.rounds(MIDNIGHT + MIN)
    days = {day: verdict for (_, day, _), verdict in kitchen.verdicts().items()}
    assert days == {"2026-11-24": "unproven", "2026-11-25": "unproven"}


def test_air_that_is_warm_for_long_warns_and_a_defrost_does_not(kitchen: Kitchen) -> None:
    """Air breaks no food limit: its verdict is none, and after half an hour on end it is worth a look."""
    _walk_in(kitchen, "air")
    defrost = _flat(T0 + HOUR, T0 + HOUR + 25 * MIN, 47)
    _send(kitchen, _flat(T0, T0 + HOUR, 36) + defrost + _flat(T0 + HOUR + 25 * MIN, T0 + 3 * HOUR, 36))
    assert kitchen.found() == []
    _send(kitchen, _flat(T0 + 3 * HOUR, T0 + 3 * HOUR + 40 * MIN, 47))
    (found,) = kitchen.found()
    assert (found.kind, found.verdict, found.since_ms) == ("soon", "none", T0 + 3 * HOUR)
    assert "check the food with a probe" in found.reason
    _send(kitchen, _flat(T0 + 3 * HOUR + 40 * MIN, T0 + 5 * HOUR, 36))
    (over,) = kitchen.found()
    assert over.close_reason.startswith("within 41 °F again")
    assert set(kitchen.verdicts().values()) == {"none"}


def test_unit_that_is_no_store_is_asked_nothing(kitchen: Kitchen) -> None:
    """A blast chiller is judged through the batches in it."""
    _walk_in(kitchen, kind="blast-chiller")
    _send(kitchen, _flat(T0, T0 + HOUR, 70))
    assert kitchen.verdicts() == {}
    assert kitchen.found() == []


@pytest.mark.parametrize(("limits", "verdict"), [("us-food-code-2022", "none"), ("england-wales-ni", "missed")])
def test_freezer_is_held_to_the_figure_that_the_code_has(kitchen: Kitchen, limits: str, verdict: str) -> None:
    """Quick-frozen food at -18 °C or less, SR (NI) 2007/65 Sch. 2; the Food Code, 3-501.11, gives no figure."""
    kitchen.limits(limits)
    _walk_in(kitchen, kind="freezer")
    _send(kitchen, _flat(T0, T0 + HOUR, -5) + _flat(T0 + HOUR, T0 + 2 * HOUR, 5))
    assert set(kitchen.verdicts().values()) == {verdict}
    assert [finding.kind for finding in kitchen.found()] == (["deviation"] if verdict == "missed" else [])


@pytest.mark.parametrize(("warmest", "verdict"), [(45.0, "met"), (45.1, "missed")])
def test_shell_eggs_are_judged_on_the_air_around_them(kitchen: Kitchen, warmest: float, verdict: str) -> None:
    """Ambient air of 45 °F or less, 3-501.16(B); of the food in the same unit air proves and breaks nothing."""
    unit = _walk_in(kitchen, "air")
    with kitchen.store.write() as session:
        set_shell_eggs(session, session.merge(unit), kept=True, at_ms=T0, now_ms=T0, by="test")
    _send(kitchen, _flat(T0, T0 + HOUR, 40) + _flat(T0 + HOUR, T0 + HOUR + 20 * MIN, warmest))
    assert kitchen.verdicts()[("unit:1:1", "2026-11-24", "3-501.16(B)")] == verdict
    assert kitchen.verdicts()[("unit:1:1", "2026-11-24", COLD)] == "none"
    assert [(f.clause, f.kind) for f in kitchen.found()] == (
        [("3-501.16(B)", "deviation")] if verdict == "missed" else []
    )


def test_air_is_asked_only_while_shell_eggs_are_kept(kitchen: Kitchen) -> None:
    """From the declaration on, to when it is taken back; warm air after that breaks nothing."""
    unit = _walk_in(kitchen, "air")
    _send(kitchen, _flat(T0, T0 + HOUR, 50))
    assert {clause for _, _, clause in kitchen.verdicts()} == {COLD}
    for kept, at_ms in ((True, T0 + HOUR), (False, T0 + 2 * HOUR)):
        with kitchen.store.write() as session:
            set_shell_eggs(session, session.merge(unit), kept=kept, at_ms=at_ms, now_ms=at_ms, by="test")
    _send(kitchen, _flat(T0 + HOUR, T0 + 2 * HOUR, 40) + _flat(T0 + 2 * HOUR + MIN, T0 + 2 * HOUR + 25 * MIN, 50))
    assert kitchen.verdicts()[("unit:1:1", "2026-11-24", "3-501.16(B)")] == "met"


def test_hot_cabinet_is_held_to_the_hot_level(kitchen: Kitchen) -> None:
    """Below 135 °F in hot holding is a deviation of its own clause."""
    _walk_in(kitchen, kind="hot-cabinet")
    _send(kitchen, _flat(T0, T0 + HOUR, 140) + _flat(T0 + HOUR, T0 + 2 * HOUR, 130))
    (found,) = kitchen.found()
    assert (found.clause, found.kind) == ("3-501.16(A)(1)", "deviation")
    assert found.reason.startswith("below 135 °F from")


def test_backlog_of_weeks_is_judged_day_by_day(kitchen: Kitchen) -> None:
    """Twenty days that come at once have twenty verdicts and the one spell in them."""
    _walk_in(kitchen, at_ms=T0 - 20 * DAY)
    readings = _flat(T0 - 20 * DAY, T0, 38, every_min=15)
    warm = [(at, celsius_of_f(45) if 0 <= at - (T0 - 9 * DAY) < HOUR else c) for at, c in readings]
    kitchen.arrive("f1", warm, T0)
    kitchen.rounds(T0)
    verdicts = list(kitchen.verdicts().values())
    assert (len(verdicts), verdicts.count("missed")) == (21, 1)
    (found,) = kitchen.found()
    assert (found.since_ms, found.closed_ms) == (T0 - 9 * DAY, T0)


def _days(kitchen: Kitchen, subject: str = "unit:1:1") -> dict[str, str]:
    return {day: verdict for (of, day, _), verdict in kitchen.verdicts().items() if of == subject}


@pytest.mark.parametrize(("again_ms", "verdict"), [(None, "unproven"), (6 * HOUR, "unproven"), (10 * MIN, "met")])
def test_day_of_which_half_an_hour_was_watched_is_not_kept(
    kitchen: Kitchen, again_ms: int | None, verdict: str
) -> None:
    """The end of the day is not covered, unless another probe went on within the largest gap."""
    unit = _walk_in(kitchen)
    out_ms = MIDNIGHT + 30 * MIN
    _send(kitchen, _flat(T0, out_ms, 38))
    with kitchen.store.write() as session:
        take_out(session, kitchen.probes["f1"], at_ms=out_ms, now_ms=out_ms, by="test")
    kitchen.rounds(out_ms + MIN)
    if again_ms is not None:
        at_ms = out_ms + again_ms
        probe = kitchen.probe("f2")
        with kitchen.store.write() as session:
            place(session, probe, unit=session.merge(unit), at_ms=at_ms, now_ms=at_ms, by="test")
        kitchen.arrive("f2", _flat(at_ms, MIDNIGHT + 25 * HOUR, 38), MIDNIGHT + 25 * HOUR)
    kitchen.rounds(MIDNIGHT + 25 * HOUR)
    assert _days(kitchen) == {"2026-11-24": "met", "2026-11-25": verdict}
    if verdict == "unproven":
        assert "A probe stood there only from" in str(kitchen.clauses()[1].facts["reason"])
    if again_ms is not None:
        assert _days(kitchen, "unit:1:2")["2026-11-25"] == verdict


@pytest.mark.parametrize(("before", "after"), [("UTC", "America/Denver"), ("America/Denver", "UTC")])
@pytest.mark.parametrize("late", [False, True])
def test_every_hour_is_of_one_day_where_the_zone_is_set_right(
    kitchen: Kitchen, before: str, after: str, *, late: bool
) -> None:
    """Five warm hours between the two midnights: the day that has them is missed, and the watch comes to rest."""
    for zone, at_ms in ((before, T0 - 39 * DAY), (after, T0 + 3 * HOUR)):
        with kitchen.store.write() as session:
            set_site(
                session,
                name="Linden Street Patisserie",
                timezone=zone,
                limits="us-food-code-2022",
                unit="F",
                from_ms=at_ms,
                now_ms=at_ms,
                by="test",
            )
    _walk_in(kitchen, at_ms=T0 - 6 * HOUR)
    warm = _flat(T0 + 10 * HOUR, T0 + 15 * HOUR, 60, 10)
    cold = _flat(T0 - 6 * HOUR, T0 + 10 * HOUR, 38, 10), _flat(T0 + 15 * HOUR, T0 + 30 * HOUR, 38, 10)
    if late:
        kitchen.arrive("f1", [*cold[0], *cold[1]], T0 + 30 * HOUR)
        kitchen.rounds(T0 + 30 * HOUR)
        kitchen.arrive("f1", warm, T0 + 30 * HOUR)
    else:
        kitchen.arrive("f1", [*cold[0], *warm, *cold[1]], T0 + 30 * HOUR)
    kitchen.rounds(T0 + 30 * HOUR)
    days = _days(kitchen)
    assert days == (
        {"2026-11-24": "met", "2026-11-25": "missed"}
        if before == "UTC"
        else {"2026-11-24": "missed", "2026-11-25": "met"}
    )
    with kitchen.store.read() as session:
        assert not due_watch_states(session, T0 + 30 * HOUR)
        named = [day_named(session, day) for day in ("2026-11-23", "2026-11-24", "2026-11-25", "2026-11-26")]
        assert all(last.last_ms + 1 == first.first_ms for last, first in pairwise(named))
        assert day_at(session, T0 + 12 * HOUR).name == next(day for day, verdict in days.items() if verdict == "missed")
