"""The forecast from readings that somebody wrote down."""

import pytest

from holdwatch.calculators.ahead import ahead_answer, read_points
from holdwatch.errors import ConfigError
from holdwatch.quantities import Scale, celsius_of_f

WRITTEN = [f"{38 + 97 * 10 ** (-0.194380 * n / 60):.1f}F at {n}" for n in range(0, 61, 10)]
"""135 °F that has 100 °F after one hour in 38 °F: 70 °F after 2.478 h (two-point formula, PMC9380651)."""


def test_ahead_of_written_readings_names_the_minute() -> None:
    """About minute 149, and the interval holds it."""
    readings = read_points(WRITTEN)
    assert len(readings) == 7
    said = ahead_answer(readings, target_c=celsius_of_f(70), surroundings_c=celsius_of_f(38), scale=Scale.F)
    assert said.data["expected_min"] == pytest.approx(148.7, rel=0.05)
    assert said.data["earliest_min"] < 148.7 < said.data["latest_min"]
    assert "At 70.0\u202f°F about minute" in said.says
    assert "°C" not in said.notes[0]


def test_ahead_in_too_warm_surroundings_says_so() -> None:
    """In air of 44 °F nothing gets to 41 °F."""
    said = ahead_answer(read_points(WRITTEN), target_c=celsius_of_f(41), surroundings_c=celsius_of_f(44), scale=Scale.F)
    assert said.data["reaches"] is False
    assert said.says.startswith("It will not be at 41.0")


def test_ahead_of_two_readings_is_no_forecast_yet() -> None:
    """Two readings are too few, and it says so."""
    said = ahead_answer(read_points(WRITTEN[:2]), target_c=21.0, surroundings_c=None, scale=Scale.C)
    assert said.data["reaches"] is None
    assert "too few" in said.notes[0]


def test_ahead_of_no_readings_is_refused() -> None:
    """A line that is no reading is named."""
    with pytest.raises(ConfigError, match="hot"):
        read_points(["hot at 3", "100F at 5"])
