"""The demonstration goes on: probes speak, cooks do their steps, after a pause as before."""

from typing import Any

import numpy as np
import pytest

from devices.simulator.device import Device
from devices.simulator.linden_street import DEVICES
from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.demo.batches import pan_readings
from holdwatch.demo.live import HELD_BACK_MS, LiveKitchen, main
from holdwatch.demo.plan import NEXT_SET_AFTER_MS, DemoPlan
from holdwatch.errors import ConfigError
from holdwatch.storage.register import batch_named, batches, events
from holdwatch.storage.tables import EventKind
from tests.demo.conftest import T0, Demo


class Heard:
    """Stands in for the publisher: writes down what is published."""

    def __init__(self) -> None:
        self.said: list[tuple[str, int, float]] = []

    def publish(self, device: Device, at_ms: int, celsius: float) -> None:
        """Note a reading."""
        self.said.append((device.code, at_ms, celsius))

    def send_due(self) -> int:
        """Send nothing."""
        return 0

    def of(self, code: str) -> list[tuple[int, float]]:
        """Return what one probe said."""
        return [(at, celsius) for name, at, celsius in self.said if name == code]


class Clock:
    """A clock that is set."""

    def __init__(self, at_ms: int) -> None:
        self.at_ms = at_ms

    def __call__(self) -> int:
        """Return the instant it is set to."""
        return self.at_ms


def kitchen(demo: Demo, at_ms: int) -> tuple[LiveKitchen, Heard, Clock]:
    """Start the live kitchen of a demonstration at an instant."""
    heard, clock = Heard(), Clock(at_ms)
    publisher: Any = heard
    return LiveKitchen(demo.data, demo.store, publisher, clock), heard, clock


def test_live_goes_on_with_the_curves_of_the_history(copy: Demo) -> None:
    """The first live reading of each probe follows its last one of the history, in time and in temperature."""
    live, heard, clock = kitchen(copy, T0)
    clock.at_ms = T0 + 5 * MS_PER_MINUTE
    live.go_on()
    for batch in copy.plan.live():
        before = pan_readings(batch, copy.plan.rooms, np.arange(T0 - 120_000, T0, 1000, dtype=np.int64), copy.plan.seed)
        first_at, first_c = heard.of(batch.device)[0]
        assert T0 - MS_PER_MINUTE <= first_at <= T0 + 2 * MS_PER_MINUTE
        assert first_c == pytest.approx(float(before[1][-1]), abs=1.5)
    assert {code for code, _, _ in heard.said} == set(DEVICES)


def test_live_says_every_instant_once(copy: Demo) -> None:
    """Half a minute apart, none twice, however often it goes round."""
    live, heard, clock = kitchen(copy, T0)
    for second in range(0, 600, 7):
        clock.at_ms = T0 + second * 1000
        live.go_on()
    assert len({(code, at) for code, at, _ in heard.said}) == len(heard.said)
    instants = [at for at, _ in heard.of("fz-air") if at >= T0]
    assert len(instants) >= 18
    assert all(at % 30_000 == 0 for at in instants)


def test_live_in_one_go_or_in_many_says_the_same(copy: Demo) -> None:
    """What is read depends on the instant alone."""
    live, heard, clock = kitchen(copy, T0)
    again, reheard, reclock = kitchen(copy, T0)
    for second in range(0, 301, 30):
        clock.at_ms = T0 + second * 1000
        live.go_on()
    reclock.at_ms = T0 + 300_000
    again.go_on()
    for code, device in DEVICES.items():
        if device.tells_instant:
            first, second_time = heard.of(code), reheard.of(code)
            assert [at for at, _ in first] == [at for at, _ in second_time]
            assert [c for _, c in first] == pytest.approx([c for _, c in second_time], abs=0.08)


def test_live_after_a_pause_delivers_what_was_held_back(copy: Demo) -> None:
    """Probes with a memory deliver the hours between; the one that says bare numbers has none of them."""
    pause = 3 * MS_PER_HOUR
    live, heard, _ = kitchen(copy, T0 + pause)
    live.go_on()
    held = [at for at, _ in heard.of("wi-food")]
    assert held[0] <= T0 + MS_PER_MINUTE
    assert held[-1] > T0 + pause - MS_PER_MINUTE
    assert np.diff(held).max() <= 15 * MS_PER_MINUTE
    assert all(at > T0 + pause - 2 * MS_PER_MINUTE for at, _ in heard.of("wi-air"))


def test_live_after_days_delivers_only_the_last_one(copy: Demo) -> None:
    """A memory is bounded: what is older than a day is a hole in the record."""
    later = T0 + 5 * MS_PER_DAY
    live, heard, _ = kitchen(copy, later)
    live.go_on()
    assert later - HELD_BACK_MS <= min(at for _, at, _ in heard.said)


def test_live_does_each_step_once_and_at_its_time(copy: Demo) -> None:
    """The custard is thrown away an hour after the beginning, and only once."""
    forgotten = copy.plan.live()[0]
    live, _, clock = kitchen(copy, T0)
    live.go_on()
    with copy.store.read() as session:
        assert batch_named(session, forgotten.lot).ended_ms is None
    for minutes in (61, 62, 63):
        clock.at_ms = T0 + minutes * MS_PER_MINUTE
        live.go_on()
    with copy.store.read() as session:
        batch = batch_named(session, forgotten.lot)
        assert (batch.ended_ms, batch.outcome) == (forgotten.end_ms, "discarded")
        noted = [event.kind for event in events(session, batch_id=batch.id)]
        assert noted.count(EventKind.ACTION.value) == 1
        assert noted.count(EventKind.ENDED.value) == 1


def test_live_starts_new_batches_when_the_old_ones_are_over(copy: Demo) -> None:
    """A demonstration that runs on lays out the next set by itself, and starts it when its time comes."""
    live, heard, clock = kitchen(copy, T0)
    clock.at_ms = T0 + NEXT_SET_AFTER_MS
    live.go_on()
    plan = DemoPlan.load(copy.data)
    assert plan is not None
    assert len(plan.sets_ms) == 2
    with copy.store.read() as session:
        assert batches(session, running_only=True) == []
    clock.at_ms = plan.sets_ms[-1]
    live.go_on()
    with copy.store.read() as session:
        assert len(batches(session, running_only=True)) == 4
    newest = plan.live()[-1]
    assert [at for at, _ in heard.of(newest.device)][-1] > newest.placed_ms


def test_live_new_set_at_a_start_brings_its_past_with_it(copy: Demo) -> None:
    """After a night the kitchen is alive at once: the batches' first hours are delivered late."""
    morning = T0 + 15 * MS_PER_HOUR
    copy.plan.with_next_set(morning, ahead=False).save(copy.data)
    live, heard, _ = kitchen(copy, morning)
    live.go_on()
    with copy.store.read() as session:
        running = batches(session, running_only=True)
    assert len(running) == 4
    forgotten = live.plan.live()[4]
    told = [celsius for at, celsius in heard.of(forgotten.device) if at > forgotten.placed_ms]
    assert max(told) > 60
    assert told[-1] > 21.2


def test_live_program_without_demonstration_ends_with_status_2(
    tmp_path: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is not started again, and says why in one line."""
    assert main(["--data", str(tmp_path), "--broker", "mqtt://127.0.0.1:1"]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_live_kitchen_needs_a_plan(copy: Demo) -> None:
    """A store without the demonstration's own file is not one."""
    (copy.data / "demo.json").unlink()
    with pytest.raises(ConfigError, match="holds no demonstration"):
        kitchen(copy, T0)
