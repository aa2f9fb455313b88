"""For a manager's review of a finding that is dealt with: how much worse it may have got while it lasted.

Never beside an open finding, never before somebody has recorded what became of the food, and no permission to keep it.
"""

from sqlmodel import Session

from holdwatch.calculators.answer import Answer, Basis
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.errors import ConfigError
from holdwatch.language import N_, _, decimals
from holdwatch.people.handling import Handling, Stage
from holdwatch.quantities import format_duration
from holdwatch.readings import Medium, Record, Series
from holdwatch.rules.seen import prepare
from holdwatch.science.growth import LONGEST_GAP_MIN, MODELS, Growth, growth_over
from holdwatch.storage.handling import handling
from holdwatch.storage.records import record_of_unit, record_of_vessel
from holdwatch.storage.tables import Batch, Finding, Probe, Unit

__all__ = ["CAUTION", "growth_review"]

CAUTION = N_(
    "For the review alone. It is no permission to keep food: bacteria, food and beginning are not those of the laboratory, and a toxin stays when its bacteria are gone."
)
_DEALT_WITH = frozenset({Stage.HANDLED, Stage.VERIFIED})


def growth_review(session: Session, finding: Finding) -> Answer:
    """Return how much published models let bacteria grow while a finding lasted.

    Raises
    ------
    ConfigError
        If the finding is open, if nobody has recorded what became of the food, or if no food was measured.
    """
    _refuse_open(finding, handling(session, finding))
    series = _food(session, finding)
    if len(series) < 2:  # noqa: PLR2004  growth takes time
        raise ConfigError(
            _("finding {finding}: no food was measured while it lasted, so nothing can be said of growth").format(
                finding=finding.id
            )
        )
    made = sorted((growth_over(series, model) for model in MODELS), key=lambda growth: -growth.steps)
    first = made[0]
    lasted = format_duration(int(series.at_ms[-1] - series.at_ms[0]))
    return Answer(
        says=_(
            "In the {lasted} that were measured, {model} may have grown by {steps} decimal steps at most by the models asked."
        ).format(lasted=lasted, model=first.model.title, steps=decimals(f"{first.steps:.1f}")),
        basis=Basis(
            formula=_(
                "rate of growth at the food's temperature, summed along straight lines between readings; no lag phase"
            ),
            covers="; ".join(f"{growth.model.title}: {growth.model.limits}" for growth in made),
            error=_(
                "between strains and foods a factor of two is common; of two readings of a source the faster is taken"
            ),
            source="; ".join(growth.model.source for growth in made),
        ),
        heads=(_("Model"), _("Decimal steps"), _("Not covered")),
        rows=tuple(_row(growth) for growth in made),
        notes=tuple(_notes(first)),
        caution=_(CAUTION),
        data={
            "finding": finding.id,
            "growth": [
                {
                    "model": growth.model.name,
                    "log10_steps": round(growth.steps, 3),
                    "uncovered_min": round(growth.uncovered_min, 1),
                }
                for growth in made
            ],
            "unseen_min": round(first.unseen_min, 1),
        },
    )


def _refuse_open(finding: Finding, now: Handling) -> None:
    """Refuse what is no review: of an open finding, or before anybody said what became of the food."""
    if finding.closed_ms is None:
        raise ConfigError(
            _("finding {finding} is open: deal with it first; this is for the review afterwards").format(
                finding=finding.id
            )
        )
    if now.stage not in _DEALT_WITH or now.disposition is None:
        raise ConfigError(
            _("finding {finding}: nobody has recorded what became of the food yet; that comes first").format(
                finding=finding.id
            )
        )


def _food(session: Session, finding: Finding) -> Series:
    """Return what was measured of the food while a finding lasted; of two values the warmer."""
    until_ms = int(finding.facts.get("over_ms") or finding.closed_ms or finding.since_ms)
    record = _record(session, finding, until_ms)
    if record is None or record.medium is not Medium.FOOD:
        return Series.empty()
    seen = prepare(record, until_ms=until_ms, now_ms=until_ms).choices[0]
    return seen.high.between(finding.since_ms, until_ms)


def _record(session: Session, finding: Finding, until_ms: int) -> Record | None:
    if finding.batch_id is not None:
        vessel = finding.subject.rpartition(":")[2]
        batch = session.get_one(Batch, finding.batch_id)
        return record_of_vessel(session, batch, int(vessel) if vessel.isdigit() else 1, until_ms)
    if finding.unit_id is not None and finding.probe_id is not None:
        unit, probe = session.get_one(Unit, finding.unit_id), session.get_one(Probe, finding.probe_id)
        if probe.medium == Medium.FOOD:
            return record_of_unit(session, unit, probe, finding.since_ms, until_ms)
    return None


def _row(growth: Growth) -> tuple[str, str, str]:
    uncovered = format_duration(round(growth.uncovered_min) * MS_PER_MINUTE) if growth.uncovered_min >= 1 else ""
    return growth.model.title, decimals(f"{growth.steps:.1f}"), uncovered


def _notes(first: Growth) -> list[str]:
    if first.unseen_min < 1:
        return []
    unseen = format_duration(round(first.unseen_min) * MS_PER_MINUTE)
    return [
        _("{unseen} lie between readings more than {gap} min apart: counted along a straight line.").format(
            unseen=unseen, gap=f"{LONGEST_GAP_MIN:g}"
        )
    ]
