"""The written procedure for time as a public health control, made from the plan and the limits in force.

FDA Food Code 3-501.19(A) asks for it before time is used in place of temperature: prepared in advance, kept on site,
shown on request; how each condition of the clause is met, and how food that was cooked and cooled before was cooled as
3-501.14 asks. That food under time control does not go back and begin again rests on the annex of the code, and was
not seen in its text.
"""

from dataclasses import dataclass, replace

from holdwatch.language import N_, _
from holdwatch.limits import CumulativeLimits, Limits, TimeControlLimits
from holdwatch.limits.telling import NAMES
from holdwatch.plan.allergens import told
from holdwatch.plan.control import need_of
from holdwatch.plan.model import Asked, PlanStep, Product
from holdwatch.plan.telling import critical_words

__all__ = ["TIME_CONTROL", "Procedure", "procedures"]

TIME_CONTROL = ("time-control-4h", "time-control-6h", "time-control-from-room", "cumulative-time")
"""The parts of a limits file in which time stands in the place of temperature."""
_BEFORE = ("cooling", "ambient-cooling", "received-cooling", "cold-holding", "hot-holding")
_WATCHED = {"time-control-6h", "time-control-from-room"}
_OUT = N_(
    "The warmest part of the food is measured, unless the air of the room is measured and shows that the food cannot be above the limit. What is above it is discarded at once."
)
_SHOWS_BOTH = {"time-control-6h"}


@dataclass(frozen=True)
class Procedure:
    """What is done with one product while time is its control, as rows of what and how."""

    product: str
    part: str
    clause: str
    """Empty where the code in force gives no figure for it."""
    rows: tuple[tuple[str, str], ...]
    """Each with the English name of its row, which is looked up where it is shown."""


def procedures(product: Product, limits: Limits) -> tuple[Procedure, ...]:
    """Return the procedures of a product, one for each time control that its steps name; none where it needs none."""
    if not need_of(product).asked:
        return ()
    return tuple(
        _procedure(product, step, part, limits)
        for step in product.steps
        for part in step.processes
        if part in TIME_CONTROL
    )


def _procedure(product: Product, step: PlanStep, part: str, limits: Limits) -> Procedure:
    limit = limits.part(part, TimeControlLimits) or limits.part(part, CumulativeLimits)
    if limit is None:
        without = limits.no_figure.get(part)
        says = (
            without.says
            if without
            else _("{limits} says nothing of it: your authority decides.").format(limits=limits.title)
        )
        none = _("None in the limits in force, so that time is not used in place of temperature.")
        return Procedure(product.name, part, "", ((N_("Limit"), f"{none} {says}"),))
    rows = [
        (
            N_("Food"),
            f"{product.name}. {product.about} " + _("Allergens: {allergens}.").format(allergens=told(product.contains)),
        ),
        (N_("When"), step.name),
        (N_("Limit"), f"{limit.requires} ({limit.source})."),
        (N_("Before that"), _before(product, limits)),
        (N_("Taking it out"), _taking_out(limit)),
        (N_("Marking"), _marking(part, limit)),
    ]
    if part in _WATCHED:
        rows.append((N_("While it is out"), _(_OUT)))
    rows += [
        (N_("At the marked time"), _end(limit)),
        (N_("Never"), _never(product)),
        (N_("Monitoring"), f"{step.watched} {step.how_often}"),
        (N_("If it is not kept"), step.action),
        (N_("Verification"), step.verified_by),
        (N_("Record"), step.record),
    ]
    return Procedure(product.name, part, limit.clause, tuple(rows))


def _before(product: Product, limits: Limits) -> str:
    """Say how it was cooled, and held until it is taken out."""
    said = []
    for step in product.steps:
        parts = [part for part in step.processes if part in _BEFORE]
        if parts:
            names = _(" and ").join(_(NAMES[part]).lower() for part in parts)
            said.append(f"{step.name} ({names}): {critical_words(replace(step, processes=tuple(parts)), limits)}.")
    return " ".join(said) or _(
        "The plan names no cooling and no holding before it: write here how it is kept until then."
    )


def _taking_out(limit: TimeControlLimits | CumulativeLimits) -> str:
    if isinstance(limit, CumulativeLimits):
        return _(
            "The instant is recorded on the batch each time it leaves temperature control, and each time it is back."
        )
    said = (
        _(
            "The temperature of the food is taken first: it is {cold} or less, or {hot} or above. The instant is recorded on the batch."
        )
        if limit.starts_hot
        else _(
            "The temperature of the food is taken first: it is {cold} or less. The instant is recorded on the batch."
        )
    )
    hot = limit.starts_hot.temperature if limit.starts_hot else ""
    return said.format(cold=limit.starts_cold.temperature, hot=hot)


def _marking(part: str, limit: TimeControlLimits | CumulativeLimits) -> str:
    if isinstance(limit, CumulativeLimits):
        said = _("The time by which it must be gone, {within} of all times out added up, stands on its container.")
    elif part in _SHOWS_BOTH:
        said = _(
            "Each container, bag or stand bears the time at which it was taken out, and the time that is {within} after it was taken out."
        )
    else:
        said = _("Each container, bag or stand bears the time that is {within} after it was taken out.")
    return said.format(within=limit.within)


def _end(limit: TimeControlLimits | CumulativeLimits) -> str:
    if isinstance(limit, CumulativeLimits):
        return _(
            "Out for less than {back} in all it may go back into the cold; after that it is served, and at {within} discarded."
        ).format(back=limit.back_within, within=limit.within)
    return _("It has been served, sold or used by then, or it is discarded. What bears no mark is discarded.")


def _never(product: Product) -> str:
    said = _("It does not go back into temperature control to begin again, and it is not mixed with a fresh batch.")
    if product.asks(Asked.EGG) and product.said(Asked.EGG) in {None, "raw"}:
        said += " " + _(
            "Where highly susceptible people are served, time is not used for raw egg (3-501.19, 3-801.11)."
        )
    return said
