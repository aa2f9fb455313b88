"""What is told of cooked sugar in a room."""

import pytest

from holdwatch.calculators.place import Place
from holdwatch.calculators.syrup import share_error_pct, syrup_answer
from holdwatch.errors import ConfigError
from holdwatch.quantities import celsius_of_f
from tests.support.commands import printed, refused, succeed

SEA = Place(101_325.0, 150.0, "a barometer")
DENVER = Place(83_400.0, 150.0, "a barometer")


def test_syrup_for_cooked_meringue_at_sea_level() -> None:
    """Common practice, no source: 240 °F is soft ball, about 85 to 87 % sugar, and the answer holds both."""
    found = syrup_answer(SEA, at_c=celsius_of_f(240)).data
    assert found["stage"] == "soft-ball"
    assert 85 <= found["sucrose_pct"] <= 87
    assert 1 < found["sucrose_error_pct"] < 5


def test_same_syrup_boils_lower_in_the_mountains() -> None:
    """The syrup of 240 °F at sea level boils at about 230 °F in Denver (2 °F for each 1000 ft: extension rule)."""
    found = syrup_answer(DENVER, at_c=celsius_of_f(229.5)).data
    assert found["stage"] == "soft-ball"
    assert found["sea_level_c"] == pytest.approx(celsius_of_f(240), abs=0.5)


def test_shift_is_told_to_differ_between_water_and_hard_crack() -> None:
    """Nobody should take water's shift off every stage."""
    answer = syrup_answer(DENVER)
    crack = next(row for row in answer.data["stages"] if row["stage"] == "hard-crack")
    assert celsius_of_f(310) - crack["high_c"] > 1.25 * -answer.data["water_shift_c"]
    assert "not the same at every stage" in answer.says


def test_syrup_between_stages_names_both() -> None:
    """242 °F is past soft ball and before firm ball."""
    assert "past soft ball, before firm ball" in syrup_answer(SEA, at_c=celsius_of_f(242)).says


def test_weather_is_part_of_a_stages_uncertainty_but_not_of_caramels() -> None:
    """Where only the altitude is known, a boiling stage is less sure; sugar breaks down in any weather."""
    sure, unsure = (
        {row["stage"]: row["error_c"] for row in syrup_answer(Place(83_400.0, pa, "")).data["stages"]}
        for pa in (150.0, 2_500.0)
    )
    assert unsure["soft-ball"] > sure["soft-ball"] + 0.5
    assert unsure["light-caramel"] == sure["light-caramel"]


@pytest.mark.parametrize("degrees_f", [180.0, 305.0, 400.0])
def test_syrup_that_cannot_boil_there_is_refused_in_the_scale_asked(degrees_f: float) -> None:
    """Colder than water boils, or hotter than 99 % sugar: no stage is invented."""
    with pytest.raises(ConfigError, match="they boil from 202\\.3\u202f°F"):
        syrup_answer(DENVER, at_c=celsius_of_f(degrees_f))


@pytest.mark.parametrize("pct", [0.0, 0.5, 60.0, 98.9, 99.0])
def test_share_error_stays_within_the_equation(pct: float) -> None:
    """At both ends of the range the uncertainty is cut there, never beyond."""
    assert 0 <= share_error_pct(pct, 101_325.0) <= 99


def test_command_warns_of_burns() -> None:
    """Every answer about syrup says how it burns."""
    text = succeed("syrup", "--altitude", "5280ft", "--at", "230F")
    assert "Burnt skin" in text
    assert "hard crack" in text


def test_command_tells_a_program_every_stage() -> None:
    """Seven stages, in °C, with the share of sugar where there is one."""
    stages = printed("syrup", "--pressure", "834hPa")["stages"]
    assert [row["stage"] for row in stages][:2] == ["thread", "soft-ball"]
    assert len(stages) == 7
    assert stages[-1]["low_sucrose_pct"] is None


def test_command_refuses_in_one_line() -> None:
    """A mistake is one line that says what to write."""
    assert "say where" in refused("syrup")
    assert "--at is 'hot'" in refused("syrup", "--altitude", "0m", "--at", "hot")
