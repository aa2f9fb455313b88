"""The boiling check: where water boils here, and what is said of a probe."""

import pytest

from holdwatch.calculators.boil import boiling_answer
from holdwatch.calculators.place import Place, place
from holdwatch.errors import ConfigError, OutOfRangeError
from holdwatch.quantities import Scale, celsius_of_f
from tests.support.commands import printed, refused, succeed

DENVER = Place(83_400.0, 150.0, "a barometer")
"""Water boils at 202.29 °F there (CoolProp 8: 94.610 °C at 834 hPa)."""


def finding(shows_f: float, here: Place = DENVER, scale: Scale = Scale.F) -> str:
    """Return what is said of a probe in boiling water."""
    (check,) = boiling_answer(here, shows_c=celsius_of_f(shows_f), scale=scale).data["checks"]
    return str(check["finding"])


@pytest.mark.parametrize(
    ("shows_f", "word"),
    [
        (202.3, "within"),
        (203.7, "within"),
        (204.2, "unclear"),
        (200.4, "unclear"),
        (205.0, "beyond"),
        (199.0, "beyond"),
    ],
)
def test_probe_is_held_against_two_degrees_with_what_is_uncertain(shows_f: float, word: str) -> None:
    """FDA Food Code 4-203.11: ±2 °F; what the pot and the barometer may hide is never a bonus."""
    assert finding(shows_f) == word


def test_probe_scaled_in_celsius_is_held_against_one_degree() -> None:
    """FDA Food Code 4-203.11: ±1 °C, which is less than ±2 °F."""
    assert finding(203.7, scale=Scale.F) == "within"
    assert finding(203.9, scale=Scale.C) == "unclear"


def test_altitude_alone_leaves_the_weather_open() -> None:
    """The standard atmosphere is not today's: 3 % of pressure is 0.8 °C of boiling point."""
    by_altitude, by_barometer = place(altitude_m=1_609.344), place(pressure_pa=83_400.0)
    answers = [boiling_answer(each) for each in (by_altitude, by_barometer)]
    assert [answer.data["boils_at_c"] for answer in answers] == pytest.approx([94.62, 94.61], abs=0.01)
    assert answers[0].data["error_c"] == pytest.approx(0.82, abs=0.01)
    assert answers[1].data["error_c"] < 0.06
    assert any("barometer" in note for note in answers[0].notes)
    assert finding(203.5, by_altitude) == "unclear"


def test_report_is_brought_down_to_the_room() -> None:
    """A report of 1013.25 hPa is 834 hPa in the room at 5280 ft, and water boils at 202.3 °F, not at 212 °F."""
    here = place(altitude_m=1_609.344, reported_pa=101_325.0)
    assert here.pressure_pa == pytest.approx(83_430, abs=10)
    assert boiling_answer(here).says.startswith("Water boils at 202.3\u202f°F")


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({}, "say where"),
        ({"reported_pa": 101_325.0}, "give the altitude"),
        ({"pressure_pa": 83_400.0, "altitude_m": 1_600.0}, "alone"),
    ],
)
def test_place_wants_enough_and_no_more(given: dict[str, float], told: str) -> None:
    """What is missing, or said twice, is told."""
    with pytest.raises(ConfigError, match=told):
        place(**given)


@pytest.mark.parametrize(
    "given", [{"pressure_pa": 8_340.0}, {"altitude_m": 9_000.0}, {"altitude_m": 1_600.0, "reported_pa": 83_400.0}]
)
def test_place_refuses_what_is_no_kitchen(given: dict[str, float]) -> None:
    """A slipped decimal point, a summit, a pressure of the room given as a report."""
    with pytest.raises(OutOfRangeError):
        place(**given)


def test_command_tells_ice_and_boiling_with_source_and_caution() -> None:
    """Both points of a probe in one answer."""
    text = succeed("boil", "--pressure", "834hPa", "--shows", "203.2F", "--in-ice", "32.4F")
    assert "Water boils at 202.3\u202f°F here" in text
    assert text.count("within it") == 2
    assert "IAPWS R7-97(2012)" in text
    assert "burn" in text


def test_command_tells_a_program_in_celsius() -> None:
    """JSON carries °C and Pa whatever scale is asked."""
    answer = printed("boil", "--pressure", "24.63inHg", "--shows", "203F", "--scale", "F")
    assert answer["boils_at_c"] == pytest.approx(94.61, abs=0.02)
    assert answer["checks"][0]["shows_c"] == pytest.approx(95.0)
    assert {"formula", "range", "error", "source", "caution"} <= set(answer)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "5280ft"),
        (("--pressure", "834"), "834"),
        (("--pressure", "83hPa"), "500 to 1100 hPa"),
        (("--altitude", "5280ft", "--shows", "203"), "--shows is '203'"),
        (("--altitude", "5280ft", "--shows", "-127C"), "covers -60 to 300 °C"),
        (("--altitude", "5280ft", "--scale", "K"), "write F or C"),
    ],
)
def test_command_refuses_in_one_line(words: tuple[str, ...], told: str) -> None:
    """A mistake is one line that says what to write."""
    assert told in refused("boil", *words)
