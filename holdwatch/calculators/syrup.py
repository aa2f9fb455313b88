"""The stages of cooked sugar at the pressure of this room."""

from typing import Any

from holdwatch.calculators.answer import Answer, Basis, give_or_take
from holdwatch.calculators.boil import boiling_error_c
from holdwatch.calculators.place import Place
from holdwatch.errors import ConfigError
from holdwatch.language import N_, _, decimals
from holdwatch.quantities import NARROW_SPACE, Scale, format_difference, format_temperature, to_scale
from holdwatch.science.boiling import boiling_point_c
from holdwatch.science.syrup import (
    BURN_CAUTION,
    SEA_LEVEL_PA,
    STAGES,
    StageHere,
    boiling_spread_c,
    stage_at,
    stage_here,
    sucrose_share_pct,
    syrup_boiling_point_c,
)

__all__ = ["share_error_pct", "syrup_answer"]

_HIGHEST_PCT = 99.0
_NO_SHIFT_C = 0.05
_STAGES = {
    "thread": N_("thread"),
    "soft-ball": N_("soft ball"),
    "firm-ball": N_("firm ball"),
    "hard-ball": N_("hard ball"),
    "soft-crack": N_("soft crack"),
    "hard-crack": N_("hard crack"),
    "light-caramel": N_("light caramel"),
}


def syrup_answer(here: Place, *, at_c: float | None = None, scale: Scale = Scale.F) -> Answer:
    """Return every stage at this pressure, and of a syrup that boils at a temperature its stage and share of sugar.

    Parameters
    ----------
    here : Place
    at_c : float, optional. [°C] that the thermometer shows in the boiling syrup, in this room.
    scale : in which the answer is told.

    Raises
    ------
    ConfigError
        If no syrup of up to 99 % sugar boils at that temperature here.
    """
    stages = [stage_here(name, here.pressure_pa) for name in STAGES]
    water_c = boiling_point_c(here.pressure_pa) - boiling_point_c(SEA_LEVEL_PA)
    crack = stage_here("hard-crack", here.pressure_pa)
    crack_c = crack.high_c - _sea_level_c(crack)[1]
    weather = boiling_error_c(here)
    said = (
        _(
            "Here water boils {water} lower than at sea level, and hard crack ends {crack} lower: the shift is not the same at every stage."
        )
        if water_c < 0
        else _(
            "Here water boils {water} higher than at sea level, and hard crack ends {crack} higher: the shift is not the same at every stage."
        )
    )
    says = said.format(water=format_difference(water_c, scale, 1), crack=format_difference(crack_c, scale, 1))
    if abs(water_c) < _NO_SHIFT_C:
        says = _("Here the stages stand where they stand at sea level.")
    found: dict[str, Any] = {}
    if at_c is not None:
        says, found = _of(at_c, here, scale)
    data: dict[str, Any] = {
        "pressure_pa": here.pressure_pa,
        "water_shift_c": water_c,
        "weather_error_c": weather,
        "stages": [
            {
                "stage": each.stage.name,
                "low_c": each.low_c,
                "high_c": each.high_c,
                "error_c": each.uncertainty_c + (weather if each.stage.boils else 0.0),
                "low_sucrose_pct": each.low_pct,
                "high_sucrose_pct": each.high_pct,
            }
            for each in stages
        ],
        **found,
    }
    return Answer(
        says=says,
        basis=Basis(
            formula=_(
                "aw(w, T) · ps(T) = p: the same share of sugar w, boiling at this pressure p; aw of sucrose after Starzak and Peacock, ps of water from IAPWS-IF97"
            ),
            covers=_("sucrose and water up to 99 %, 500 to 1100 hPa"),
            error=_(
                "a stage here: the column beside it. A share of sugar: printed tables differ by {first} °C up to 62 %, {second} °C at 80 %, 6 °C from 90 %"
            ).format(first=decimals("0.5"), second=decimals("2.6")),
            source="Zuckerindustrie 122 (1997) 380–387; stages of American extension tables, as in H. McGee, "
            "On Food and Cooking, 2004, within 5 °F",
        ),
        heads=(_("Stage"), _("At sea level"), _("Here"), _("Give or take"), _("Sugar")),
        rows=tuple(_row(each, weather, scale) for each in stages),
        notes=(
            _("Pressure: {source}.").format(source=here.told),
            _("Glucose, acid, milk and butter move the stages: trust the cold water test before the thermometer."),
            _("Boil water first, and see how far the thermometer is off."),
            _("Caramel is no boiling point: there the sugar breaks down, at the same temperature everywhere."),
        ),
        caution=_(BURN_CAUTION),
        data=data,
    )


def share_error_pct(sucrose_pct: float, pressure_pa: float) -> float:
    """Return how far a share of sugar read from a boiling point may be off, either way. [% by weight]."""
    at, spread = syrup_boiling_point_c(sucrose_pct, pressure_pa), boiling_spread_c(sucrose_pct)
    lowest, highest = syrup_boiling_point_c(0.0, pressure_pa), syrup_boiling_point_c(_HIGHEST_PCT, pressure_pa)
    low = sucrose_share_pct(max(at - spread, lowest), pressure_pa)
    high = sucrose_share_pct(min(at + spread, highest), pressure_pa)
    return max(sucrose_pct - low, high - sucrose_pct)


def _of(at_c: float, here: Place, scale: Scale) -> tuple[str, dict[str, Any]]:
    """Say which stage and share of sugar a boiling syrup is at."""
    ends = [syrup_boiling_point_c(share, here.pressure_pa) for share in (0.0, _HIGHEST_PCT)]
    if not ends[0] <= at_c <= ends[1]:
        low, high = (format_temperature(end, scale) for end in ends)
        raise ConfigError(
            _(
                "no syrup boils at {at_c} here: they boil from {low}, as water, to {high}, at "
                "{highest_pct} % sugar; above that the sugar breaks down"
            ).format(
                at_c=format_temperature(at_c, scale), low=low, high=high, highest_pct=decimals(f"{_HIGHEST_PCT:g}")
            )
        )
    share = sucrose_share_pct(at_c, here.pressure_pa)
    error = share_error_pct(share, here.pressure_pa)
    stage = stage_at(at_c, here.pressure_pa)
    name = _between(at_c, here) if stage is None else _("at {stage}").format(stage=_plain(stage))
    sea_c = syrup_boiling_point_c(share, SEA_LEVEL_PA)
    says = _(
        "A syrup that boils at {temperature} here is {stage}: at sea level it would boil at {at_sea}. It holds about {share} % sugar, ± {error} %."
    ).format(
        temperature=format_temperature(at_c, scale),
        stage=name,
        at_sea=format_temperature(sea_c, scale),
        share=f"{share:.0f}",
        error=f"{error:.0f}",
    )
    found = {
        "at_c": at_c,
        "stage": None if stage is None else stage.stage.name,
        "sucrose_pct": share,
        "sucrose_error_pct": error,
        "sea_level_c": sea_c,
    }
    return says, found


def _between(at_c: float, here: Place) -> str:
    """Name the stages on both sides."""
    stages = [stage_here(name, here.pressure_pa) for name in STAGES]
    past = [_plain(each) for each in stages if each.high_c < at_c]
    ahead = [_plain(each) for each in stages if each.low_c > at_c]
    return ", ".join(
        [
            *(_("past {stage}").format(stage=name) for name in past[-1:]),
            *(_("before {stage}").format(stage=name) for name in ahead[:1]),
        ]
    )


def _plain(here: StageHere) -> str:
    return _(_STAGES[here.stage.name])


def _row(here: StageHere, weather_c: float, scale: Scale) -> tuple[str, ...]:
    low_c, high_c = _sea_level_c(here)
    sugar = (
        ""
        if here.low_pct is None
        else _("{low} to {high} %").format(low=f"{here.low_pct:.0f}", high=f"{here.high_pct:.0f}")
    )
    error = here.uncertainty_c + (weather_c if here.stage.boils else 0.0)
    return (
        _plain(here),
        _span(low_c, high_c, scale),
        _span(here.low_c, here.high_c, scale),
        give_or_take(error, scale),
        sugar,
    )


def _sea_level_c(here: StageHere) -> tuple[float, float]:
    return (here.stage.low_f - 32) / 1.8, (here.stage.high_f - 32) / 1.8


def _span(low_c: float, high_c: float, scale: Scale) -> str:
    span = _("{low} to {high}").format(low=f"{to_scale(low_c, scale):.0f}", high=f"{to_scale(high_c, scale):.0f}")
    return f"{span}{NARROW_SPACE}°{scale.value}"
