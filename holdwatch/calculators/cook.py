"""What heat did to Salmonella in an egg mixture: the rows of the code as gates of their own, and an estimate beside them."""

import re
from typing import Any

import numpy as np

from holdwatch.calculators.answer import Answer, Basis
from holdwatch.clock import MS_PER_MINUTE, MS_PER_SECOND
from holdwatch.errors import ConfigError
from holdwatch.limits.model import CookingLimits, Limits
from holdwatch.quantities import Duration, Scale, Temperature, format_difference, format_temperature
from holdwatch.readings import Series
from holdwatch.rules.cooking import judge_row
from holdwatch.rules.verdicts import Process, Verdict
from holdwatch.science.lethality import COUNTED_FROM_C, MEDIA, MOST_TOLD, CookEstimate, EggMedium, estimate_cook

__all__ = ["CAUTION", "USUAL_TOLERANCE_C", "cook_answer", "read_course", "read_medium"]

USUAL_TOLERANCE_C = 1.0
"""What a food thermometer may be off: FDA Food Code 4-203.11, ±1 °C in the range of its use."""

CAUTION = (
    "An estimate of one kind of bacteria, from one strain in a laboratory: it is no verdict and stands for no row of the "
    "code. Only a row that was reached shows a cook, and no cook undoes a toxin."
)
GATES = {
    Verdict.MET: "reached",
    Verdict.MISSED: "not reached",
    Verdict.UNPROVEN: "not shown",
}
_STEP_MS = 5 * MS_PER_SECOND
_AT = re.compile(r"(?P<temperature>.+?)\s+at\s+(?P<minute>\d+(?:\.\d+)?)\s*(?:min)?", re.IGNORECASE)
_FOR = re.compile(r"(?P<temperature>.+?)\s+for\s+(?P<length>.+)", re.IGNORECASE)
_LONGEST_MS = 24 * 60 * MS_PER_MINUTE


def read_medium(text: str) -> EggMedium:
    """Read what was cooked.

    Raises
    ------
    ConfigError
        If nobody's D of it is known here.
    """
    found = MEDIA.get(text.strip().lower())
    if found is None:
        raise ConfigError(f"{text!r} is no egg mixture known here; write one of: {', '.join(MEDIA)}")
    return found


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
    points = [_AT.fullmatch(part.strip()) for part in text.split(",")]
    if len(points) < 2 or any(point is None for point in points):  # noqa: PLR2004  a course has two ends
        raise ConfigError(f"{text!r} is no course: write 155F for 17 s, or 68F at 0, 140F at 4, 160F at 9 (minutes)")
    found = [point for point in points if point is not None]
    at_ms = [round(float(point["minute"]) * MS_PER_MINUTE) for point in found]
    if sorted(set(at_ms)) != at_ms or at_ms[-1] > _LONGEST_MS:
        raise ConfigError(f"{text!r}: the minutes are to run on, over a day at most")
    return _straight(at_ms, [_celsius(point["temperature"]) for point in found])


def cook_answer(
    series: Series, medium: EggMedium, limits: Limits, *, tolerance_c: float = USUAL_TOLERANCE_C, scale: Scale = Scale.F
) -> Answer:
    """Return what a record of a cook amounts to, with each row of the code beside it.

    Raises
    ------
    OutOfRangeError
        If a reading or the tolerance is outside the range of the formula.
    """
    made = estimate_cook(series, medium, tolerance_c=tolerance_c)
    off = format_difference(tolerance_c, scale, 1)
    gates = _gates(series, limits, tolerance_c)
    return Answer(
        says=f"In {medium.title}, Salmonella is estimated to be reduced {_told(made)}.",
        basis=Basis(
            formula="decimal reductions = minutes that do as much at the reference temperature, summed exactly over "
            f"straight lines between readings, over D; D {medium.d_min:g} min at {medium.at_c:g} °C, z 4.6 °C",
            covers=f"{COUNTED_FROM_C:g} to {medium.counted_to_c:g} °C; colder counts nothing, warmer counts as its end",
            error=f"the probe may be off by {off}, which is subtracted; z 4.2 to 5.3 °C; resistant strains take 2.3 "
            "times as long: the low end has all three, the high end none",
            source=medium.source,
        ),
        heads=("Row of the code", "As read", f"Less {off}"),
        rows=tuple((row, GATES[read], GATES[less]) for row, read, less in gates),
        notes=tuple(_notes(made, scale)),
        caution=CAUTION,
        data=_data(made, gates),
    )


def _gates(series: Series, limits: Limits, tolerance_c: float) -> list[tuple[str, Verdict, Verdict]]:
    """Return each row of the code with what the record shows of it, as read and with the tolerance subtracted."""
    table = limits.part(Process.COOK_EGGS.value, CookingLimits)
    if table is None:
        return []
    less = Series(series.at_ms, series.celsius - tolerance_c)
    return [(str(row), judge_row(row, series).verdict, judge_row(row, less).verdict) for row in table.rows]


def _notes(made: CookEstimate, scale: Scale) -> list[str]:
    """Say what a reader of the figure is to know."""
    notes = []
    medium = made.medium
    if made.warmer_min > 0:
        level = format_temperature(medium.counted_to_c, scale, 0)
        notes.append(
            f"{_length(made.warmer_min)} above {level} count as if at {level}: nobody cited here measured it warmer. The "
            "high end draws the line on."
        )
    if made.unseen_min > 0:
        notes.append(f"{_length(made.unseen_min)} between readings more than 90 s apart count nothing.")
    if medium.name == "yolk":
        notes.append("Sugar makes it ten times more resistant: for a base of yolk and sugar take sugared-yolk.")
    return notes


def _data(made: CookEstimate, gates: list[tuple[str, Verdict, Verdict]]) -> dict[str, Any]:
    return {
        "egg": made.medium.name,
        "log_reductions": _capped(made.logs),
        "log_reductions_low": _capped(made.low),
        "log_reductions_high": _capped(made.high),
        "or_more_at": MOST_TOLD,
        "equivalent_min": round(made.minutes, 4),
        "reference_c": made.medium.at_c,
        "tolerance_c": made.tolerance_c,
        "beyond_measured_min": round(made.warmer_min, 3),
        "unseen_min": round(made.unseen_min, 3),
        "rows": [{"row": row, "as_read": read.value, "less_tolerance": less.value} for row, read, less in gates],
    }


def _told(made: CookEstimate) -> str:
    """Write the estimate with its interval; beyond what anybody has counted there is no figure."""
    if made.low > MOST_TOLD:
        return f"more than {MOST_TOLD:g} decimal steps, at the low end as well"
    return f"{_logs(made.logs)} decimal steps ({_logs(made.low)} to {_logs(made.high)})"


def _logs(logs: float) -> str:
    return f"more than {MOST_TOLD:g}" if logs > MOST_TOLD else f"{logs:.1f}"


def _capped(logs: float) -> float:
    return round(min(logs, MOST_TOLD), 3)


def _length(minutes: float) -> str:
    return f"{minutes * 60:.0f} s" if minutes < 2 else f"{minutes:.0f} min"  # noqa: PLR2004  seconds say more when few


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
        raise ConfigError(f"{text!r} is longer than a day")
    return length_ms
