"""The first start: the site, its units and probes, and two weeks of readings and batches.

Readings, batches, placements and what the cooks declared are inserted. Findings and alerts are not: the watch finds them.
"""

import numpy as np
from sqlmodel import Session, select

from devices.simulator.chance import Array, Instants
from devices.simulator.device import Device
from devices.simulator.linden_street import DEVICES, PAN_DEVICES, STANDING, standing_readings
from holdwatch.clock import MS_PER_SECOND
from holdwatch.demo.batches import pan_readings
from holdwatch.demo.kitchen import CONTACT, COOKS, LIMITS, SITE, TIMEZONE, UNITS
from holdwatch.demo.plan import DemoPlan
from holdwatch.demo.products import set_products
from holdwatch.demo.steps import take_steps
from holdwatch.storage.contacts import add_contact
from holdwatch.storage.engine import Store
from holdwatch.storage.readings import NewReading, write_readings
from holdwatch.storage.register import add_probe, add_unit, note_unit, place, probe_named, set_site, unit_named
from holdwatch.storage.tables import EventKind, ReadingFlag, SiteVersion

__all__ = ["fill", "is_filled"]

BY = "Demonstration"
UNIT_EVERY_S, PAN_EVERY_S = 120, 60
LAG_MS = 180
"""How long a reading is on its way."""


def is_filled(session: Session) -> bool:
    """Tell whether the first start was finished; the site is named last."""
    return session.exec(select(SiteVersion)).first() is not None


def fill(store: Store, plan: DemoPlan) -> int:
    """Insert what lies before the beginning, whole or not at all, and return how many readings that were."""
    with store.write() as session:
        _set_up(session, plan)
        count = _write_standing(session, plan) + _write_pans(session, plan)
        for batch in sorted([*plan.history(), *plan.live()], key=lambda each: each.start_ms):
            take_steps(session, batch, plan.began_ms, as_it_happened=True)
        _write_actions(session, plan)
    return count


def _set_up(session: Session, plan: DemoPlan) -> None:
    """Name the site, and add units, probes and the contact."""
    first = plan.first_ms
    for name, kind in UNITS.items():
        add_unit(session, name, kind.value, now_ms=first, by=BY)
    for device in DEVICES.values():
        _add(session, device, first)
    for standing in STANDING:
        probe, unit = probe_named(session, standing.device.code), unit_named(session, standing.room)
        place(session, probe, unit=unit, at_ms=first, now_ms=first, by=BY)
    add_contact(session, CONTACT, f"json://127.0.0.1:{plan.inbox_port}", now_ms=first, by=BY)
    set_site(
        session,
        name=SITE,
        timezone=TIMEZONE,
        limits=LIMITS,
        unit="F",
        authority="an invented health department, Colorado",
        raw_egg="no",
        susceptible="no",
        from_ms=first,
        now_ms=first,
        by=BY,
    )
    set_products(session, first)


def _add(session: Session, device: Device, now_ms: int) -> None:
    """Register a probe with the way in which it speaks."""
    pointer, time_pointer, unit_pointer = device.pointers
    add_probe(
        session,
        device.code,
        medium=device.medium,
        payload=device.format.value,
        topic=device.topic,
        pointer=pointer,
        time_pointer=time_pointer,
        unit_pointer=unit_pointer,
        senml_name=device.senml_name,
        unit=device.unit,
        now_ms=now_ms,
        by=BY,
    )


def _write_standing(session: Session, plan: DemoPlan) -> int:
    """Write what the probes in units read."""
    count = 0
    rooms = plan.rooms
    for standing in STANDING:
        asked = np.arange(plan.first_ms, plan.began_ms, UNIT_EVERY_S * MS_PER_SECOND, dtype=np.int64)
        count += _write(session, standing.device, *standing_readings(standing, rooms, asked, plan.seed), plan.began_ms)
    return count


def _write_pans(session: Session, plan: DemoPlan) -> int:
    """Write what the probes in pans read, up to the beginning."""
    count = 0
    rooms = plan.rooms
    step_ms = PAN_EVERY_S * MS_PER_SECOND
    for batch in [*plan.history(), *plan.live()]:
        first = -(-batch.placed_ms // step_ms) * step_ms
        asked = np.arange(first, min(batch.end_ms, plan.began_ms), step_ms, dtype=np.int64)
        told = pan_readings(batch, rooms, asked, plan.seed)
        count += _write(session, PAN_DEVICES[batch.device], *told, plan.began_ms)
    return count


def _write(session: Session, device: Device, at_ms: Instants, celsius: Array, now_ms: int) -> int:
    """Write a probe's readings as the listener would have kept them."""
    flags = ReadingFlag.OWN_INSTANT if device.tells_instant else ReadingFlag.ARRIVAL_INSTANT
    probe_id = probe_named(session, device.code).id or 0
    pairs = zip(at_ms.tolist(), celsius.tolist(), strict=True)
    rows = [NewReading(probe_id, at, value, at + LAG_MS * device.tells_instant, flags.value) for at, value in pairs]
    return write_readings(session, rows, now_ms).added


def _write_actions(session: Session, plan: DemoPlan) -> None:
    """Write what was done about the reach-in on the day on which it did not cool."""
    for fault in plan.rooms["Reach-in"].faults:
        note_unit(
            session,
            unit_named(session, "Reach-in"),
            EventKind.ACTION,
            at_ms=fault.to_ms,
            now_ms=fault.to_ms,
            by=COOKS[0],
            text="Its condenser was blocked by a tray rack: cleared. The food that was in it was thrown away.",
        )
