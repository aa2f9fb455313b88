"""What becomes of one value in a message: a temperature with or without an instant, or a refusal with its reason."""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from holdwatch.language import _, thousands
from holdwatch.quantities import celsius_of_f

__all__ = [
    "COLDEST_C",
    "HOTTEST_C",
    "LONGEST_PAYLOAD",
    "AsideReason",
    "Decoded",
    "ProbeProfile",
    "Refused",
    "excerpt",
    "keep_or_refuse",
    "to_celsius",
    "too_large",
]

COLDEST_C = -60.0
HOTTEST_C = 300.0
"""No kitchen is colder or hotter inside: a deep freezer ends near −40 °C, caramel and ovens below 300 °C."""

LONGEST_PAYLOAD = 64 * 1024
"""Bytes; a day of SenML readings at one a minute fits, a runaway message does not."""

_DISCONNECTED_C = -127.0
_SHOWN_CHARACTERS = 60
_UNITS = {
    "c": "C",
    "°c": "C",
    "cel": "C",
    "celsius": "C",
    "degc": "C",
    "f": "F",
    "°f": "F",
    "fahrenheit": "F",
    "degf": "F",
    "k": "K",
    "kelvin": "K",
}


class AsideReason(StrEnum):
    """Why something was set aside; the word that is stored and shown."""

    UNKNOWN_PROBE = "unknown-probe"
    UNREADABLE = "unreadable"
    TOO_LARGE = "too-large"
    NOT_A_NUMBER = "not-a-number"
    OTHER_UNIT = "other-unit"
    IMPOSSIBLE_VALUE = "impossible-value"
    NOT_KEPT = "not-kept"


class ProbeProfile(Protocol):
    """How a probe speaks: these columns of the register."""

    @property
    def payload(self) -> str:
        """Format of the message: senml, number or json."""

    @property
    def pointer(self) -> str:
        """JSON Pointer to the value."""

    @property
    def time_pointer(self) -> str:
        """JSON Pointer to the instant; empty where there is none."""

    @property
    def unit_pointer(self) -> str:
        """JSON Pointer to the unit; empty where there is none."""

    @property
    def senml_name(self) -> str:
        """Resolved SenML name to take; empty where a pack has only one."""

    @property
    def unit(self) -> str:
        """Unit of a value that does not bring one: C or F."""


@dataclass(frozen=True, slots=True)
class Decoded:
    """A temperature out of a message.

    ``at_ms`` is the device's own instant. Without one, ``offset_ms`` says how long after the arrival the
    value was measured: 0 for "now", negative for the past.
    """

    at_ms: int | None
    celsius: float
    offset_ms: int = 0


@dataclass(frozen=True, slots=True)
class Refused:
    """A value that is no reading, the reason in a word and in a sentence, and the device's own instant for it."""

    reason: AsideReason
    detail: str
    at_ms: int | None = None


def excerpt(value: object) -> str:
    """Return a short, quoted form of anything, for a sentence."""
    shown = repr(value)
    return shown if len(shown) <= _SHOWN_CHARACTERS else shown[: _SHOWN_CHARACTERS - 1] + "…"


def too_large(payload: bytes) -> str:
    """Say why a message is not read at all."""
    return _("the message has {count} bytes; at most {most} are read").format(
        count=thousands(len(payload)), most=thousands(LONGEST_PAYLOAD)
    )


def to_celsius(value: float, unit: str) -> float | None:
    """Return the value in °C, or None where the unit is not one of temperature that we know."""
    known = _UNITS.get(unit.strip().lower())
    if known == "C":
        return value
    if known == "F":
        return celsius_of_f(value)
    if known == "K":
        return round(value - 273.15, 9)  # 294.55 K is 21.4 °C, without the dust of the subtraction
    return None


def keep_or_refuse(value: object, unit: str, at_ms: int | None, offset_ms: int = 0) -> Decoded | Refused:
    """Hold one value and its unit against what a kitchen's temperature can be."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return Refused(
            AsideReason.NOT_A_NUMBER, _("the value is {text}; send a number").format(text=excerpt(value)), at_ms
        )
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        return Refused(AsideReason.NOT_A_NUMBER, _("the value is not finite; send a number"), at_ms)
    celsius = to_celsius(number, unit)
    if celsius is None:
        detail = _("the value {number} is in {unit}; temperatures come in °C, °F or K").format(
            number=f"{number:g}", unit=excerpt(unit)
        )
        return Refused(AsideReason.OTHER_UNIT, detail, at_ms)
    if not COLDEST_C <= celsius <= HOTTEST_C:
        return Refused(AsideReason.IMPOSSIBLE_VALUE, _impossible(number, unit, celsius), at_ms)
    return Decoded(at_ms, celsius, offset_ms)


def _impossible(number: float, unit: str, celsius: float) -> str:
    """Say why a value cannot be a temperature in a kitchen."""
    if _DISCONNECTED_C in (number, celsius):
        return _("−127 is what libraries answer for a DS18B20 that is not connected: look at its wiring")
    return _(
        "the value {number} ({unit}) is outside {coldest} to {hottest} °C: an error code, or another unit than the probe "
        "was added with"
    ).format(number=f"{number:g}", unit=unit, coldest=f"{COLDEST_C:.0f}".replace("-", "−"), hottest=f"{HOTTEST_C:.0f}")
