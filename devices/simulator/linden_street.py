"""The kitchen of Linden Street Patisserie, Denver: its units as they behave, and its probes.

An invented kitchen. Hours are UTC; Denver works from 5 in the morning to 9 in the evening, which is 12 to 28 h UTC.
"""

from dataclasses import dataclass, replace

from devices.simulator.chance import Instants
from devices.simulator.device import Device, Format
from devices.simulator.kitchen import Readings, simulate_unit
from devices.simulator.probes import DIGITAL, THERMISTOR
from devices.simulator.rooms import Fault, Room

__all__ = ["DEVICES", "PAN_DEVICES", "ROOMS", "STANDING", "Standing", "standing_readings", "with_faults"]

BUSY = (12, 28)

ROOMS = {
    room.name: room
    for room in (
        Room("Walk-in 1", 1.6, 0.8, 14, (3, 9, 15, 21), 20, 3.8, 7, BUSY, 2.2, 4),
        Room("Reach-in", 2.3, 0.9, 9, (4, 10, 16, 22), 12, 3.0, 9, BUSY, 1.6, 3),
        Room("Display case", 2.0, 0.7, 11, (2, 8, 14, 20), 15, 2.5, 12, BUSY, 1.2, 3),
        Room("Freezer", -19.5, 1.3, 24, (5, 13, 21), 25, 7.0, 2, BUSY, 3.0, 5),
        Room("Hot cabinet", 66.0, 1.2, 8, (), 0, 0.0, 5, BUSY, -4.0, 3),
        Room("Kitchen", 23.5, 0.4, 40, (), 0, 0.0, 3, BUSY, 0.8, 8),
        Room("Ice bath", 0.8, 0.2, 30),
    )
}


@dataclass(frozen=True)
class Standing:
    """A probe that has its place in a unit: in its air, or (with a time constant) in food that stands there."""

    device: Device
    room: str
    tau_s: float | None = None


STANDING = (
    Standing(Device("wi-air", "air", Format.NUMBER, DIGITAL), "Walk-in 1"),
    Standing(Device("wi-food", "food", Format.SENML, THERMISTOR), "Walk-in 1", 4200),
    Standing(Device("ri-air", "air", Format.JSON, DIGITAL), "Reach-in"),
    Standing(Device("ri-food", "food", Format.SENML, THERMISTOR), "Reach-in", 3300),
    Standing(Device("dc-food", "food", Format.JSON, DIGITAL, unit="F"), "Display case", 2700),
    Standing(Device("fz-air", "air", Format.SENML, DIGITAL), "Freezer"),
    Standing(Device("hc-food", "food", Format.JSON, THERMISTOR), "Hot cabinet", 2400),
)

PAN_DEVICES = {
    device.code: device
    for device in (
        Device("pan-1", "food", Format.SENML, THERMISTOR),
        Device("pan-2", "food", Format.JSON, DIGITAL, unit="F"),
        Device("pan-3", "food", Format.SENML, DIGITAL),
        Device("pan-4", "food", Format.JSON, THERMISTOR),
    )
}

DEVICES = {**{standing.device.code: standing.device for standing in STANDING}, **PAN_DEVICES}


def with_faults(faults: dict[str, tuple[Fault, ...]]) -> dict[str, Room]:
    """Return the rooms with what went wrong in them."""
    return {name: replace(room, faults=faults.get(name, ())) for name, room in ROOMS.items()}


def standing_readings(standing: Standing, rooms: dict[str, Room], at_ms: Instants, seed: int) -> Readings:
    """Return what a probe with a place in a unit tells."""
    device = standing.device
    return simulate_unit(rooms[standing.room], device.sensor, device.code, at_ms, seed, tau_s=standing.tau_s)
