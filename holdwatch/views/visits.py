"""An officer's visits as screens and papers tell them: their readings beside the probe's, and what they detained."""

from dataclasses import dataclass

import numpy as np
from sqlmodel import Session

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import _, explained
from holdwatch.quantities import format_difference
from holdwatch.readings import Medium
from holdwatch.storage.detained import detained
from holdwatch.storage.events import events
from holdwatch.storage.ids import id_of
from holdwatch.storage.placing import placements
from holdwatch.storage.readings import load_series
from holdwatch.storage.tables import Batch, Event, EventKind, Probe, Unit
from holdwatch.storage.visits import visits
from holdwatch.views.model import SiteView
from holdwatch.views.words import clock_words, length, medium, temperature

__all__ = ["Beside", "VisitView", "detained_words", "visit_views"]

BESIDE_MS = 10 * MS_PER_MINUTE
"""Ours: a probe's reading farther away in time than this stands beside nobody's."""


@dataclass(frozen=True)
class Beside:
    """An officer's reading, and what the probe in the same food or air said next to it in time."""

    about: str
    at_ms: int
    celsius: float
    probe: str = ""
    probe_c: float | None = None
    """Corrected; ``None`` where no probe spoke within ten minutes. [°C]"""
    apart_ms: int = 0

    def words(self, site: SiteView) -> str:
        """Write both, and by how much the probe differs."""
        said = explained(self.about, temperature(self.celsius, site.scale))
        if self.probe_c is None:
            return _("{said}; no probe spoke there within {length}").format(said=said, length=length(BESIDE_MS))
        differs = self.probe_c - self.celsius
        sign = "−" if differs < 0 else "+"
        apart = (
            ", " + _("{length} apart").format(length=length(self.apart_ms))
            if abs(self.apart_ms) >= MS_PER_MINUTE
            else ""
        )
        beside = _("probe {probe} {temperature}").format(
            probe=self.probe, temperature=temperature(self.probe_c, site.scale)
        )
        return f"{said}; {beside}, {sign}{format_difference(abs(differs), site.scale, 1)}{apart}"


@dataclass(frozen=True)
class VisitView:
    """A visit, and all that was recorded of it."""

    id: int
    at_ms: int
    officer: str
    authority: str
    samples: tuple[str, ...]
    notice: str
    next_visit: str
    text: str
    by: str
    readings: tuple[Beside, ...]
    held: tuple[str, ...]
    """Food that was detained, and how it was released, in words."""

    def lines(self, site: SiteView) -> list[str]:
        """Write all of it, a line each."""
        said = [each.words(site) for each in self.readings]
        said += [_("sample: {what}").format(what=each) for each in self.samples]
        said += [_("notice: {notice}").format(notice=self.notice)] if self.notice else []
        said += list(self.held)
        said += [_("next visit: {day}").format(day=self.next_visit)] if self.next_visit else []
        return [*said, self.text] if self.text else said


def visit_views(session: Session, first_ms: int, last_ms: int, site: SiteView) -> list[VisitView]:
    """Return the visits of a span with both ends included, in order of time. [ms]."""
    return [_view(session, visit, site) for visit in visits(session, first_ms, last_ms)]


def detained_words(session: Session, batch_id: int, site: SiteView) -> str:
    """Say that a batch is detained now, by whom and since when; nothing where it is not."""
    entry = detained(session, batch_id)
    if entry is None:
        return ""
    why = f": {entry.text}" if entry.text else ""
    since = clock_words(entry.at_ms, site.zone)
    return _("Detained by {officer} since {since}{why}. It cannot be used or ended before its release.").format(
        officer=entry.facts["officer"], since=since, why=why
    )


def _view(session: Session, visit: Event, site: SiteView) -> VisitView:
    kinds = [EventKind.OFFICER_READING, EventKind.DETAINED, EventKind.RELEASED]
    own = [event for event in events(session, kinds=kinds) if event.facts.get("visit") == visit.id]
    facts = visit.facts
    return VisitView(
        id=id_of(visit),
        at_ms=visit.at_ms,
        officer=str(facts["officer"]),
        authority=str(facts["authority"]),
        samples=tuple(facts.get("samples", ())),
        notice=str(facts.get("notice", "")),
        next_visit=str(facts.get("next_visit", "")),
        text=visit.text,
        by=visit.by,
        readings=tuple(_beside(session, each) for each in own if each.kind == EventKind.OFFICER_READING),
        held=tuple(_held(session, each, site) for each in own if each.kind != EventKind.OFFICER_READING),
    )


def _held(session: Session, event: Event, site: SiteView) -> str:
    batch = session.get_one(Batch, event.batch_id)
    said = _("detained") if event.kind == EventKind.DETAINED else _("released")
    why = f": {event.text}" if event.text else ""
    return f"{said} {clock_words(event.at_ms, site.zone)}, {batch.product} {batch.lot}{why}"


def _beside(session: Session, event: Event) -> Beside:
    """Return an officer's reading with the probe's nearest one; food speaks before product, and product before air."""
    about, celsius = _about(session, event), event.celsius or 0.0
    stood = [
        placed
        for placed in placements(session, batch_id=event.batch_id, unit_id=event.unit_id)
        if placed.from_ms <= event.at_ms and (placed.to_ms is None or placed.to_ms >= event.at_ms)
        if event.vessel is None or placed.vessel == event.vessel
    ]
    media = [Medium.FOOD, Medium.PRODUCT, Medium.AIR]
    probes = sorted(
        (session.get_one(Probe, placed.probe_id) for placed in stood),
        key=lambda probe: media.index(Medium(probe.medium)),
    )
    for probe in probes:
        near = load_series(session, id_of(probe), event.at_ms - BESIDE_MS, event.at_ms + BESIDE_MS)
        if len(near):
            place = int(np.argmin(np.abs(near.at_ms - event.at_ms)))
            apart = abs(int(near.at_ms[place]) - event.at_ms)
            name = f"{probe.code} ({medium(probe.medium)})"
            return Beside(about, event.at_ms, celsius, name, float(near.celsius[place]), apart)
    return Beside(about, event.at_ms, celsius)


def _about(session: Session, event: Event) -> str:
    if event.unit_id is not None:
        return session.get_one(Unit, event.unit_id).name
    batch = session.get_one(Batch, event.batch_id)
    vessel = "" if event.vessel is None else ", " + _("vessel {vessel}").format(vessel=event.vessel)
    return f"{batch.product} {batch.lot}{vessel}"
