"""A shift at Linden Street for whoever only wants probes to speak: units as usual, and two pans just off the heat."""

from functools import partial

from devices.simulator.chance import Instants
from devices.simulator.device import Device
from devices.simulator.foods import CUSTARD, PASTRY_CREAM
from devices.simulator.kitchen import Pan, Readings, Stay, simulate_pan
from devices.simulator.linden_street import PAN_DEVICES, ROOMS, STANDING, Standing, standing_readings
from devices.simulator.live import Feed

__all__ = ["shift_feeds"]

MINUTE_MS = 60_000


def shift_feeds(seed: int, first_ms: int, *, bare_numbers: bool = True) -> list[Feed]:
    """Return the probes of a shift that begins at `first_ms`, with or without those that send bare numbers."""
    feeds = [
        Feed(standing.device, partial(_standing, standing, seed), first_ms)
        for standing in STANDING
        if bare_numbers or standing.device.tells_instant
    ]
    cooled = (
        Stay(first_ms, "Kitchen", 10),
        Stay(first_ms + 5 * MINUTE_MS, "Ice bath", 140),
        Stay(first_ms + 40 * MINUTE_MS, "Walk-in 1", 22),
    )
    pans = {
        "pan-1": Pan(PASTRY_CREAM, 0.045, 82.0, cooled),
        "pan-2": Pan(CUSTARD, 0.08, 80.0, (Stay(first_ms, "Kitchen", 9),)),
    }
    feeds += [
        Feed(PAN_DEVICES[code], partial(_pan, pan, PAN_DEVICES[code], seed), first_ms) for code, pan in pans.items()
    ]
    return feeds


def _standing(standing: Standing, seed: int, at_ms: Instants) -> Readings:
    return standing_readings(standing, ROOMS, at_ms, seed)


def _pan(pan: Pan, device: Device, seed: int, at_ms: Instants) -> Readings:
    return simulate_pan(pan, ROOMS, device.sensor, device.code, at_ms, seed, placed_ms=pan.start_ms)
