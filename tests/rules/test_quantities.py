"""Temperatures and lengths of time as printed."""

from decimal import Decimal

import numpy as np
import pytest

from holdwatch.quantities import (
    Duration,
    Level,
    Scale,
    Side,
    Temperature,
    celsius_of_f,
    fahrenheit,
    format_difference,
    format_duration,
    format_temperature,
)


@pytest.mark.parametrize(
    ("text", "printed", "celsius"),
    [
        ("41 °F", "41 °F", 5.0),  # exact by definition of the scales, as are the next three
        ("140F", "140 °F", 60.0),
        ("158 °F", "158 °F", 70.0),
        ("50°f", "50 °F", 10.0),
        ("3.5C", "3.5 °C", 3.5),
        ("-18 °C", "−18 °C", -18.0),
        ("−4 °F", "−4 °F", -20.0),
        ("70 °F", "70 °F", 190 / 9),
    ],
)
def test_temperature_is_read_and_converted_exactly(text: str, printed: str, celsius: float) -> None:
    """A printed temperature keeps its figure and scale, and converts without a rounding of its own."""
    temperature = Temperature.parse(text)
    assert str(temperature) == printed
    assert temperature.celsius == celsius


@pytest.mark.parametrize("text", ["", "41", "°F", "41 K", "4,5 °C", "nan °C", "41 °F or less"])
def test_temperature_refuses_other_words(text: str) -> None:
    """What is no number and scale is refused."""
    with pytest.raises(ValueError, match="is not a temperature"):
        Temperature.parse(text)


@pytest.mark.parametrize(
    ("text", "ms"),
    [("2 h", 7_200_000), ("90 min", 5_400_000), ("17 s", 17_000), ("1.5 h", 5_400_000), ("7 d", 604_800_000)],
)
def test_duration_is_read_exactly(text: str, ms: int) -> None:
    """A printed length of time is whole milliseconds."""
    assert Duration.parse(text).ms == ms
    assert str(Duration.parse(text)) == text


@pytest.mark.parametrize("text", ["2", "h", "2 hours", "-2 h"])
def test_duration_refuses_other_words(text: str) -> None:
    """What is no number and unit of time is refused."""
    with pytest.raises(ValueError, match="is not a length of time"):
        Duration.parse(text)


@pytest.mark.parametrize(
    ("side", "inclusive", "kept"),
    [
        (Side.AT_MOST, True, [True, True, False]),
        (Side.AT_MOST, False, [True, False, False]),
        (Side.AT_LEAST, True, [False, True, True]),
        (Side.AT_LEAST, False, [False, False, True]),
    ],
)
def test_level_ends_are_as_printed(side: Side, *, inclusive: bool, kept: list[bool]) -> None:
    """A tenth below, on, and a tenth above the figure."""
    level = Level(Temperature(Decimal(70), Scale.F), side, inclusive)
    celsius = np.array([celsius_of_f(f) for f in (69.9, 70.0, 70.1)])
    assert level.keeps(celsius).tolist() == kept


def test_level_every_printed_tenth_survives_conversion() -> None:
    """Every tenth of a degree Fahrenheit kept in °C is still on its own figure."""
    for tenths in range(-400, 3000):
        level = Level(Temperature(Decimal(tenths) / 10, Scale.F), Side.AT_MOST)
        assert level.keeps(np.array([celsius_of_f(tenths / 10)]))[0]
        assert not level.keeps(np.array([celsius_of_f(tenths / 10 + 1e-5)]))[0]


def test_temperature_is_written_for_people() -> None:
    """A narrow space before the unit, a real minus, no minus zero."""
    assert format_temperature(5.0, Scale.F) == "41.0\u202f°F"
    assert format_temperature(-18.0, Scale.C, 0) == "−18\u202f°C"
    assert format_temperature(-0.01, Scale.C) == "0.0\u202f°C"
    assert format_difference(-10, Scale.F) == "18\u202f°F"
    assert fahrenheit(100.0) == pytest.approx(212.0)


@pytest.mark.parametrize(
    ("ms", "text"),
    [(0, "0 s"), (40_400, "40 s"), (61_000, "1 min 01 s"), (7_200_000, "2 h"), (7_500_000, "2 h 05 min")],
)
def test_duration_is_written_for_people(ms: int, text: str) -> None:
    """Seconds only where there are no hours."""
    assert format_duration(ms) == text
