"""Probes that speak and are not well: told once, by one finding a cause, and over when they are well again."""

import pytest

from holdwatch.quantities import celsius_of_f
from holdwatch.storage.aside import set_aside
from holdwatch.storage.readings import NewReading, write_readings
from holdwatch.storage.tables import EventKind, Finding, ReadingFlag
from tests.watch.kitchen import DAY, HOUR, MIN, T0, Kitchen, minutes, straight

WALK_IN = "Walk-in 1"
S = 1_000


@pytest.fixture
def walk_in(kitchen: Kitchen) -> Kitchen:
    """A food probe in a walk-in, for days, and an air probe beside it."""
    kitchen.probe("p1")
    kitchen.probe("a1", "air")
    kitchen.unit(WALK_IN, "walk-in", "p1", "a1", at_ms=T0 - 3 * DAY)
    return kitchen


def _of(kitchen: Kitchen, code: str, *, open_only: bool = False) -> list[Finding]:
    subject = f"probe:{kitchen.probes[code].id}"
    return [finding for finding in kitchen.found(open_only=open_only) if finding.subject == subject]


def _refused(kitchen: Kitchen, code: str, at_ms: int, payload: bytes = b"-127.0") -> None:
    with kitchen.store.write() as session:
        detail = f"{code}: −127 is what libraries answer for a DS18B20 that is not connected: look at its wiring"
        set_aside(session, kitchen.probes[code].topic, payload, "impossible-value", detail, at_ms)


def _minute_by_minute(kitchen: Kitchen, first_min: int, last_min: int) -> None:
    for minute in range(first_min, last_min + 1):
        kitchen.rounds(T0 + minute * MIN)


def test_disconnected_probe_is_one_finding_instead_of_a_silence(walk_in: Kitchen) -> None:
    """A probe that answers −127 is told as that, once, in the unit where it stands; its silence is not told as well."""
    walk_in.arrive("p1", minutes(*[38.0] * 20, start_ms=T0 - 19 * MIN), T0)
    walk_in.rounds(T0)
    for minute in range(1, 41):
        _refused(walk_in, "p1", T0 + minute * MIN)
        walk_in.rounds(T0 + minute * MIN)
    (found,) = _of(walk_in, "p1")
    assert (found.kind, found.title, found.version) == ("system", f"Probe p1 in {WALK_IN}", 1)
    assert found.reason.startswith("it speaks, and sends no temperature: −127")
    assert found.since_ms == T0 + MIN
    assert found.unit_id == walk_in.units[WALK_IN].id
    for minute in range(41, 50):
        walk_in.arrive("p1", minutes(38.0, start_ms=T0 + minute * MIN), T0 + minute * MIN)
        walk_in.rounds(T0 + minute * MIN)
    (found,) = _of(walk_in, "p1")
    assert found.close_reason == "it sends temperatures that can be again"
    assert found.closed_ms == T0 + 45 * MIN


def test_probe_that_answers_now_and_then_is_told_once(walk_in: Kitchen) -> None:
    """Three refusals and a reading, again and again for an hour: one finding, no storm."""
    walk_in.arrive("p1", minutes(*[38.0] * 20, start_ms=T0 - 19 * MIN), T0)
    walk_in.rounds(T0)
    for minute in range(1, 61):
        if minute % 4:
            _refused(walk_in, "p1", T0 + minute * MIN)
        else:
            walk_in.arrive("p1", minutes(38.0, start_ms=T0 + minute * MIN), T0 + minute * MIN)
        walk_in.rounds(T0 + minute * MIN)
    (found,) = _of(walk_in, "p1")
    assert (found.closed_ms, found.version) == (None, 1)


def test_probe_that_went_offline_says_so_beside_its_silence(walk_in: Kitchen) -> None:
    """A broker's word that a device is gone is the reason, in place of the silence."""
    walk_in.arrive("p1", minutes(*[38.0] * 20, start_ms=T0 - 19 * MIN), T0)
    walk_in.rounds(T0)
    _refused(walk_in, "p1", T0 + MIN, b"offline")
    _minute_by_minute(walk_in, 1, 30)
    (found,) = _of(walk_in, "p1")
    assert "gone offline" in found.reason


def test_loose_contact_is_told_and_breaks_no_limit(walk_in: Kitchen) -> None:
    """Spikes to 120 °F every eight minutes: the sieve sets them aside, and one finding sends somebody to look."""
    for minute in range(61):
        now = T0 + minute * MIN
        walk_in.arrive("p1", minutes(120.0 if minute % 8 == 4 else 38.0, start_ms=now), now)
        if minute % 4 == 0:  # each spike is the latest that is known, for a while
            walk_in.rounds(now)
    (found,) = _of(walk_in, "p1", open_only=True)
    assert "jumped away and back 5 times" in found.reason
    assert found.facts["process"] == "probe-implausible"
    assert "missed" not in walk_in.verdicts().values()


@pytest.mark.parametrize("half_degrees", [False, True])
def test_stuck_probe_is_told_after_twelve_hours_and_a_coarse_one_is_not(
    walk_in: Kitchen, *, half_degrees: bool
) -> None:
    """One that moved all day and stands still now is stuck; one that always stands still is in a good fridge."""
    days = 48 * 30
    before = [38.0 if half_degrees else 38 + 0.2 * (n // 5 % 3) for n in range(days)]
    walk_in.arrive("p1", minutes(*before, start_ms=T0 - days * 2 * MIN, every_ms=2 * MIN), T0)
    for hour in range(1, 15):
        now = T0 + hour * HOUR
        walk_in.arrive("p1", minutes(*[38.0] * 30, start_ms=now - 58 * MIN, every_ms=2 * MIN), now)
        walk_in.rounds(now)
    found = _of(walk_in, "p1")
    assert len(found) == (0 if half_degrees else 1)
    if found:
        assert "nothing else since" in found[0].reason
        assert found[0].facts["process"] == "probe-stuck"
        now = T0 + 15 * HOUR
        walk_in.arrive("p1", minutes(38.4, start_ms=now), now)
        walk_in.rounds(now)
        assert _of(walk_in, "p1")[0].close_reason == "it has changed again"


def test_stuck_probe_while_its_unit_warms_is_told_after_four_hours(walk_in: Kitchen) -> None:
    """The compressor fails at night: the air goes to 65 °F, and the food probe still reads 38 °F to the digit."""
    for half in range(1, 13):
        now = T0 + half * 30 * MIN
        walk_in.arrive("p1", minutes(*[38.0] * 15, start_ms=now - 28 * MIN, every_ms=2 * MIN), now)
        air = straight(38 + (half - 1) * 3, 38 + half * 3, 28, start_ms=now - 28 * MIN, every_min=2)
        walk_in.arrive("a1", air, now)
        walk_in.rounds(now)
    (found,) = _of(walk_in, "p1")
    assert "the air beside it has warmed or cooled" in found.reason
    assert found.opened_ms <= T0 + 5 * HOUR


def _state(kitchen: Kitchen, at_ms: int, received_ms: int, flag: ReadingFlag = ReadingFlag.OWN_INSTANT) -> None:
    reading = NewReading(kitchen.probes["p1"].id or 0, at_ms, celsius_of_f(38), received_ms, int(flag))
    with kitchen.store.write() as session:
        write_readings(session, [reading], received_ms)


def test_device_clock_that_is_an_hour_behind_is_told_once(walk_in: Kitchen) -> None:
    """Its readings arrive one by one, each stating an instant an hour ago; over when the clock is set."""
    for minute in range(12):
        _state(walk_in, T0 + minute * MIN - HOUR, T0 + minute * MIN)
        walk_in.rounds(T0 + minute * MIN)
    (found,) = [f for f in _of(walk_in, "p1") if f.facts["process"] == "probe-clock"]
    assert found.reason.startswith("its clock is 1 h behind")
    assert found.version == 1
    for minute in range(12, 24):
        _state(walk_in, T0 + minute * MIN, T0 + minute * MIN + S)
        walk_in.rounds(T0 + minute * MIN + S)
    assert _of(walk_in, "p1", open_only=True) == []


def test_device_clock_that_is_a_day_ahead_is_told_instead_of_a_silence(walk_in: Kitchen) -> None:
    """What it sends is kept and not judged: the finding says why, and that is no silence."""
    for minute in range(40):
        now = T0 + minute * MIN
        _state(walk_in, now, now, ReadingFlag.IMPLAUSIBLE_INSTANT)
        walk_in.rounds(now)
    (found,) = _of(walk_in, "p1", open_only=True)
    assert found.facts["process"] == "probe-clock"
    assert "nobody knows when it was" in found.reason


def test_outbox_of_a_device_that_was_away_tells_of_no_clock(walk_in: Kitchen) -> None:
    """An hour of readings in one burst is late and rightly dated."""
    for minute in range(60):
        _state(walk_in, T0 + minute * MIN, T0 + HOUR + minute * 50)
    walk_in.rounds(T0 + HOUR + 3 * S)
    assert [f for f in _of(walk_in, "p1") if f.facts["process"] == "probe-clock"] == []


def test_fault_of_a_probe_in_a_batch_is_a_finding_of_the_batch(kitchen: Kitchen) -> None:
    """It stands on the batch's page, and is over when the probe is taken out."""
    kitchen.probe("p1")
    batch = kitchen.batch("L1", "p1")
    for minute in range(1, 10):
        _refused(kitchen, "p1", T0 + minute * MIN)
    _minute_by_minute(kitchen, 1, 10)
    (found,) = _of(kitchen, "p1", open_only=True)
    assert (found.batch_id, found.title) == (batch.id, "Probe p1 in Pastry cream L1")
    kitchen.note(batch, EventKind.PROBE_OUT_OF_FOOD, T0 + 11 * MIN, vessel=1)
    kitchen.rounds(T0 + 11 * MIN)
    assert _of(kitchen, "p1", open_only=True) == []
