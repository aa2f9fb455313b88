"""The pages of the batches: a curve a vessel, its clauses with their brackets, and what was declared by whom."""

from dataclasses import dataclass
from typing import Any

from sqlmodel import Session

from holdwatch.charts.curves import CurveView
from holdwatch.charts.marks import Mark
from holdwatch.charts.render import to_svg
from holdwatch.charts.staircase import staircase
from holdwatch.charts.theme import Look
from holdwatch.language import _, explained
from holdwatch.records.batch_more import batch_more
from holdwatch.records.gaps import Gap, GapFinder
from holdwatch.records.setting import Setting, shown, shown_verdict
from holdwatch.records.unit_pages import ProbeGap
from holdwatch.rules.verdicts import ClauseVerdict, Verdict
from holdwatch.storage.readings import load_series
from holdwatch.storage.tables import Batch
from holdwatch.views.batches import batch_view
from holdwatch.views.model import BatchView, EventView, PlacementView
from holdwatch.views.words import outcome_words

__all__ = ["BatchPages", "batch_pages"]

_CHART = (680, 250)


@dataclass(frozen=True)
class BatchPages:
    """What is printed of one batch, and what the summary counts."""

    printed: dict[str, Any]
    mark: Mark
    gaps: tuple[ProbeGap, ...]


def batch_pages(
    session: Session, batch: Batch, setting: Setting, *, charts: bool = True, more: bool = False
) -> BatchPages:
    """Gather what the record shows of a batch; it is printed whole, also where it reaches out of the span.

    Parameters
    ----------
    charts : whether curves are drawn.
    more : whether its probes, its parts and its discard times are printed too.
    """
    if batch.id is None:
        raise ValueError("a batch of the store has an id")
    view = batch_view(session, batch.id, setting.now_ms)
    if view is None:
        raise ValueError("a batch of the store can be viewed")
    measured = any(_is_measured(curve) for curve in view.curves)
    printed = {
        "name": f"{view.lot} · {view.product}",
        "verdict": shown(view.mark),
        "note": _note(view, setting),
        "vessels": [
            _vessel(curve, view, setting, charts=charts)
            for curve in view.curves
            if _is_measured(curve) or curve.clauses
        ],
        "none_measured": "" if measured else _("No vessel was measured: nothing can be shown of this batch."),
        "events": [_event(event, setting) for event in view.events],
    }
    if more:
        printed["more"] = batch_more(session, batch, view, setting)
    gaps = [
        ProbeGap(_("{lot}, vessel {vessel}").format(lot=view.lot, vessel=placement.vessel), placement.probe, gap)
        for placement in view.placements
        for gap in _gaps(session, placement, view, setting)
    ]
    return BatchPages(printed, view.mark, tuple(gaps))


def _gaps(session: Session, placement: PlacementView, view: BatchView, setting: Setting) -> tuple[Gap, ...]:
    """Return the stretches without readings while a probe was in the batch."""
    ends = [setting.now_ms, *(at for at in (placement.to_ms, view.ended_ms) if at is not None)]
    last_ms = min(ends)
    finder = GapFinder(placement.from_ms)
    finder.feed(load_series(session, placement.probe_id, placement.from_ms, last_ms).at_ms)
    return finder.finish(last_ms)


def _note(view: BatchView, setting: Setting) -> str:
    """Say when it ran, and who speaks for it."""
    at = setting.times.at
    ended = (
        _("ended {time}").format(time=at(view.ended_ms))
        if view.ended_ms is not None
        else _("still running when printed")
    )
    if view.ended_ms is not None and view.outcome:
        ended += f", {outcome_words(view.outcome)}"
    started = (
        _("started {time} by {person}").format(time=at(view.started_ms), person=view.by)
        if view.by
        else _("started {time}").format(time=at(view.started_ms))
    )
    found = [
        _("in it {finding}: {verdict}").format(finding=each.title, verdict=each.mark.said)
        for each in view.found_in_parts
    ]
    allergens = _("allergens: {allergens}").format(allergens=view.allergens.words)
    return "; ".join(part for part in (started, ended, view.amount, view.measured, allergens, *found) if part)


def _is_measured(curve: CurveView) -> bool:
    """Tell whether anything was measured in a vessel."""
    return len(curve.readings) > 0 or len(curve.hand) > 0 or len(curve.set_aside) > 0


def _vessel(curve: CurveView, view: BatchView, setting: Setting, *, charts: bool) -> dict[str, Any]:
    """Write one vessel: its chart and its clauses."""
    look = Look(setting.timezone, setting.scale, paper=True, width=_CHART[0], height=_CHART[1])
    codes = dict.fromkeys(p.probe for p in view.placements if p.vessel == curve.vessel)
    who = [_("probe {probe}").format(probe=code) for code in codes]
    if len(curve.hand):
        who.append(_("by hand"))
    number = _("{vessel} of {vessels}").format(vessel=curve.vessel, vessels=curve.vessels)
    return {
        "name": _("Vessel {number}, {measured}").format(number=number, measured=", ".join(who) or _("not measured")),
        "number": number,
        "chart": to_svg(staircase(curve, look)) if charts and _is_measured(curve) else None,
        "clauses": [_clause(clause, setting, soon=clause.clause in curve.soon) for clause in curve.clauses],
        "empty": _("Not judged yet by the watch."),
    }


def _clause(clause: ClauseVerdict, setting: Setting, *, soon: bool) -> list[Any]:
    """Write what the record shows of one clause; `soon` tells that it is forecast to be missed."""
    times = setting.times
    soon = soon and clause.verdict is Verdict.OPEN
    return [
        clause.clause,
        clause.requires,
        shown(Mark.SOON) if soon else shown_verdict(clause.verdict),
        times.bracket(clause.started),
        times.bracket(clause.due),
        times.bracket(clause.reached),
        clause.reason,
    ]


def _event(event: EventView, setting: Setting) -> list[str]:
    """Write one declaration or hand reading; when it was written down is told where that was later."""
    return [
        setting.times.at(event.at_ms),
        explained(event.words, "" if event.text in event.words else event.text),
        "" if event.vessel is None else str(event.vessel),
        setting.temperature(event.celsius, none=""),
        event.by or _("not told"),
        setting.written_down(event.at_ms, event.recorded_ms),
    ]
