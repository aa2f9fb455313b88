"""What food would be in air that was read, with its lag set or learned, and what the air itself did."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from holdwatch.calculators.answer import Answer, Basis
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import N_, _
from holdwatch.quantities import Scale, format_temperature
from holdwatch.readings import Series
from holdwatch.science.foodlag import LONGEST_GAP_MIN, USUAL_LAG_MIN, food_of_air
from holdwatch.science.lag_learning import FoodLag, learn_lag
from holdwatch.science.mean_kinetic import mean_kinetic_c

__all__ = ["CAUTION", "MEAN_KINETIC", "lag_answer"]

CAUTION = N_("An estimate of food from its air: it neither keeps nor breaks a limit. Check the food with a probe.")
MEAN_KINETIC = N_("Mean kinetic temperature of the air: no food-safety criterion, for comparison only")


def lag_answer(
    air: Series, *, lag_min: float | None = None, food: Series | None = None, scale: Scale = Scale.F
) -> Answer:
    """Return what food with a lag would be in that air; with a record of food the lag is learned first.

    Parameters
    ----------
    air : Series. [ms, °C], at least one reading.
    lag_min : float or None. [min], the lag; if not given, learned from `food`, else the usual one.
    food : Series or None. [ms, °C], of food in the same place, to learn from.

    Raises
    ------
    OutOfRangeError
        If a temperature or the lag is outside the range of the formula.
    """
    learned = learn_lag(air, food) if food is not None and lag_min is None else None
    given = lag_min if lag_min is not None else (learned.lag_min if learned is not None else None)
    used = USUAL_LAG_MIN if given is None else given
    estimated = food_of_air(air, used)
    lowest, highest = float(estimated.celsius.min()), float(estimated.celsius.max())
    kinetic_c = mean_kinetic_c(air.celsius, _lengths(air))
    return Answer(
        says=_(
            "Food with a lag of {lag} min is estimated at {end} at the end, from {lowest} to {highest} on the way."
        ).format(
            lag=f"{used:.0f}",
            end=_words(float(estimated.celsius[-1]), scale),
            lowest=_words(lowest, scale),
            highest=_words(highest, scale),
        ),
        basis=Basis(
            formula=_(
                "τ dT/dt = T_air − T, exact for air that runs straight from reading to reading; it begins as the air does, again behind a hole of more than {minutes} min"
            ).format(minutes=f"{LONGEST_GAP_MIN:g}"),
            covers=_("a lag of 1 min to a day; learned from 3 to 600 min"),
            error=_("that of the lag; one lag is too quick for the middle of a deep pan"),
            source="Geankoplis, Transport Processes and Unit Operations, section 5.2 (lumped body)",
        ),
        heads=("", _("Lowest"), _("Mean"), _("Highest")),
        rows=(
            (_("The air, as read"), *_row(air, scale)),
            (_("Food, estimated"), *_row(estimated, scale)),
            (_(MEAN_KINETIC), "", _words(kinetic_c, scale), ""),
        ),
        notes=tuple(_notes(used, given, learned)),
        caution=_(CAUTION),
        data=_data(air, estimated, used, learned, kinetic_c),
    )


def _notes(used: float, given: float | None, learned: FoodLag | None) -> list[str]:
    if learned is not None and learned.lag_min is not None:
        said = _("The lag was {learned}: {lag} min, between {low} and {high}, nine times of ten.")
        return [
            said.format(
                learned=learned.reason, lag=f"{used:.0f}", low=f"{learned.low_min:.0f}", high=f"{learned.high_min:.0f}"
            )
        ]
    if learned is not None:
        said = _("No lag was learned: {reason}. The usual {lag} min of a small covered pan stand in.")
        return [said.format(reason=learned.reason, lag=f"{used:.0f}")]
    if given is None:
        said = _("Nobody gave a lag: the usual {lag} min of a small covered pan stand in.")
        return [said.format(lag=f"{used:.0f}")]
    return []


def _data(air: Series, estimated: Series, used: float, learned: FoodLag | None, kinetic_c: float) -> dict[str, Any]:
    data: dict[str, Any] = {
        "lag_min": round(used, 2),
        "food_last_c": round(float(estimated.celsius[-1]), 4),
        "food_lowest_c": round(float(estimated.celsius.min()), 4),
        "food_highest_c": round(float(estimated.celsius.max()), 4),
        "air_lowest_c": round(float(air.celsius.min()), 4),
        "air_highest_c": round(float(air.celsius.max()), 4),
        "mean_kinetic_c": round(kinetic_c, 4),
        "mean_kinetic_says": "no food-safety criterion",
        "learned": None,
    }
    if learned is not None:
        data["learned"] = {
            "lag_min": _rounded(learned.lag_min),
            "low_min": _rounded(learned.low_min),
            "high_min": _rounded(learned.high_min),
            "offset_c": _rounded(learned.offset_c),
            "reason": learned.reason,
        }
    return data


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 2)


def _row(series: Series, scale: Scale) -> tuple[str, str, str]:
    mean = float(np.average(series.celsius, weights=_lengths(series)))
    return _words(float(series.celsius.min()), scale), _words(mean, scale), _words(float(series.celsius.max()), scale)


def _lengths(series: Series) -> NDArray[np.float64]:
    """Return how long each reading stands for: half of the way to either neighbour, a hole not counted. [min]."""
    if len(series) == 1:
        return np.ones(1)
    gaps = np.minimum(np.diff(series.at_ms) / MS_PER_MINUTE, LONGEST_GAP_MIN)
    lengths: NDArray[np.float64] = (np.append(gaps, 0.0) + np.append(0.0, gaps)) / 2 + 1e-9
    return lengths


def _words(celsius: float, scale: Scale) -> str:
    return format_temperature(celsius, scale).replace("\u202f", " ")
