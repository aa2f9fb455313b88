"""Temperatures and lengths of time as a code prints them, and how a reading is held against them.

A level keeps the figure and the unit in which the code prints it. A reading, kept in °C, is brought into that
unit before it is compared; a tolerance of a millionth of a degree absorbs the conversion and nothing else.
"""

import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from functools import cached_property
from typing import Self, TypeVar

import numpy as np
from numpy.typing import NDArray

from holdwatch.blocks import blocks
from holdwatch.language import _, decimals

__all__ = [
    "TOLERANCE",
    "Duration",
    "Level",
    "Scale",
    "Side",
    "Temperature",
    "celsius_of_f",
    "fahrenheit",
    "format_difference",
    "format_duration",
    "format_temperature",
    "span_c",
    "to_scale",
]

TOLERANCE = 1e-6
"""Degrees, in the unit of the level: 70.0 °F kept in °C is still 70.0 °F."""

NARROW_SPACE = "\u202f"
MINUS = "\u2212"

_Number = TypeVar("_Number", float, NDArray[np.float64])


class Scale(StrEnum):
    """The scale in which a temperature is printed."""

    F = "F"
    C = "C"


class Side(StrEnum):
    """On which side of a level the limit is kept."""

    AT_MOST = "at-most"
    AT_LEAST = "at-least"


def fahrenheit(celsius: _Number) -> _Number:
    """Return °F of °C, number or array."""
    return celsius * 1.8 + 32.0


def celsius_of_f(degrees_f: float) -> float:
    """Return °C of °F."""
    return (degrees_f - 32.0) / 1.8


def span_c(degrees_f: float) -> float:
    """Return a difference of temperature in °C of one in °F."""
    return degrees_f / 1.8


def to_scale(celsius: _Number, scale: Scale) -> _Number:
    """Return a temperature in °C on the scale asked for, number or array."""
    return fahrenheit(celsius) if scale is Scale.F else celsius


def format_temperature(celsius: float, scale: Scale, digits: int = 1) -> str:
    """Write a temperature for people: rounded, a real minus, a narrow space before the unit."""
    number = f"{to_scale(float(celsius), scale):.{digits}f}"
    if float(number) == 0.0:
        number = number.lstrip("-")
    return f"{decimals(number).replace('-', MINUS)}{NARROW_SPACE}°{scale.value}"


def format_difference(difference_c: float, scale: Scale, digits: int = 0) -> str:
    """Write a difference of temperature, without its sign, for people."""
    difference = abs(difference_c) * (1.8 if scale is Scale.F else 1.0)
    return f"{decimals(f'{difference:.{digits}f}')}{NARROW_SPACE}°{scale.value}"


_TEMPERATURE = re.compile(r"\s*(?P<value>[-+\u2212]?\d+(?:\.\d+)?)\s*°?\s*(?P<scale>[FfCc])\s*")


@dataclass(frozen=True)
class Temperature:
    """A temperature as printed: the figure and its scale."""

    value: Decimal
    scale: Scale

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read ``41 °F``, ``70F`` or ``-18 °C``.

        Raises
        ------
        ValueError
            If `text` is not a number and a scale.
        """
        match = _TEMPERATURE.fullmatch(text)
        if match is None:
            message = _("{text!r} is not a temperature such as '41 °F' or '3.5C'").format(text=text)
            raise ValueError(message)
        return cls(Decimal(match["value"].replace(MINUS, "-")), Scale(match["scale"].upper()))

    @cached_property
    def celsius(self) -> float:
        """The same temperature in °C, converted exactly and rounded once."""
        exact = Fraction(self.value)
        return float((exact - 32) * 5 / 9 if self.scale is Scale.F else exact)

    def __str__(self) -> str:
        return f"{str(self.value).replace('-', MINUS)} °{self.scale.value}"


@dataclass(frozen=True)
class Level:
    """A temperature to be kept or reached: on which side, and whether the figure itself is allowed."""

    temperature: Temperature
    side: Side
    inclusive: bool = True

    @property
    def celsius(self) -> float:
        """The level in °C, for drawing."""
        return self.temperature.celsius

    @property
    def scale(self) -> Scale:
        """The scale in which the code prints the level."""
        return self.temperature.scale

    def keeps(self, celsius: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Return which temperatures are on the allowed side, compared in the unit of the code."""
        parts = [self._keeps(celsius[part]) for part in blocks(len(celsius))]
        return parts[0] if len(parts) == 1 else np.concatenate([np.empty(0, dtype=np.bool_), *parts])

    def _keeps(self, celsius: NDArray[np.float64]) -> NDArray[np.bool_]:
        slack = TOLERANCE if self.inclusive else -TOLERANCE
        figure = float(self.temperature.value)
        degrees = to_scale(celsius, self.scale)
        if self.side is Side.AT_MOST:
            return degrees <= figure + slack if self.inclusive else degrees < figure + slack
        return degrees >= figure - slack if self.inclusive else degrees > figure - slack

    @property
    def figure(self) -> str:
        """The figure as it is printed, for a sentence in the language that is spoken."""
        return decimals(str(self.temperature))

    @property
    def beyond(self) -> str:
        """The words for the other side: ``above 41 °F``, or ``not below 41 °F`` where the figure is not allowed."""
        if self.side is Side.AT_MOST:
            said = _("above {level}") if self.inclusive else _("not below {level}")
        else:
            said = _("below {level}") if self.inclusive else _("not above {level}")
        return said.format(level=self.figure)

    @property
    def within(self) -> str:
        """The words for the allowed side, as codes print them."""
        if self.side is Side.AT_MOST:
            said = _("{level} or less") if self.inclusive else _("below {level}")
        else:
            said = _("{level} or above") if self.inclusive else _("above {level}")
        return said.format(level=self.figure)


_DURATION = re.compile(r"\s*(?P<value>\d+(?:\.\d+)?)\s*(?P<unit>h|min|s|d)\s*")
_UNIT_MS = {"s": 1_000, "min": 60_000, "h": 3_600_000, "d": 86_400_000}


@dataclass(frozen=True)
class Duration:
    """A length of time as printed."""

    value: Decimal
    unit: str

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read ``2 h``, ``90 min`` or ``17 s``.

        Raises
        ------
        ValueError
            If `text` is not a number and a unit of time.
        """
        match = _DURATION.fullmatch(text)
        if match is None:
            message = _("{text!r} is not a length of time such as '2 h', '90 min' or '17 s'").format(text=text)
            raise ValueError(message)
        return cls(Decimal(match["value"]), match["unit"])

    @property
    def ms(self) -> int:
        """The length in whole milliseconds."""
        return int(self.value * _UNIT_MS[self.unit])

    def __str__(self) -> str:
        return f"{self.value} {self.unit}"


def format_duration(length_ms: int) -> str:
    """Write a length of time for people: ``2 h 05 min``, ``17 min``, ``40 s``."""
    seconds = (abs(length_ms) + 500) // 1_000
    hours, rest = divmod(seconds, 3_600)
    minutes, seconds = divmod(rest, 60)
    if hours:
        return f"{hours} h {minutes:02d} min" if minutes else f"{hours} h"
    if minutes:
        return f"{minutes} min {seconds:02d} s" if seconds else f"{minutes} min"
    return f"{seconds} s"
