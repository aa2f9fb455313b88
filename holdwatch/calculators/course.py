"""A course of temperature as a person writes it, made into readings."""

import re

import numpy as np

from holdwatch.clock import MS_PER_MINUTE, MS_PER_SECOND
from holdwatch.errors import ConfigError
from holdwatch.language import _
from holdwatch.quantities import Duration, Temperature
from holdwatch.readings import Series

__all__ = ["read_course", "read_lines", "read_minutes", "read_points"]

_STEP_MS = 5 * MS_PER_SECOND
_LONGEST_MS = 24 * 60 * MS_PER_MINUTE
_AT = re.compile(r"(?P<temperature>.+?)\s+at\s+(?P<minute>\d+(?:\.\d+)?)\s*(?:min)?", re.IGNORECASE)
_FOR = re.compile(r"(?P<temperature>.+?)\s+for\s+(?P<length>.+)", re.IGNORECASE)


def read_course(text: str) -> Series:
    """Read a course as a cook writes it: ``155F for 17 s``, or ``68F at 0, 140F at 4, 160F at 9`` in minutes.

    Between the points it runs straight, for so it was said.

    Raises
    ------
    ConfigError
        If a part is neither, or time does not run on.
    """
    held = _FOR.fullmatch(text.strip())
    if held is not None:
        celsius, length_ms = _celsius(held["temperature"]), _length_ms(held["length"])
        return _straight([0, length_ms], [celsius, celsius])
    return _straight(*_points(text))


def read_points(typed: list[str]) -> Series:
    """Read single readings, ``150F at 0`` a line: nothing is known of what lies between them.

    Raises
    ------
    ConfigError
        If a line is none, or time does not run on.
    """
    at_ms, celsius = _points(", ".join(line.strip().rstrip(",") for line in typed if line.strip()))
    return Series(np.array(at_ms, dtype=np.int64), np.array(celsius))


def _points(text: str) -> tuple[list[int], list[float]]:
    points = [_AT.fullmatch(part.strip()) for part in text.split(",")]
    if len(points) < 2 or any(point is None for point in points):  # noqa: PLR2004  a course has two ends
        raise ConfigError(
            _("{text!r} is no course: write 155F for 17 s, or 68F at 0, 140F at 4, 160F at 9 (minutes)").format(
                text=text
            )
        )
    found = [point for point in points if point is not None]
    at_ms = [round(float(point["minute"]) * MS_PER_MINUTE) for point in found]
    if sorted(set(at_ms)) != at_ms or at_ms[-1] > _LONGEST_MS:
        raise ConfigError(_("{text!r}: the minutes are to run on, over a day at most").format(text=text))
    return at_ms, [_celsius(point["temperature"]) for point in found]


def read_lines(typed: list[str]) -> Series:
    """Read a course whose parts stand on lines of their own, as `read_course` does."""
    return read_course(", ".join(line.strip().rstrip(",") for line in typed if line.strip()))


def read_minutes(text: str) -> float:
    """Read a length of time such as ``45 min`` or ``2 h``, in minutes.

    Raises
    ------
    ConfigError
        If it is none.
    """
    return _length_ms(text) / MS_PER_MINUTE


def _straight(at_ms: list[int], celsius: list[float]) -> Series:
    """Return readings every few seconds along straight lines, the points included."""
    grid = np.union1d(np.arange(at_ms[0], at_ms[-1] + 1, _STEP_MS, dtype=np.int64), np.array(at_ms, dtype=np.int64))
    return Series(grid, np.interp(grid, at_ms, celsius))


def _celsius(text: str) -> float:
    try:
        return Temperature.parse(text).celsius
    except ValueError as exc:
        raise ConfigError(str(exc)) from exc


def _length_ms(text: str) -> int:
    try:
        length_ms = Duration.parse(text).ms
    except ValueError as exc:
        raise ConfigError(str(exc)) from exc
    if length_ms > _LONGEST_MS:
        raise ConfigError(_("{text!r} is longer than a day").format(text=text))
    return length_ms
