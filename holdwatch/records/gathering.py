"""From the store to the facts of a paper: only what its sections need is gathered, some subjects in a short transaction.

The facts come in pieces of so many subjects. The first piece tells what all of them come to, and so it comes last.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from sqlmodel import Session

from holdwatch.charts.marks import Mark
from holdwatch.errors import ConfigError
from holdwatch.language import ENGLISH, N_, _, many, speaking
from holdwatch.quantities import Scale
from holdwatch.records.batch_pages import batch_pages
from holdwatch.records.check_pages import check_rows, due_rows, review_rows
from holdwatch.records.choice import WHOLE, Choice, Chosen, chosen
from holdwatch.records.finding_pages import FindingPages, finding_pages
from holdwatch.records.fixed_words import RECORD, fixed_words
from holdwatch.records.front import (
    covered,
    foot,
    limits_note,
    limits_rows,
    not_covered,
    probe_rows,
    sites_in_force,
    summary,
)
from holdwatch.records.kinds import BATCH, BODY, LOG, Kind
from holdwatch.records.round_pages import round_pages
from holdwatch.records.setting import Setting
from holdwatch.records.span import Span
from holdwatch.records.times import Times, length, printed_when
from holdwatch.records.trust_lines import Standing, standing
from holdwatch.records.unit_pages import ProbeGap, unit_pages
from holdwatch.storage.engine import Store
from holdwatch.storage.look import one_look
from holdwatch.storage.register import site_at
from holdwatch.storage.tables import FindingKind, SiteVersion
from holdwatch.views.limits import Governing

__all__ = ["AT_ONCE", "PAPERS", "Told", "Wanted", "gather"]

AT_ONCE = 60
"""How many subjects (units, batches, findings) a piece has at most."""
_IN_A_LOOK = 10
"""How many are gathered in one look: they share what is asked of the site, and the transaction is still short."""

PAPERS = {"a4": "a4", "letter": "us-letter"}
Told = Callable[[str], None]


@dataclass(frozen=True)
class Wanted:
    """What is to be printed, and how."""

    kind: Kind = LOG
    choice: Choice = WHOLE
    paper: str = "letter"
    scale: Scale | None = None
    """In which temperatures are printed; the site's own if none."""
    by: str = ""
    """Who prints it."""
    reader: str = ENGLISH
    """In which language whoever prints it is told how far it is."""


_Far = Callable[[str, int, int], None]
"""Tells how far it is: the message, the number of what is gathered now, and of how many."""
Subject = tuple[str, dict[str, Any]]
"""What is printed of a unit, batch or finding, and the name of its section."""
T = TypeVar("T")
R = TypeVar("R")


@dataclass
class _Totals:
    """What is told of all units, batches and findings together; each is added when it was gathered."""

    units: int = 0
    unit_days: list[Mark] = field(default_factory=list)
    batches: list[Mark] = field(default_factory=list)
    findings: list[FindingPages] = field(default_factory=list)
    gaps: list[ProbeGap] = field(default_factory=list)


def gather(
    store: Store, span: Span, now_ms: int, wanted: Wanted, tell: Told, at_once: int = AT_ONCE
) -> Iterator[tuple[int, dict[str, Any]]]:
    """Gather all that is printed, as the typesetter takes it: each piece with its place among the pieces.

    The first piece (0) is the last that comes: it tells what all come to.

    Raises
    ------
    ConfigError
        If the paper is unknown, or a batch of the choice did not run in the span.
    UnknownNameError
        If there is no unit or batch of a name of the choice.
    """
    if wanted.paper not in PAPERS:
        raise ConfigError(_("there is no paper called {paper!r}: use a4 or letter").format(paper=wanted.paper))
    kind = wanted.kind
    with store.read() as session, one_look(session):
        site = site_at(session, now_ms)
        setting = Setting(span, now_ms, site.timezone, wanted.scale or Scale(site.unit), Times(site.timezone, span))
        in_force, covers = sites_in_force(session, setting), covered(session)
        what = chosen(session, wanted.choice, setting)
        stands = standing(session)
        sheet = {
            "limits": limits_rows(in_force, covers),
            "limits_note": limits_note(in_force, setting),
            "probes": probe_rows(session, setting),
            "checks": check_rows(session, setting),
            "due": due_rows(session, setting) if kind.has("checks-due") else [],
            "reviews": review_rows(session, setting),
            **round_pages(session, setting),
        }
    all_pieces = {
        "paper": PAPERS[wanted.paper],
        **fixed_words(RECORD),
        "document_title": f"{_(kind.heading)}, {site.name}, {setting.times.days()}",
        "heading": _(kind.heading),
        "uncovered": _("What {this} does not cover").format(this=_(kind.this)),
        "read_by": _(
            "I have read {this}. Deviations, what is not shown, and gaps were followed up as written here or on the back."
        ).format(this=_(kind.this)),
        "caution": foot(in_force),
        "head": _head(site, setting, wanted, what, stands, in_force),
    }
    totals = _Totals()

    def far(message: str, number: int, count: int) -> None:
        with speaking(wanted.reader):
            tell(_(message).format(number=number, count=count))

    subjects = _subjects(store, what, setting, kind, totals, far)
    first: dict[str, Any] = {}
    last: dict[str, Any] = {}
    number = 0
    for number, piece in enumerate(_pieces(subjects, at_once if kind.body else None)):
        if number > 1:
            yield number - 1, {**all_pieces, **last, "parts": kind.body}
        first, last = first or piece, piece
    whole = {**all_pieces, "not_covered": not_covered(covers), **sheet, **_of_all(totals, setting, wanted)}
    if number == 0:
        yield 0, {**whole, **first, "parts": kind.parts}
    else:
        yield number, {**whole, **last, "parts": [*kind.body, *kind.after]}
        yield 0, {**whole, **first, "parts": [*kind.before, *kind.body]}


def _pieces(subjects: Iterator[Subject], most: int | None) -> Iterator[dict[str, Any]]:
    """Put subjects together by their sections, at most so many a piece; tell which sections began before a piece."""
    begun: set[str] = set()
    piece: dict[str, list[dict[str, Any]]] = {name: [] for name in BODY}
    for count, (name, printed) in enumerate(subjects):
        if most and count and count % most == 0:
            yield {**piece, "begun": sorted(begun)}
            begun |= {section for section in piece if piece[section]}
            piece = {section: [] for section in BODY}
        piece[name].append(printed)
    yield {**piece, "begun": sorted(begun)}


def _subjects(
    store: Store, what: Chosen, setting: Setting, kind: Kind, totals: _Totals, far: _Far
) -> Iterator[Subject]:
    """Gather each unit, batch and finding that the paper has, and add to what all come to."""
    charts, curves = kind.has("units"), kind.has("batches")
    for of_unit in _looked_at(
        store,
        what.units if kind.has("units", "unit-lines") else (),
        lambda session, unit: unit_pages(session, unit, setting, charts=charts),
        lambda number, count: far(N_("unit {number} of {count}"), number, count),
    ):
        totals.units += 1
        totals.unit_days += of_unit.marks
        totals.gaps += of_unit.gaps
        yield "units", of_unit.printed
    for of_batch in _looked_at(
        store,
        what.batches if kind.has("batches", "batch-lines") else (),
        lambda session, batch: batch_pages(session, batch, setting, charts=curves, more=kind is BATCH),
        lambda number, count: far(N_("batch {number} of {count}"), number, count),
    ):
        totals.batches.append(of_batch.mark)
        totals.gaps += of_batch.gaps
        yield "batches", of_batch.printed
    for of_finding in _looked_at(
        store,
        what.finding_ids if kind.has("findings", "attention") else (),
        lambda session, finding_id: finding_pages(session, finding_id, setting),
        lambda number, count: far(N_("finding {number} of {count}"), number, count),
    ):
        totals.findings.append(replace(of_finding, printed={}))
        yield "findings", of_finding.printed


def _looked_at(
    store: Store, subjects: Sequence[T], pages: Callable[[Session, T], R], far: Callable[[int, int], None]
) -> Iterator[R]:
    """Gather the pages of subjects, some in one look; whoever takes them may take long, the transaction is over."""
    for first in range(0, len(subjects), _IN_A_LOOK):
        found: list[R] = []
        with store.read() as session, one_look(session):
            for number, subject in enumerate(subjects[first : first + _IN_A_LOOK], first + 1):
                far(number, len(subjects))
                found.append(pages(session, subject))
        yield from found


def _degrees(setting: Setting, in_force: Sequence[Governing]) -> str:
    """Say in which degrees a paper is, and in which the sentences are that the watch kept, where these differ."""
    said = _("in °{scale}; compared in the unit of the code, before rounding").format(scale=setting.scale.value)
    others = sorted({each.site.unit for each in in_force} - {setting.scale.value})
    if not others:
        return said
    kept = _("reasons that were kept stand as they were written, in °{scale}").format(scale=_(" and °").join(others))
    return f"{said}; {kept}"


def _head(
    site: SiteVersion,
    setting: Setting,
    wanted: Wanted,
    what: Chosen,
    stands: Standing,
    in_force: Sequence[Governing],
) -> dict[str, Any]:
    """Say whose paper it is, of which period and what choice, printed when and by whom."""
    times, kind = setting.times, wanted.kind
    period = _("{first} to {last}").format(
        first=times.whole(setting.span.first_ms), last=times.whole(setting.span.last_ms)
    )
    if setting.until_ms < setting.span.last_ms:
        ends = _("the record ends at the instant of printing, {time}").format(time=times.whole(setting.now_ms))
        period += f"; {ends}"
    when = printed_when(times.whole(setting.now_ms), wanted.by)
    name = kind.name
    if kind is BATCH:
        name = _("{paper} of {lots}").format(paper=name, lots=", ".join(wanted.choice.lots))
    elif what.left_out:
        name = _("{paper}, a choice").format(paper=name)
    return {
        "site": site.name,
        "kind": name,
        "period_short": times.days(),
        "printed": _("Printed {when}").format(when=when),
        "record": stands.small(),
        "check": stands.rows(),
        "facts": [
            [_("Premises"), site.name],
            *([[_("Choice"), what.left_out]] if what.left_out else []),
            [_("Period"), period],
            [_("Local time"), times.zone_note()],
            [_("Temperatures"), _degrees(setting, in_force)],
            [_("Printed"), when],
        ],
    }


def _no_finding(totals: _Totals, *, whole: bool) -> str:
    """Say that nothing was found, and no more than that: the watch may not have judged everything yet."""
    unsaid = sum(mark in {Mark.NOT_SHOWN, Mark.DEVIATION} for mark in (*totals.batches, *totals.unit_days))
    if unsaid:
        return many(
            "No finding is recorded, and yet {count} of the batches and days of probes below is not in order.",
            "No finding is recorded, and yet {count} of the batches and days of probes below are not in order.",
            unsaid,
        )
    if whole:
        return _("No deviation, nothing that is not shown and no open warning is recorded in this period.")
    return _("No deviation, nothing that is not shown and no open warning is recorded about what was chosen.")


def _of_all(totals: _Totals, setting: Setting, wanted: Wanted) -> dict[str, Any]:
    """Tell what all units, batches and findings come to."""
    kind = wanted.kind
    gaps = sorted(totals.gaps, key=lambda gap: (gap.gap.from_ms, gap.subject, gap.probe))
    counted = [part for part in totals.findings if part.kind is not FindingKind.SYSTEM]
    nothing = wanted.choice.is_whole and not totals.units and not totals.batches
    return {
        "summary": summary(
            totals.batches if kind.has("batches", "batch-lines") else None,
            totals.unit_days if kind.has("units", "unit-lines") else None,
            [part.mark for part in counted],
            gaps if kind.has("gaps") else None,
            sum(part.undelivered for part in totals.findings),
        ),
        **_attention(totals.findings, kind.on_first_page),
        "attention_empty": _no_finding(totals, whole=wanted.choice.is_whole),
        "nothing": _("No batch ran, and no unit is registered.") if nothing else "",
        "gaps": [_gap(gap, setting) for gap in gaps],
        "gaps_empty": _("There is no stretch over 20 min without readings of a placed probe."),
    }


def _attention(parts: list[FindingPages], most: int | None) -> dict[str, Any]:
    """Choose the findings of the first page: deviations, then what is not shown, then faults; the latest first."""
    order = {FindingKind.DEVIATION: 0, FindingKind.NOT_SHOWN: 1, FindingKind.SYSTEM: 2}
    wanted = [part for part in parts if part.kind in order or not part.over]
    wanted.sort(key=lambda part: (order.get(part.kind, 3), -int(part.line[0])))
    rest = 0 if most is None else len(wanted) - most
    more = _("and {count} more, on the pages of the findings").format(count=rest)
    return {
        "attention": [part.line for part in wanted[:most]],
        "attention_more": more if rest > 0 else "",
    }


def _gap(found: ProbeGap, setting: Setting) -> list[str]:
    """Write one gap; an end that is no reading is told."""
    times, gap = setting.times, found.gap
    begins = times.at(gap.from_ms) + ("" if gap.begins_with_reading else f" ({_('no reading before')})")
    ends = times.at(gap.to_ms) + ("" if gap.ends_with_reading else f" ({_('no reading after')})")
    return [found.subject, found.probe, begins, ends, length(gap.length_ms)]
