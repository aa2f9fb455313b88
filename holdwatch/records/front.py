"""The first page: premises, period, what the span comes to, the limits in force, the probes, what is not covered."""

from collections import Counter
from collections.abc import Collection, Sequence
from typing import Any

from sqlmodel import Session, col, select

from holdwatch.charts.marks import Mark
from holdwatch.language import N_, _, decimals, written_day
from holdwatch.limits import Confidence
from holdwatch.quantities import format_difference
from holdwatch.records.check_pages import last_check
from holdwatch.records.setting import Setting, shown
from holdwatch.records.times import length
from holdwatch.records.unit_pages import ProbeGap
from holdwatch.storage.register import events, placements, probes
from holdwatch.storage.tables import Batch, ClauseState, Correction, EventKind, Placement, Probe, SiteVersion, Unit
from holdwatch.views.limits import Governing, governing
from holdwatch.views.words import CAUTION, medium

__all__ = [
    "covered",
    "foot",
    "limits_note",
    "limits_rows",
    "not_covered",
    "probe_rows",
    "sites_in_force",
    "summary",
]

_NEVER_COVERED = (N_("hands and sickness of staff"), N_("cleaning"), N_("vacuum-packed or sous-vide food"))
_PERHAPS_COVERED = {
    "receiving": N_("deliveries"),
    "cook-eggs": N_("cooking of eggs"),
    "reheating": N_("reheating"),
    "time-control": N_("time as a control instead of temperature"),
    "date-marking": N_("date marks"),
}
_READ = {
    Confidence.SEEN: N_("in the code's own text"),
    Confidence.SECONDARY: N_("in a summary by others"),
    Confidence.MEMORY: N_("not seen in print"),
}
_MOST_LOTS = 6
_ALWAYS_COVERED = ("cooling", "cold-holding", "hot-holding")
_ORDER = (Mark.KEPT, Mark.DEVIATION, Mark.NOT_SHOWN, Mark.SOON, Mark.RUNNING, Mark.NO_LIMIT)


def sites_in_force(session: Session, setting: Setting) -> list[Governing]:
    """Return the versions of the site that were in force in the span with their limits, the oldest first."""
    all_ = session.exec(
        select(SiteVersion)
        .where(SiteVersion.from_ms <= setting.until_ms)
        .order_by(col(SiteVersion.from_ms), col(SiteVersion.id))
    ).all()
    before = [site for site in all_ if site.from_ms <= setting.span.first_ms][-1:]
    found = [*before, *(site for site in all_ if site.from_ms > setting.span.first_ms)]
    return [governing(session, site) for site in found]


def covered(session: Session) -> frozenset[str]:
    """Return the processes that anything on record was judged as, and those that are always watched."""
    delivered = ["receiving"] if events(session, kinds=[EventKind.DELIVERED]) else []
    judged = session.exec(select(ClauseState.process).distinct()).all()
    return frozenset({*_ALWAYS_COVERED, *judged, *delivered})


def not_covered(covers: Collection[str]) -> str:
    """Say what the log does not cover."""
    judged = [said for begin, said in _PERHAPS_COVERED.items() if not any(each.startswith(begin) for each in covers)]
    said = ", ".join(map(_, [*_NEVER_COVERED, *judged]))
    end = _("What no probe or hand reading measured is not shown here, and nothing here says that food is safe.")
    return f"{said[:1].upper()}{said[1:]}. {end}"


def limits_rows(in_force: Sequence[Governing], covers: Collection[str]) -> list[list[str]]:
    """Return every limit in force that the log covers, with its clause and how surely its figure was read."""
    rows: list[list[str]] = []
    for limits in {each.limits.digest: each.limits for each in in_force}.values():
        rows += [
            [row.clause, row.requires, row.source, _(_READ[row.confidence]), written_day(row.read_on)]
            for part, row in limits.figures()
            if _is_covered(part, covers)
        ]
        without = [none for part, none in limits.no_figure.items() if _is_covered(part, covers)]
        rows += [[none.clause, none.says, none.source, "", ""] for none in without]
    return rows


def _is_covered(part: str, covers: Collection[str]) -> bool:
    """Tell whether a part of the limits is one that something was judged by: receiving has three."""
    return part in covers or (part.startswith("receiving-") and "receiving" in covers)


def limits_note(in_force: Sequence[Governing], setting: Setting) -> str:
    """Name the codes, their editions and texts; say what is confirmed, laxer, not seen and not answered."""
    told = [
        _("{limits}, {authority}; text {version}.").format(
            limits=each.name, authority=each.limits.authority, version=each.version
        )
        + f" {each.confirmed[:1].upper()}{each.confirmed[1:]}."
        for each in {each.limits.digest: each for each in in_force}.values()
    ]
    changed = [
        _("The site's settings were changed on {time}.").format(time=setting.times.at(each.site.from_ms))
        for each in in_force[1:]
    ]
    answered = dict.fromkeys(each.answers for each in in_force)
    warned = dict.fromkeys(sentence for each in in_force for sentence in each.warnings)
    return " ".join(
        [
            *told,
            *changed,
            *answered,
            *warned,
            _("Your local code may ask for less or more than these figures, and it decides."),
        ]
    )


def foot(in_force: Sequence[Governing]) -> str:
    """Return what the foot of every page says: what the record is, and how the limits stand."""
    return " ".join([_(CAUTION), *dict.fromkeys(each.small for each in in_force if each.small)])


def probe_rows(session: Session, setting: Setting) -> list[list[str]]:
    """Return every probe, what it watched in the span, its corrections, and its last calibration check."""
    units = {unit.id: unit.name for unit in session.exec(select(Unit)).all()}
    lots = {batch.id: batch.lot for batch in session.exec(select(Batch)).all()}
    rows = []
    for probe in probes(session):
        watched = [
            p
            for p in placements(session, probe_id=probe.id)
            if p.from_ms <= setting.until_ms and (p.to_ms is None or p.to_ms >= setting.span.first_ms)
        ]
        rows.append(
            [probe.code, medium(probe.medium), _watched(watched, units, lots), _checked(session, probe, setting)]
        )
    return rows


def _watched(placements_: Sequence[Placement], units: dict[int | None, str], lots: dict[int | None, str]) -> str:
    """Name what a probe watched; of many batches only the first and the last, each has its own pages."""
    in_units = [each for each in placements_ if each.unit_id is not None]
    in_batches = [each for each in placements_ if each.unit_id is None]
    named = [*in_units, *in_batches] if len(in_batches) <= _MOST_LOTS else in_units
    places = list(dict.fromkeys(_place(placement, units, lots) for placement in named))
    if len(named) < len(placements_):
        first, last = (lots.get(in_batches[n].batch_id, "") for n in (0, -1))
        count = len({each.batch_id for each in in_batches})
        said = _("{count} batches, the first {first}, the last {last}")
        places.append(said.format(count=count, first=first, last=last))
    return "; ".join(places) or _("nothing")


def _place(placement: Placement, units: dict[int | None, str], lots: dict[int | None, str]) -> str:
    """Name what a probe watched."""
    if placement.unit_id is not None:
        return units.get(placement.unit_id, "")
    slowest = f", {_('declared the slowest')}" if placement.slowest else ""
    lot = lots.get(placement.batch_id, "")
    return _("{lot} vessel {vessel}").format(lot=lot, vessel=placement.vessel) + slowest


def _checked(session: Session, probe: Probe, setting: Setting) -> str:
    """Tell the last calibration check, and corrections in force in the span."""
    found = session.exec(
        select(Correction).where(Correction.probe_id == probe.id).order_by(col(Correction.from_ms))
    ).all()
    told = [last_check(session, probe.id or 0, setting)]
    for correction in found:
        if correction.from_ms > setting.until_ms or (correction.to_ms or setting.span.first_ms) < setting.span.first_ms:
            continue
        sign = "−" if correction.offset_c < 0 else "+"
        said = (
            _("corrected by {offset} from {time} ({person}: {why})")
            if correction.slope == 1
            else _("corrected by a slope of {slope} and {offset} from {time} ({person}: {why})")
        )
        told.append(
            said.format(
                slope=decimals(f"{correction.slope:.4f}"),
                offset=sign + format_difference(correction.offset_c, setting.scale, 1),
                time=setting.times.at(correction.from_ms),
                person=correction.by,
                why=correction.why,
            )
        )
    return "; ".join(told)


def summary(
    batches: Sequence[Mark] | None,
    unit_days: Sequence[Mark] | None,
    findings: Sequence[Mark],
    gaps: Sequence[ProbeGap] | None,
    undelivered: int,
) -> list[dict[str, Any]]:
    """Return the figures of the span, each with what it is made of; what a paper does not have is ``None``."""
    found: list[dict[str, Any]] = []
    if batches is not None:
        found.append({"label": _("Batches"), "figure": str(len(batches)), "lines": _counted(batches)})
    if unit_days is not None:
        found.append(
            {"label": _("Days of probes in units"), "figure": str(len(unit_days)), "lines": _counted(unit_days)}
        )
    alerts = [[_("alerts undelivered"), str(undelivered)]] if undelivered else []
    found.append({"label": _("Findings"), "figure": str(len(findings)), "lines": [*_counted(findings), *alerts]})
    if gaps is not None:
        lengths = [gap.gap.length_ms for gap in gaps]
        lines = [[_("longest"), length(max(lengths))], [_("in all"), length(sum(lengths))]] if lengths else []
        found.append({"label": _("Gaps over 20 min"), "figure": str(len(gaps)), "lines": lines})
    return found


def _counted(marks: Sequence[Mark]) -> list[list[Any]]:
    """Count the words, each with its shape."""
    counts = Counter(marks)
    return [[shown(mark), str(counts[mark])] for mark in _ORDER if counts[mark]]
