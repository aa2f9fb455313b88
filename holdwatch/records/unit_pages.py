"""The pages of the units: a chart of the span, and a line a probe and local day."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sqlmodel import Session

from holdwatch.charts.marks import Mark
from holdwatch.charts.render import to_svg
from holdwatch.charts.theme import Look
from holdwatch.charts.trace import pen_trace
from holdwatch.language import _, thousands
from holdwatch.readings import Medium
from holdwatch.records.gaps import DayFigures, Gap, GapFinder, day_figures, rolled_figures
from holdwatch.records.setting import Setting, shown
from holdwatch.records.span import LocalDay, Span, local_days
from holdwatch.records.times import length
from holdwatch.storage.readings import load_series
from holdwatch.storage.register import events, placements
from holdwatch.storage.tables import EventKind, Placement, Probe, Unit
from holdwatch.storage.thinned import is_thinned
from holdwatch.storage.traces import load_buckets
from holdwatch.views.model import DayView, ProbeRow, UnitView
from holdwatch.views.units import unit_view
from holdwatch.views.words import kind_of_unit, medium

__all__ = ["ProbeGap", "UnitPages", "unit_pages"]

_CHART = (680, 150)


@dataclass(frozen=True)
class ProbeGap:
    """A gap, and whose it is."""

    subject: str
    probe: str
    gap: Gap


@dataclass(frozen=True)
class UnitPages:
    """What is printed of one unit, and what the summary counts."""

    printed: dict[str, Any]
    marks: tuple[Mark, ...]
    """One a probe and day."""
    gaps: tuple[ProbeGap, ...]


@dataclass(frozen=True)
class _Line:
    """One probe on one local day."""

    day: LocalDay
    probe: Probe
    figures: DayFigures
    mark: Mark
    words: str


def unit_pages(session: Session, unit: Unit, setting: Setting, *, charts: bool = True) -> UnitPages:
    """Gather what the record shows of a unit; `charts` tells whether its traces are drawn."""
    if unit.id is None:
        raise ValueError("a unit of the store has an id")
    view = unit_view(session, unit.id, setting.span.first_ms, setting.until_ms, setting.now_ms)
    if view is None:
        raise ValueError("a unit of the store can be viewed")
    lines: list[_Line] = []
    gaps: list[ProbeGap] = []
    for placement in _placed(session, unit.id, setting):
        probe = session.get_one(Probe, placement.probe_id)
        finder = GapFinder(max(placement.from_ms, setting.span.first_ms))
        lines += _lines(session, placement, probe, view, setting, finder)
        gaps += [ProbeGap(unit.name, probe.code, gap) for gap in finder.finish(_ends(placement, setting))]
    lines.sort(key=lambda line: (line.day.first_ms, line.probe.code))
    printed = {
        "name": unit.name,
        "note": _note(view, unit),
        "charts": [_chart(row, unit, setting) for row in view.probes] if charts else [],
        "days": [_printed(line, setting) for line in lines],
        "hand": _by_hand(session, unit, setting),
        "rests": [f"{said[:1].upper()}{said[1:]}." for said in (*view.rests, *view.files)],
        "empty": _("No probe was placed in this unit in the period: nothing is recorded of it."),
    }
    return UnitPages(printed, tuple(line.mark for line in lines), tuple(gaps))


def _chart(row: ProbeRow, unit: Unit, setting: Setting) -> dict[str, Any]:
    """Draw one probe's span."""
    look = Look(setting.timezone, setting.scale, paper=True, width=_CHART[0], height=_CHART[1])
    name = _("Probe {probe}, {medium}").format(probe=row.code, medium=medium(row.medium))
    levels = () if row.level is None else (row.level,)
    return {"name": name, "chart": to_svg(pen_trace(row.trace, levels, look, title=f"{unit.name}, {name}"))}


def _placed(session: Session, unit_id: int, setting: Setting) -> list[Placement]:
    """Return the placements that touch the span, in order."""
    found = [
        placement
        for placement in placements(session, unit_id=unit_id)
        if placement.from_ms <= setting.until_ms
        and (placement.to_ms is None or placement.to_ms >= setting.span.first_ms)
    ]
    return sorted(found, key=lambda placement: (placement.from_ms, placement.id or 0))


def _ends(placement: Placement, setting: Setting) -> int:
    """Return where a placement ends within the span."""
    return setting.until_ms if placement.to_ms is None else min(placement.to_ms, setting.until_ms)


def _lines(
    session: Session, placement: Placement, probe: Probe, view: UnitView, setting: Setting, finder: GapFinder
) -> Iterator[_Line]:
    """Return a line for every local day that a placement touches; show their instants to the finder of gaps."""
    first_ms, last_ms = max(placement.from_ms, setting.span.first_ms), _ends(placement, setting)
    judged: dict[tuple[str, str], list[DayView]] = {}
    for shown_day in view.days:
        judged.setdefault((shown_day.day, shown_day.probe), []).append(shown_day)
    for day in local_days(Span(first_ms, last_ms), setting.times.zone):
        begin, end = max(first_ms, day.first_ms), min(last_ms, day.last_ms)
        series = load_series(session, placement.probe_id, begin, end)
        finder.feed(series.at_ms)
        if is_thinned(session, begin, end, setting.now_ms):
            figures = rolled_figures(load_buckets(session, placement.probe_id, begin, end), begin, end)
        else:
            figures = day_figures(series, begin, end)
        for mark, words in _shows(judged.get((day.day.isoformat(), probe.code), []), probe):
            yield _Line(day, probe, figures, mark, words)


def _shows(days: list[DayView], probe: Probe) -> list[tuple[Mark, str]]:
    """Return the mark and words of each clause of a day; one that was not judged shows nothing."""
    if days:
        return [(day.mark, day.words) for day in days]
    if probe.medium == Medium.AIR:
        return [(Mark.NO_LIMIT, _("air only: no limit for food is asked of it"))]
    return [(Mark.NOT_SHOWN, _("not judged by the watch"))]


def _note(view: UnitView, unit: Unit) -> str:
    """Say what the unit is."""
    kind = kind_of_unit(unit.kind)
    levels = dict.fromkeys(row.level.requires for row in view.probes if row.level is not None and row.level.requires)
    return "; ".join([kind, *levels])


def _by_hand(session: Session, unit: Unit, setting: Setting) -> list[list[str]]:
    """Return what was measured by hand in a unit."""
    found = events(
        session,
        unit_id=unit.id,
        since_ms=setting.span.first_ms,
        until_ms=setting.until_ms,
        kinds=[EventKind.READING],
    )
    return [
        [
            setting.times.at(event.at_ms),
            setting.temperature(event.celsius),
            event.by or _("not told"),
            setting.written_down(event.at_ms, event.recorded_ms),
            event.text,
        ]
        for event in found
    ]


def _printed(line: _Line, setting: Setting) -> list[Any]:
    """Write a line for the typesetter."""
    figures = line.figures
    hours = "" if line.day.hours == 24 else f" ({line.day.hours} h)"  # noqa: PLR2004  the clocks were not changed
    return [
        setting.times.day(line.day.day.isoformat()) + hours,
        line.probe.code,
        shown(line.mark),
        setting.temperature(figures.low_c),
        setting.temperature(figures.mean_c),
        setting.temperature(figures.high_c),
        thousands(figures.count) if figures.count else _("none"),
        length(figures.longest_gap_ms),
        line.words,
    ]
