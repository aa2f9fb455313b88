"""Telling a schedule: when to begin what, or why it cannot be done."""

from datetime import tzinfo
from typing import Any

from holdwatch.calculators.answer import Answer, Basis
from holdwatch.calculators.cakes.model import Cake
from holdwatch.calculators.cooling import DEPTH_OFF, interval_told
from holdwatch.calculators.scheduling import Schedule, Step
from holdwatch.clock import to_datetime, to_iso
from holdwatch.language import N_, _, short_day
from holdwatch.limits.model import Limits

__all__ = ["CAUTION", "schedule_answer"]

CAUTION = N_(
    "A plan, with every cooling at the slow end of its estimate: it shows no limit kept and makes none longer. What counts is the thermometer in the food when you begin the next step. What warms while the cake is put together is not reckoned with."
)


def schedule_answer(cake: Cake, plan: Schedule, limits: Limits, zone: tzinfo) -> Answer:
    """Return a schedule in words, with times of day in `zone`."""
    return Answer(
        says=_says(cake, plan, zone),
        basis=Basis(
            formula=_(
                "each cooling from conduction in its container (see cool-faster), stage by stage, each stage begun at the level of the slowest point; reckoned back from the serving"
            ),
            covers=_("depth 5 to 300 mm, container 2 cm to 1 m, levels from 0 °C; unfrozen"),
            error=_(
                "nine times of ten ready in time if the ranges hold: depth ±{depth}, properties of the food, surroundings and surface as cool-faster tells them"
            ).format(depth=f"{DEPTH_OFF:.0%}"),
            source=_("Incropera, sections 5.1, 5.5, 5.6; Choi and Okos 1986; {food}; limits: {limits}").format(
                food=_(cake.layers.food.source), limits=limits.title
            ),
        ),
        heads=(_("Step"), _("From"), _("To"), _("How long")),
        rows=_rows(plan, zone),
        notes=tuple(_sentence(note) for note in (*plan.cannot[1:], *plan.watch)),
        caution=_(CAUTION),
        data=_data(cake, plan, limits),
    )


def _says(cake: Cake, plan: Schedule, zone: tzinfo) -> str:
    if plan.cannot:
        said = _("{cake} cannot be done like this: {why}.").format(cake=_(cake.title), why=plan.cannot[0])
        if plan.soonest_ms is None:
            return said
        soonest = _("It could be served at {time} at the soonest.").format(time=_when(plan.soonest_ms, zone))
        return f"{said} {soonest}"
    steps = {step.name: step for step in plan.steps}
    served, start = _when(steps["serve"].from_ms, zone), _when(steps["cook the filling"].from_ms, zone)
    if "bake the layers" in steps:
        begin = _when(plan.steps[0].from_ms, zone)
        return _("{cake}, served {served}: begin at {begin}; start the filling at {start}.").format(
            cake=_(cake.title), served=served, begin=begin, start=start
        )
    layers = steps["cool the layers"]
    perhaps_ms = layers.from_ms + round((layers.cooling.low if layers.cooling else 0.0) * 1_000)
    return _(
        "{cake}: the layers can be filled from {layers} on (perhaps from {perhaps}); start the filling at {start}; served {served}."
    ).format(
        cake=_(cake.title),
        layers=_when(layers.to_ms, zone),
        perhaps=_when(perhaps_ms, zone),
        start=start,
        served=served,
    )


def _rows(plan: Schedule, zone: tzinfo) -> tuple[tuple[str, str, str, str], ...]:
    """Return the steps; the day stands beside the time where not all of them are on one."""
    instants = [at_ms for step in plan.steps for at_ms in (step.from_ms, step.to_ms)]
    one_day = len({to_datetime(at_ms).astimezone(zone).date() for at_ms in instants}) == 1

    def row(step: Step) -> tuple[str, str, str, str]:
        how = step.where if step.cooling is None else f"{step.where}: {interval_told(step.cooling)}"
        begins, ends = (_when(at_ms, zone, day=not one_day) for at_ms in (step.from_ms, step.to_ms))
        return _(step.name), begins, ends if step.cooling is None else _("by {time}").format(time=ends), how

    return tuple(row(step) for step in plan.steps)


def _when(at_ms: int, zone: tzinfo, *, day: bool = True) -> str:
    at = to_datetime(at_ms).astimezone(zone)
    return f"{short_day(at.date())} {at:%H:%M}" if day else f"{at:%H:%M}"


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."


def _data(cake: Cake, plan: Schedule, limits: Limits) -> dict[str, Any]:
    def iso(at_ms: int | None) -> str | None:
        return None if at_ms is None else to_iso(at_ms)

    return {
        "cake": cake.title,
        "limits": limits.id,
        "possible": not plan.cannot,
        "begin_at": iso(plan.begin_ms),
        "serve_at": iso(plan.serve_ms),
        "gone_at": iso(plan.gone_ms),
        "soonest_at": iso(plan.soonest_ms),
        "cannot": list(plan.cannot),
        "watch": list(plan.watch),
        "steps": [
            {
                "step": step.name,
                "from": to_iso(step.from_ms),
                "to": to_iso(step.to_ms),
                "where": step.where or None,
                "estimate_min": None
                if step.cooling is None
                else [round(part / 60) for part in (step.cooling.low, step.cooling.middle, step.cooling.high)],
            }
            for step in plan.steps
        ],
    }
