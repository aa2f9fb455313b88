"""A probe as the outside sees it: its code, its topic, how often and in which format it speaks."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum

from devices.simulator.probes import Sensor

__all__ = ["Device", "Format", "encode"]


class Format(StrEnum):
    """How a message is written."""

    SENML = "senml"
    """SenML JSON, RFC 8428: two records, the temperature and the battery, sharing base name and base time."""
    JSON = "json"
    """An object of the maker's own."""
    NUMBER = "number"
    """A bare number, without an instant."""


@dataclass(frozen=True)
class Device:
    """One probe."""

    code: str
    medium: str
    format: Format
    sensor: Sensor
    unit: str = "C"
    every_s: int = 30

    @property
    def topic(self) -> str:
        """Where it publishes."""
        return f"holdwatch/{self.code}"

    @property
    def tells_instant(self) -> bool:
        """Whether its messages carry their own instant; only such a probe can hold readings back for later."""
        return self.format is not Format.NUMBER

    @property
    def senml_name(self) -> str:
        """The resolved name of its temperature, where it writes SenML."""
        return f"urn:dev:ops:linden-{self.code}:temp" if self.format is Format.SENML else ""

    @property
    def pointers(self) -> tuple[str, str, str]:
        """JSON Pointers to value, instant and unit, where it writes an object of its own."""
        return ("/reading/value", "/at", "/reading/unit") if self.format is Format.JSON else ("", "", "")


def encode(device: Device, at_ms: int, celsius: float) -> bytes:
    """Write one reading as the device does; instants are whole seconds."""
    value = round(celsius * 1.8 + 32 if device.unit == "F" else celsius, 4)
    if device.format is Format.NUMBER:
        return f"{value:.2f}".encode()
    if device.format is Format.SENML:
        pack = [
            {"bn": f"urn:dev:ops:linden-{device.code}:", "bt": at_ms // 1000, "n": "temp", "u": "Cel", "v": value},
            {"n": "battery", "u": "%EL", "v": 90 - at_ms // 86_400_000 % 60},
        ]
        return json.dumps(pack, separators=(",", ":")).encode()
    at = datetime.fromtimestamp(at_ms // 1000, tz=UTC).isoformat().replace("+00:00", "Z")
    return json.dumps({"device": device.code, "reading": {"value": value, "unit": device.unit}, "at": at}).encode()
