"""The record that the rules judge: of one vessel of a batch, or of one probe in a unit."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from sqlmodel import Session, select

from holdwatch.readings import Declaration, DeclarationKind, Medium, Record, Series
from holdwatch.storage.events import events
from holdwatch.storage.ids import id_of, numbered
from holdwatch.storage.placing import placements
from holdwatch.storage.ranges import load_series
from holdwatch.storage.tables import Batch, Event, EventKind, Placement, Probe, Unit
from holdwatch.storage.unit_lag import food_lag

__all__ = ["record_of_unit", "record_of_vessel", "room_of"]

_DECLARED = {
    EventKind.LEFT_HEAT: DeclarationKind.LEFT_HEAT,
    EventKind.PREPARED: DeclarationKind.PREPARED,
    EventKind.MOVED: DeclarationKind.MOVED,
    EventKind.REMOVED: DeclarationKind.REMOVED,
    EventKind.RETURNED: DeclarationKind.RETURNED,
    EventKind.ENDED: DeclarationKind.ENDED,
    EventKind.RECEIVED: DeclarationKind.FROM,
    # Whoever looked and found the probe in the food has as good as placed it anew: a doubt ends from then on.
    EventKind.PROBE_IN_FOOD: DeclarationKind.PLACED,
}

_WHEREABOUTS = frozenset({EventKind.MOVED, EventKind.REMOVED, EventKind.RETURNED})
"""What may say where a batch stands from then on."""


@dataclass(frozen=True)
class _Stay:
    """A span of time, both ends included, that a probe or a batch spent somewhere."""

    first_ms: int
    last_ms: int


def record_of_vessel(session: Session, batch: Batch, vessel: int, until_ms: int) -> Record:
    """Return what is known of one vessel of a batch at an instant.

    A probe's readings count only while it was placed in that vessel. Food probes speak for the vessel; one that stands
    in air or in a simulated product does only where no food probe ever was in it.
    """
    placed = [p for p in placements(session, batch_id=id_of(batch)) if p.vessel == vessel and p.from_ms <= until_ms]
    probes = numbered(session, Probe, {p.probe_id for p in placed})
    medium = _medium(Medium(probe.medium) for probe in probes.values())
    placed = [p for p in placed if probes[p.probe_id].medium == medium and not _is_void(p)]
    noted = events(session, batch_id=id_of(batch), until_ms=until_ms)
    noted = [event for event in noted if event.vessel in {None, vessel}]
    return Record(
        probe=_joined(_readings(session, p, 0, until_ms) for p in placed),
        hand=_by_hand(noted),
        medium=medium,
        declared=_declared(noted, [p.from_ms for p in placed]),
        air=_joined(_air_around(session, batch, noted, until_ms)),
    )


def record_of_unit(session: Session, unit: Unit, probe: Probe, first_ms: int, last_ms: int) -> Record:
    """Return what one probe showed of a unit over a span, both ends included."""
    placed = [
        p
        for p in placements(session, unit_id=id_of(unit), probe_id=id_of(probe))
        if p.from_ms <= last_ms and not _is_void(p)
    ]
    noted = events(session, unit_id=id_of(unit), since_ms=first_ms, until_ms=last_ms, kinds=[EventKind.READING])
    air = _air_in(session, id_of(unit), _Stay(first_ms, last_ms)) if probe.medium == Medium.FOOD else []
    starts = [p.from_ms for p in placed if p.from_ms >= first_ms]
    return Record(
        probe=_joined(_readings(session, p, first_ms, last_ms) for p in placed),
        hand=_by_hand(event for event in noted if event.batch_id is None),
        medium=Medium(probe.medium),
        declared=_declared([], starts),
        air=_joined(air),
        food_lag_min=food_lag(session, id_of(unit), last_ms).lag_min,
    )


def _readings(session: Session, placement: Placement, first_ms: int, last_ms: int) -> Series:
    """Return what a probe said while it was placed, within a span."""
    ends_ms = last_ms
    if placement.to_ms is not None:
        # The reading of the very instant belongs to the next placement, if one begins there.
        following = session.exec(
            select(Placement.id).where(
                Placement.probe_id == placement.probe_id,
                Placement.from_ms == placement.to_ms,
                Placement.id != placement.id,
            )
        ).first()
        ends_ms = min(last_ms, placement.to_ms - (following is not None))
    begins_ms = max(first_ms, placement.from_ms)
    if ends_ms < begins_ms:
        return Series.empty()
    return load_series(session, placement.probe_id, begins_ms, ends_ms)


def _is_void(placement: Placement) -> bool:
    """Tell whether a placement was taken back: it ends where it begins."""
    return placement.to_ms is not None and placement.to_ms <= placement.from_ms


def _medium(mediums: Iterable[Medium]) -> Medium:
    """Return the medium that speaks for a vessel: food before product before air."""
    present = set(mediums)
    return next((m for m in (Medium.FOOD, Medium.PRODUCT, Medium.AIR) if m in present), Medium.FOOD)


def _by_hand(noted: Iterable[Event]) -> Series:
    return Series.of((e.at_ms, e.celsius) for e in noted if e.kind == EventKind.READING and e.celsius is not None)


def _declared(noted: Iterable[Event], placed_ms: Iterable[int]) -> tuple[Declaration, ...]:
    """Return what was declared, and each placement's start, in order of time."""
    kinds = ((event.at_ms, _DECLARED.get(EventKind(event.kind))) for event in noted)
    found = {Declaration(at_ms, kind) for at_ms, kind in kinds if kind is not None}
    return tuple(sorted(found | {Declaration(at_ms, DeclarationKind.PLACED) for at_ms in placed_ms}))


def _air_around(session: Session, batch: Batch, noted: list[Event], until_ms: int) -> list[Series]:
    """Return the air of the units that a batch stood in, as far as its moves say where that was."""
    places = _places(noted)
    last_ms = until_ms if batch.ended_ms is None else min(until_ms, batch.ended_ms)
    ends = [*(at_ms - 1 for at_ms, _ in places[1:]), last_ms]
    air: list[Series] = []
    for (at_ms, unit_id), end_ms in zip(places, ends, strict=bool(places)):
        if unit_id is not None and end_ms >= at_ms:
            air += _air_in(session, unit_id, _Stay(at_ms, end_ms))
    return air


def _places(noted: Iterable[Event]) -> list[tuple[int, int | None]]:
    """Return from when on a batch stood in which unit; what returns goes back to where it stood."""
    places: list[tuple[int, int | None]] = []
    stored: int | None = None
    for event in noted:
        if event.kind not in _WHEREABOUTS:
            continue
        unit_id = event.unit_id
        if event.kind == EventKind.MOVED:
            stored = unit_id
        elif event.kind == EventKind.RETURNED and unit_id is None:
            unit_id = stored
        places.append((event.at_ms, unit_id))
    return places


def room_of(session: Session, batch: Batch, noted: Sequence[Event], until_ms: int) -> Series:
    """Return the air around a batch since it was first taken out of temperature control."""
    removed = next((event.at_ms for event in noted if event.kind == EventKind.REMOVED), None)
    if removed is None:
        return Series.empty()
    return _joined(_air_around(session, batch, list(noted), until_ms)).between(removed, until_ms)


def _air_in(session: Session, unit_id: int, stay: _Stay) -> list[Series]:
    """Return the air of a unit over a stay, by the air probe that was placed there first."""
    placed = [
        p
        for p in placements(session, unit_id=unit_id)
        if p.from_ms <= stay.last_ms and (p.to_ms is None or p.to_ms >= stay.first_ms) and not _is_void(p)
    ]
    probes = numbered(session, Probe, {p.probe_id for p in placed})
    placed = [p for p in placed if probes[p.probe_id].medium == Medium.AIR]
    first = placed[:1]  # two air probes in one unit differ: only one is followed
    return [_readings(session, p, stay.first_ms, stay.last_ms) for p in placed if p.probe_id == first[0].probe_id]


def _joined(parts: Iterable[Series]) -> Series:
    """Join series of spans that do not overlap, in whatever order they come."""
    present = sorted((part for part in parts if len(part)), key=lambda part: int(part.at_ms[0]))
    if not present:
        return Series.empty()
    return Series(np.concatenate([p.at_ms for p in present]), np.concatenate([p.celsius for p in present]))
