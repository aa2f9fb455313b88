"""Pressures, altitudes, lengths, weights, shares and differences of temperature as people write them."""

import re

from holdwatch.errors import ConfigError
from holdwatch.language import _

__all__ = ["altitude_m", "difference_c", "grams", "length_m", "percent", "pressure_pa"]

_NUMBER = r"\s*(?P<value>[-+\u2212]?\d+(?:\.\d+)?)\s*"
"""No comma: 5,280 is five thousand to one reader and five to another."""

_PRESSURES = {
    "pa": 1.0,
    "hpa": 100.0,
    "mbar": 100.0,
    "mb": 100.0,
    "kpa": 1_000.0,
    "bar": 100_000.0,
    "inhg": 3_386.389,  # conventional inch of mercury, NIST SP 811, appendix B.8
    "mmhg": 133.3224,
    "atm": 101_325.0,
}
_ALTITUDES = {"m": 1.0, "km": 1_000.0, "ft": 0.3048}
_LENGTHS = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254, "inch": 0.0254, "inches": 0.0254}
_WEIGHTS = {"g": 1.0, "kg": 1_000.0, "oz": 28.349523, "lb": 453.59237}
_DIFFERENCES = {"c": 1.0, "k": 1.0, "f": 1 / 1.8}


def _figure(text: str) -> float:
    return float(text.replace("\u2212", "-"))


def _read(text: str, units: dict[str, float], no_such: str) -> float:
    match = re.fullmatch(rf"{_NUMBER}°?\s*(?P<unit>[A-Za-z]+)\s*", text)
    factor = units.get(match["unit"].lower()) if match else None
    if match is None or factor is None:
        raise ConfigError(no_such.format(text=text))
    return _figure(match["value"]) * factor


def pressure_pa(text: str) -> float:
    """Read ``835 hPa``, ``83.5kPa`` or ``24.6 inHg``; returns Pa."""
    return _read(text, _PRESSURES, _("{text!r} is not a pressure such as 835hPa, 83.5kPa or 24.66inHg"))


def altitude_m(text: str) -> float:
    """Read ``5280 ft`` or ``1609m``; returns m."""
    return _read(text, _ALTITUDES, _("{text!r} is not an altitude such as 5280ft or 1609m"))


def length_m(text: str) -> float:
    """Read ``2 in``, ``5cm`` or ``50 mm``; returns m."""
    return _read(text, _LENGTHS, _("{text!r} is not a length such as 2in, 5cm or 50mm"))


def grams(text: str) -> float:
    """Read ``300 g``, ``1.2kg`` or ``8 oz``; returns g."""
    return _read(text, _WEIGHTS, _("{text!r} is not a weight such as 300g, 1.2kg or 8oz"))


def difference_c(text: str) -> float:
    """Read a difference of temperature, ``1 °C`` or ``2F``; returns °C."""
    return _read(text, _DIFFERENCES, _("{text!r} is not a difference of temperature such as 1C or 2F"))


def percent(text: str) -> float:
    """Read ``85%`` or ``85``; returns per cent."""
    match = re.fullmatch(rf"{_NUMBER}%?\s*", text)
    if match is None:
        raise ConfigError(_("{text!r} is not a share such as 85%").format(text=text))
    return _figure(match["value"])
