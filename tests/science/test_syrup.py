"""Boiling syrup against printed tables of sucrose, and against what kitchens do."""

from itertools import pairwise

import pytest

from holdwatch.errors import ConfigError, OutOfRangeError
from holdwatch.quantities import celsius_of_f, fahrenheit
from holdwatch.science.atmosphere import standard_pressure_pa
from holdwatch.science.boiling import boiling_point_c
from holdwatch.science.syrup import (
    SEA_LEVEL_PA,
    STAGES,
    boiling_spread_c,
    stage_at,
    stage_here,
    sucrose_share_pct,
    sucrose_water_activity,
    syrup_boiling_point_c,
)
from tests.science.published import published
from tests.science.published_tables import published_rows

PRINTED = published_rows("sucrose_boiling.csv")
SOLUTIONS = published_rows("water_activity.csv")
FIVE_THOUSAND_FT_PA = standard_pressure_pa(1_524.0)
TEN_THOUSAND_FT_PA = standard_pressure_pa(3_048.0)


def _name(row: dict[str, str]) -> str:
    return f"{row['sucrose_pct']} %, {row['source'].split(',')[0]}"


def _distance_c(row: dict[str, str]) -> float:
    """Return how far the formula is from what is printed, 0 within a printed span."""
    ours = syrup_boiling_point_c(float(row["sucrose_pct"]), SEA_LEVEL_PA)
    return max(float(row["low_c"]) - ours, ours - float(row["high_c"]), 0.0)


@published(sucrose_water_activity, source="Robinson and Stokes 1961; a table after Beuchat 1981 (see the file)")
@pytest.mark.parametrize("row", SOLUTIONS, ids=lambda row: f"{row['grams']} g")
def test_sucrose_water_activity_matches_measured_solutions(row: dict[str, str]) -> None:
    """At 25 °C, up to the saturated solution."""
    grams = float(row["grams"])
    share = 100 * grams / (grams + 1_000)
    assert sucrose_water_activity(share, 25.0) == pytest.approx(float(row["water_activity"]), abs=float(row["within"]))


@published(syrup_boiling_point_c, boiling_spread_c, source="tables of Browne, Lowe, McGee and others (see the file)")
@pytest.mark.parametrize("row", PRINTED, ids=_name)
def test_syrup_boiling_point_is_within_its_spread_of_every_printed_table(row: dict[str, str]) -> None:
    """Tables differ among themselves; what we say of our uncertainty covers each of them."""
    assert _distance_c(row) <= boiling_spread_c(float(row["sucrose_pct"]))


@published(boiling_spread_c, source="the same tables: the farthest of each part of the range")
def test_boiling_spread_is_no_wider_than_the_tables_make_it() -> None:
    """In each part of the range some printed value is more than half of the spread away."""
    for low, high in ((0, 62), (62, 75), (75, 85), (85, 99)):
        shares = [
            _distance_c(row) / boiling_spread_c(float(row["sucrose_pct"]))
            for row in PRINTED
            if low <= float(row["sucrose_pct"]) <= high
        ]
        assert max(shares) > 0.5


@published(sucrose_share_pct, source="stage tables: soft ball 85 %, firm ball 87 %, soft crack 95 % (see the file)")
@pytest.mark.parametrize(("low_f", "high_f", "pct"), [(234, 241, 85), (244, 248, 87), (270, 289, 95)])
def test_sucrose_share_matches_stage_tables(low_f: float, high_f: float, pct: float) -> None:
    """The printed share lies between those at the ends of its stage, to a per cent."""
    low, high = (sucrose_share_pct(celsius_of_f(end), SEA_LEVEL_PA) for end in (low_f, high_f))
    assert low - 1 <= pct <= high + 1


def test_syrup_for_cooked_meringue_is_85_to_87_per_cent() -> None:
    """Common practice, no source: 240 °F, soft ball, about 85 to 87 % sugar at sea level."""
    assert 85 <= sucrose_share_pct(celsius_of_f(240), SEA_LEVEL_PA) <= 87
    here = stage_at(celsius_of_f(240), SEA_LEVEL_PA)
    assert here is not None
    assert here.stage.name == "soft-ball"


@published(
    stage_here, source="Colorado State University Extension and McGee 2004: 2 °F off every stage for each 1000 ft"
)
@pytest.mark.parametrize("name", ["thread", "soft-ball", "firm-ball", "hard-ball"])
def test_stage_here_matches_the_rule_for_ball_stages(name: str) -> None:
    """At 5000 ft the rule takes 10 °F off; for the ball stages that is right within 0.6 °F."""
    here, stage = stage_here(name, FIVE_THOUSAND_FT_PA), STAGES[name]
    assert fahrenheit(here.low_c) - stage.low_f == pytest.approx(-10, abs=0.6)
    assert fahrenheit(here.high_c) - stage.high_f == pytest.approx(-10, abs=0.6)


def test_shift_of_hard_crack_is_not_the_shift_of_water() -> None:
    """The higher the stage, the farther it moves: at hard crack a quarter to a third more than water.

    `test_pinned_shifts` holds the figures; here is only what follows from the bond of sugar and water.
    """
    for pressure in (FIVE_THOUSAND_FT_PA, TEN_THOUSAND_FT_PA):
        water = boiling_point_c(SEA_LEVEL_PA) - boiling_point_c(pressure)
        shifts = [
            celsius_of_f(stage.high_f) - stage_here(stage.name, pressure).high_c
            for stage in STAGES.values()
            if stage.boils
        ]
        assert all(a < b for a, b in pairwise([water, *shifts]))
        assert 1.25 < shifts[-1] / water < 1.35


def test_pinned_shifts() -> None:
    """Our own figures, so that nothing moves unseen: drop in °F at 5000 ft and 10 000 ft."""
    drops = {240: (-9.8, -19.7), 266: (-10.5, -21.0), 290: (-11.2, -22.3), 310: (-12.0, -24.0)}
    for sea_level_f, expected in drops.items():
        share = sucrose_share_pct(celsius_of_f(sea_level_f), SEA_LEVEL_PA)
        for pressure, drop in zip((FIVE_THOUSAND_FT_PA, TEN_THOUSAND_FT_PA), expected, strict=True):
            here = fahrenheit(syrup_boiling_point_c(share, pressure))
            assert here - sea_level_f == pytest.approx(drop, abs=0.06)


@published(
    stage_at, source="American extension tables and McGee 2004: soft ball 235 to 240 °F, hard crack 300 to 310 °F"
)
@pytest.mark.parametrize(
    ("degrees_f", "name"),
    [(232, "thread"), (238, "soft-ball"), (247, "firm-ball"), (255, "hard-ball"), (280, "soft-crack")],
)
def test_stage_at_sea_level_is_the_printed_stage(degrees_f: float, name: str) -> None:
    """At sea level the stages stand where the tables print them; between them there is none."""
    here = stage_at(celsius_of_f(degrees_f), SEA_LEVEL_PA)
    assert here is not None
    assert here.stage.name == name
    assert stage_at(celsius_of_f(242), SEA_LEVEL_PA) is None


def test_syrup_without_sugar_boils_as_water() -> None:
    """At no sugar the two formulas are one."""
    for pressure in (50_000.0, 83_427.59, 101_325.0, 110_000.0):
        assert syrup_boiling_point_c(0.0, pressure) == pytest.approx(boiling_point_c(pressure), abs=1e-6)


def test_share_and_boiling_point_are_each_others_reverse() -> None:
    """There and back, at every pressure."""
    for pressure in (60_000.0, 83_427.59, 101_325.0):
        for share in (5.0, 50.0, 86.2, 97.0):
            assert sucrose_share_pct(syrup_boiling_point_c(share, pressure), pressure) == pytest.approx(share, abs=1e-6)


def test_caramel_does_not_move_with_altitude() -> None:
    """It is sugar breaking down, no boiling: McGee, above 330 °F it no longer boils."""
    here = stage_here("light-caramel", TEN_THOUSAND_FT_PA)
    assert fahrenheit(here.low_c) == pytest.approx(320)
    assert here.low_pct is None


def test_what_the_sources_do_not_cover_is_refused() -> None:
    """Nothing is extrapolated."""
    with pytest.raises(OutOfRangeError, match="share of sugar"):
        syrup_boiling_point_c(99.1, SEA_LEVEL_PA)
    with pytest.raises(OutOfRangeError, match="share of sugar"):
        boiling_spread_c(-0.1)
    with pytest.raises(OutOfRangeError, match="pressure"):
        stage_here("thread", 49_999.0)
    with pytest.raises(OutOfRangeError, match="boiling syrup"):
        sucrose_share_pct(99.0, SEA_LEVEL_PA)
    with pytest.raises(OutOfRangeError, match="temperature of the syrup"):
        sucrose_water_activity(50.0, 200.1)
    with pytest.raises(ConfigError, match="soft-ball"):
        stage_here("soft", SEA_LEVEL_PA)
