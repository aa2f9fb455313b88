"""The demonstration's kitchen as it goes on: probes speak over MQTT, cooks do the next step.

It keeps nothing itself. What the probes read is computed from the plan, the seed and the present; where each of them
left off is in the store; so after a pause the probes with a memory deliver what they held back, and all go on.
``python -m holdwatch.demo.live`` runs it, with the settings that the supervisor hands on.
"""

import argparse
import logging
import os
import signal
import sys
import threading
from functools import partial
from pathlib import Path

import numpy as np

from devices.simulator.chance import Instants
from devices.simulator.device import Device
from devices.simulator.kitchen import Readings
from devices.simulator.linden_street import DEVICES, STANDING, standing_readings
from devices.simulator.live import Feed, speak_up_to
from devices.simulator.outbox import Outbox
from devices.simulator.publisher import Publisher
from devices.simulator.rooms import Room
from holdwatch.clock import MS_PER_DAY, MS_PER_MINUTE, Clock, now_ms
from holdwatch.demo.batches import BatchPlan, pan_readings
from holdwatch.demo.plan import DemoPlan
from holdwatch.demo.steps import take_steps
from holdwatch.errors import ConfigError, HoldwatchError, StoreBusyError
from holdwatch.settings import load_settings
from holdwatch.storage.engine import Store, open_store
from holdwatch.storage.readings import last_readings
from holdwatch.storage.register import probes

__all__ = ["LiveKitchen"]

log = logging.getLogger(__name__)

HELD_BACK_MS = MS_PER_DAY
"""A probe's memory: what is older when the kitchen comes back is gone."""
STEPS_EVERY_MS = 10_000
MEMORY = 50_000
"""Readings that all probes together can hold back."""
COULD_NOT_START = 2


class LiveKitchen:
    """The kitchen from now on."""

    def __init__(self, data: Path, store: Store, publisher: Publisher, clock: Clock = now_ms) -> None:
        """Find out where every probe left off."""
        found = DemoPlan.load(data)
        if found is None:
            raise ConfigError(f"{data} holds no demonstration: start it with `holdwatch demo --data {data}`")
        self.plan = found
        self._data, self._store, self._publisher, self._clock = data, store, publisher, clock
        self._batches = _not_ended(self.plan, clock())
        self._steps_ms = 0
        self.feeds = [Feed(device, self._readings(device), at) for device, at in self._left_off(clock())]

    def go_on(self) -> int:
        """Do the steps that fall due and speak for the probes; return how many readings went out."""
        at_ms = self._clock()
        if at_ms - self._steps_ms >= STEPS_EVERY_MS:
            self._steps_ms = at_ms
            self._do_steps(at_ms)
        return speak_up_to(self.feeds, self._publisher, at_ms, bare_older_than_ms=MS_PER_MINUTE)

    def _left_off(self, at_ms: int) -> list[tuple[Device, int]]:
        """Return from when on each probe has still to speak."""
        with self._store.read() as session:
            codes = {probe.id: probe.code for probe in probes(session)}
            last = {codes[probe_id]: reading.at_ms for probe_id, reading in last_readings(session, None).items()}
        oldest = at_ms - HELD_BACK_MS
        return [
            (device, max(last.get(code, oldest) + 1, oldest) if device.tells_instant else at_ms)
            for code, device in DEVICES.items()
        ]

    def _readings(self, device: Device) -> "partial[Readings]":
        """Return the function that says what a probe reads at given instants."""
        rooms = self.plan.rooms
        for standing in STANDING:
            if standing.device is device:
                return partial(standing_readings, standing, rooms, seed=self.plan.seed)
        return partial(self._pan, device.code, rooms)

    def _pan(self, code: str, rooms: dict[str, Room], at_ms: Instants) -> Readings:
        """Return what a probe reads that goes from pan to pan; between two of them it is switched off."""
        parts = [
            pan_readings(batch, rooms, at_ms, self.plan.seed)
            for batch in self._batches
            if batch.device == code and len(at_ms) and batch.placed_ms <= at_ms[-1] and batch.end_ms > at_ms[0]
        ]
        if not parts:
            return np.empty(0, dtype=np.int64), np.empty(0)
        return np.concatenate([part[0] for part in parts]), np.concatenate([part[1] for part in parts])

    def _do_steps(self, at_ms: int) -> None:
        """Do what the cooks do by now, and lay out the next set of batches when the last one has had its time."""
        longer = self.plan.with_next_set(at_ms, ahead=True)
        if longer is not self.plan:
            longer.save(self._data)
            self.plan = longer
            self._batches = _not_ended(longer, at_ms)
        try:
            with self._store.write() as session:
                for batch in self._batches:
                    take_steps(session, batch, at_ms)
        except StoreBusyError as exc:
            log.warning("a step waits: %s", exc)


def _not_ended(plan: DemoPlan, at_ms: int) -> list[BatchPlan]:
    """Return the batches that are alive, are still to come, or ended while nobody looked."""
    return [batch for batch in plan.live() if batch.end_ms > at_ms - HELD_BACK_MS]


def main(arguments: list[str] | None = None) -> int:
    """Run the live kitchen until it is told to stop."""
    parser = argparse.ArgumentParser(prog="python -m holdwatch.demo.live", description="The demonstration's kitchen.")
    parser.add_argument("--data", type=Path, default=None)
    parser.add_argument("--broker", default=None)
    given = parser.parse_args(arguments)
    stop = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: stop.set())
    try:
        settings = load_settings(data=given.data, broker_url=given.broker)
        store = open_store(settings.store_url)
        publisher = Publisher(settings.broker_url, f"linden-street-{os.getpid()}", outbox=Outbox(MEMORY))
        kitchen = LiveKitchen(settings.data, store, publisher)
    except (HoldwatchError, ValueError) as exc:
        sys.stderr.write(f"{exc}\n")
        return COULD_NOT_START
    publisher.start()
    try:
        while not stop.wait(0.5):
            kitchen.go_on()
    finally:
        publisher.stop()
        store.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
