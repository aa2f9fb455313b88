"""What heat did to Salmonella in an egg mixture: the rows of the code as gates of their own, and an estimate beside them."""

from typing import Any

from holdwatch.calculators.answer import Answer, Basis
from holdwatch.errors import ConfigError
from holdwatch.language import N_, _, decimals
from holdwatch.limits.model import CookingLimits, Limits
from holdwatch.quantities import Scale, format_difference, format_temperature
from holdwatch.readings import Series
from holdwatch.rules.cooking import judge_row
from holdwatch.rules.verdicts import Process, Verdict
from holdwatch.science.lethality import COUNTED_FROM_C, MEDIA, MOST_TOLD, CookEstimate, EggMedium, estimate_cook

__all__ = ["CAUTION", "USUAL_TOLERANCE_C", "cook_answer", "read_medium"]

USUAL_TOLERANCE_C = 1.0
"""What a food thermometer may be off: FDA Food Code 4-203.11, ±1 °C in the range of its use."""

CAUTION = N_(
    "An estimate of one kind of bacteria, from one strain in a laboratory: it is no verdict and stands for no row of the code. Only a row that was reached shows a cook, and no cook undoes a toxin."
)
GATES = {
    Verdict.MET: N_("reached"),
    Verdict.MISSED: N_("not reached"),
    Verdict.UNPROVEN: N_("not shown"),
}


def read_medium(text: str) -> EggMedium:
    """Read what was cooked.

    Raises
    ------
    ConfigError
        If nobody's D of it is known here.
    """
    found = MEDIA.get(text.strip().lower())
    if found is None:
        raise ConfigError(
            _("{text!r} is no egg mixture known here; write one of: {known}").format(text=text, known=", ".join(MEDIA))
        )
    return found


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
        says=_("In {food}, Salmonella is estimated to be reduced {steps}.").format(
            food=_(medium.title), steps=_told(made)
        ),
        basis=Basis(
            formula=_(
                "decimal reductions = minutes that do as much at the reference temperature, summed exactly over straight lines between readings, over D; D {d} min at {at} °C, z {z} °C"
            ).format(d=decimals(f"{medium.d_min:g}"), at=decimals(f"{medium.at_c:g}"), z=decimals("4.6")),
            covers=_("{low} to {high} °C; colder counts nothing, warmer counts as its end").format(
                low=decimals(f"{COUNTED_FROM_C:g}"), high=decimals(f"{medium.counted_to_c:g}")
            ),
            error=_(
                "the probe may be off by {off}, which is subtracted; z {z_low} to {z_high} °C; resistant strains take {times} times as long: the low end has all three, the high end none"
            ).format(off=off, z_low=decimals("4.2"), z_high=decimals("5.3"), times=decimals("2.3")),
            source=medium.source,
        ),
        heads=(_("Row of the code"), _("As read"), _("Less {off}").format(off=off)),
        rows=tuple((row, _(GATES[read]), _(GATES[less])) for row, read, less in gates),
        notes=tuple(_notes(made, scale)),
        caution=_(CAUTION),
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
            _(
                "{length} above {temperature} count as if at {temperature}: nobody cited here measured it warmer. The high end draws the line on."
            ).format(length=_length(made.warmer_min), temperature=level)
        )
    if made.unseen_min > 0:
        notes.append(
            _("{length} between readings more than 90 s apart count nothing.").format(length=_length(made.unseen_min))
        )
    if medium.name == "yolk":
        notes.append(
            _("Sugar makes it ten times more resistant: for a base of yolk and sugar take {food}.").format(
                food=_(MEDIA["sugared-yolk"].title)
            )
        )
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
        return _("more than {steps} decimal steps, at the low end as well").format(steps=f"{MOST_TOLD:g}")
    return _("{steps} decimal steps ({low} to {high})").format(
        steps=_logs(made.logs), low=_logs(made.low), high=_logs(made.high)
    )


def _logs(logs: float) -> str:
    if logs > MOST_TOLD:
        return _("more than {steps}").format(steps=f"{MOST_TOLD:g}")
    return decimals(f"{logs:.1f}")


def _capped(logs: float) -> float:
    return round(min(logs, MOST_TOLD), 3)


def _length(minutes: float) -> str:
    return f"{minutes * 60:.0f} s" if minutes < 2 else f"{minutes:.0f} min"  # noqa: PLR2004  seconds say more when few
