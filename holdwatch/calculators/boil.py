"""The boiling check of a probe: where water boils in this room, and what the probe shows in it."""

from typing import Any

from holdwatch.calculators.answer import Answer, Basis, give_or_take
from holdwatch.calculators.place import Place
from holdwatch.errors import OutOfRangeError
from holdwatch.language import N_, _, decimals
from holdwatch.quantities import Scale, format_difference, format_temperature
from holdwatch.science.boiling import ICE_POINT_C, boiling_point_c

__all__ = ["ASKED_C", "COLDEST_C", "HOTTEST_C", "ICE_C", "POT_C", "boiling_answer", "boiling_error_c", "within_asked"]

POT_C = 0.2
"""What the pot adds: 0.14 °C for 5 cm of water over the tip, and a little overheating. Our estimate."""
ICE_C = 0.1
"""What a bath of ice and water may be off where it was not stirred. Our estimate."""
ASKED_C = {Scale.C: 1.0, Scale.F: 2.0 / 1.8}
"""FDA Food Code 4-203.11: a food thermometer is accurate to ±1 °C, one scaled only in Fahrenheit to ±2 °F."""

COLDEST_C, HOTTEST_C = -60.0, 300.0
"""Beyond these a probe shows no temperature but an error of its own."""

CAUTION = N_(
    "Steam and boiling water burn: hold the probe with tongs or by its cable. A check tells of the two points alone, not of those between."
)


def boiling_error_c(here: Place) -> float:
    """Return how far the boiling point may be off because of the pressure, either way. [°C]."""
    at = boiling_point_c(here.pressure_pa)
    return max(
        boiling_point_c(here.pressure_pa + here.error_pa) - at, at - boiling_point_c(here.pressure_pa - here.error_pa)
    )


def boiling_answer(
    here: Place, *, shows_c: float | None = None, in_ice_c: float | None = None, scale: Scale = Scale.F
) -> Answer:
    """Return where water boils, and how far a probe is off that was held in it.

    Parameters
    ----------
    here : Place
    shows_c : float, optional. [°C] that the probe shows in boiling water.
    in_ice_c : float, optional. [°C] that it shows in melting ice and water, stirred.
    scale : in which the answer is told.

    Raises
    ------
    OutOfRangeError
        If what it shows is no temperature: outside −60 to 300 °C.
    """
    at, error = boiling_point_c(here.pressure_pa), boiling_error_c(here)
    points = {N_("boiling water"): (shows_c, at, error + POT_C), N_("melting ice"): (in_ice_c, ICE_POINT_C, ICE_C)}
    rows, checks = [], []
    for name, (shown, true, sure) in points.items():
        if shown is None:
            continue
        if not COLDEST_C <= shown <= HOTTEST_C:
            raise OutOfRangeError(
                _("what the probe shows in {name}").format(name=_(name)), shown, COLDEST_C, HOTTEST_C, "°C"
            )
        off = shown - true
        word = within_asked(off, sure, ASKED_C[scale])
        rows.append(
            (
                _(name),
                format_temperature(true, scale),
                format_temperature(shown, scale),
                f"{_signed(off, scale)} {give_or_take(sure, scale)}",
                _(_WORDS[word]),
            )
        )
        checks.append({"point": name, "true_c": true, "shows_c": shown, "off_c": off, "error_c": sure, "finding": word})
    data: dict[str, Any] = {
        "pressure_pa": here.pressure_pa,
        "pressure_error_pa": here.error_pa,
        "boils_at_c": at,
        "error_c": error,
        "checks": checks,
    }
    return Answer(
        says=_("Water boils at {temperature} here, {error}.").format(
            temperature=format_temperature(at, scale), error=give_or_take(error, scale)
        ),
        basis=Basis(
            formula=_(
                "saturation line of water, IAPWS-IF97 region 4; pressure by the standard atmosphere of 1976 where only the altitude is known"
            ),
            covers=_("500 to 1100 hPa in the room"),
            error=_("the equation {equation} °C; the pressure ± {pressure} hPa; the pot {pot} °C").format(
                equation=decimals("0.0003"), pressure=decimals(f"{here.error_pa / 100:.1f}"), pot=decimals(str(POT_C))
            ),
            source="IAPWS R7-97(2012); U.S. Standard Atmosphere 1976; FDA Food Code 4-203.11 (±1 °C; ±2 °F)",
        ),
        heads=(
            _("In"),
            _("True"),
            _("It shows"),
            _("Off by"),
            _("Against ± {asked}").format(asked=format_difference(ASKED_C[scale], scale)),
        )
        if rows
        else (),
        rows=tuple(rows),
        notes=(_("Pressure: {source}.").format(source=here.told), *_advice(here)),
        caution=_(CAUTION),
        data=data,
    )


_WORDS = {
    "within": N_("within it"),
    "beyond": N_("beyond it: adjust it or take it out of use"),
    "unclear": N_("cannot be told: the true point is not known well enough"),
}


def within_asked(off_c: float, sure_c: float, asked_c: float) -> str:
    """Return ``within``, ``beyond`` or ``unclear``: whether a difference is within what is asked, whatever is uncertain.

    Parameters
    ----------
    off_c : how far off a probe is. [°C]
    sure_c : how far the true temperature may be off, either way. [°C]
    asked_c : how far off it may be. [°C]
    """
    slack = 1e-9
    if abs(off_c) + sure_c <= asked_c + slack:
        return "within"
    return "beyond" if abs(off_c) - sure_c > asked_c + slack else "unclear"


def _signed(off_c: float, scale: Scale) -> str:
    sign = "−" if off_c < 0 else "+"
    return f"{sign}{format_difference(off_c, scale, 1)}"


def _advice(here: Place) -> tuple[str, ...]:
    if here.error_pa > here.pressure_pa * 0.01:
        return (
            _("The weather moves this: a barometer in the room, not set to sea level, makes it three times as sure."),
        )
    return ()
