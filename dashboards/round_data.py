"""What the page of the day's round asks, and what it records; like `data`, for one page."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from dashboards import data
from dashboards.data import _forget
from holdwatch.alerts.breakdown import Decided, record_breakdown
from holdwatch.errors import RefusedError
from holdwatch.language import _
from holdwatch.people.handling import Disposition
from holdwatch.people.roles import Right
from holdwatch.storage.daily import record_round, say_nothing_cooled
from holdwatch.storage.deliveries import Delivered, record_delivery
from holdwatch.storage.handling import Signer
from holdwatch.storage.out_of_use import back_in_use as store_back_in_use
from holdwatch.storage.out_of_use import take_out_of_use as store_out_of_use
from holdwatch.storage.people import people, person_named
from holdwatch.storage.register import batch_named, unit_named, units
from holdwatch.storage.signing import require_pin
from holdwatch.storage.tables import EventKind, Unit
from holdwatch.storage.visits import detain, officer_reading, record_visit, release, visit_numbered
from holdwatch.views.breakdown import OnSheet, breakdown
from holdwatch.views.closing import closing as closing_parts
from holdwatch.views.closing import comes_back
from holdwatch.views.daily import Part, day_bounds, local_date, stood
from holdwatch.views.deliveries import DeliveryView, delivery_views
from holdwatch.views.model import SiteView
from holdwatch.views.opening import looks_back
from holdwatch.views.opening import opening as opening_parts
from holdwatch.views.resting import out_of_use_part, warning
from holdwatch.views.site import site_view
from holdwatch.views.visits import VisitView, visit_views

__all__ = [
    "Listed",
    "back_in_use",
    "back_ms",
    "broke_down",
    "closing",
    "delivered",
    "deliveries_today",
    "gone_through",
    "hold",
    "nothing_cooled",
    "officer_read",
    "on_sheet",
    "opening",
    "out_of_use",
    "take_out_of_use",
    "visit",
    "visited",
]


@dataclass(frozen=True)
class Listed:
    """A round as it was drawn."""

    said: str
    parts: tuple[Part, ...]


def back_ms() -> int:
    """Return when somebody is to be there again, by the last opening. [ms]."""
    with data.store().read() as session:
        return comes_back(session, data.now_ms())


def closing(back: int) -> Listed:
    """Return what is to be looked at before everybody leaves; `back` is when somebody is there again. [ms]."""
    with data.store().read() as session:
        return Listed("", tuple(closing_parts(session, data.now_ms(), back)))


def opening() -> Listed:
    """Return what is to be looked at before the day's work begins."""
    now = data.now_ms()
    with data.store().read() as session:
        return Listed(looks_back(session, now)[1], tuple(opening_parts(session, now)))


@data.told
def gone_through(kind: EventKind, listed: Listed, *, by: str, text: str, back: int | None = None) -> bool:
    """Record that a list was gone through as it was drawn."""
    now = data.now_ms()
    with data.store().write() as session:
        record_round(session, kind, stood(listed.parts), at_ms=now, now_ms=now, by=by, text=text, back_ms=back)
    return True


@data.told
def nothing_cooled(day: date | None, *, by: str, text: str) -> bool:
    """Record that nothing was cooled on a day; ``None`` is today."""
    now = data.now_ms()
    with data.store().write() as session:
        zone = site_view(session).zone
        of = day or local_date(now, zone)
        say_nothing_cooled(session, of, day_bounds(of, zone), now_ms=now, by=by, text=text)
    return True


# ---------------------------------------------------------------- out of use


def out_of_use() -> Part:
    """Return the units that are out of use now."""
    with data.store().read() as session:
        return out_of_use_part(session, data.now_ms(), site_view(session))


@data.told
def take_out_of_use(name: str | None, purpose: str, *, from_ms: int, to_ms: int | None, by: str, text: str) -> str:
    """Declare a unit, or with ``None`` all of them, out of use; return what to be warned of."""
    now = data.now_ms()
    with data.store().write() as session:
        unit = None if name is None else unit_named(session, name)
        store_out_of_use(session, unit, purpose, from_ms=from_ms, to_ms=to_ms, now_ms=now, by=by, text=text)
        concerned = units(session) if unit is None else [unit]
        warned = [(each.name, warning(session, each, max(from_ms, now))) for each in concerned]
    _forget()
    return " ".join(f"{each}: {words}" for each, words in warned if words)


@data.told
def back_in_use(name: str, *, at_ms: int, by: str) -> bool:
    """Declare that a unit is back in use."""
    with data.store().write() as session:
        store_back_in_use(session, unit_named(session, name), at_ms=at_ms, now_ms=data.now_ms(), by=by)
    _forget()
    return True


# ---------------------------------------------------------------- deliveries


@data.told
def delivered(came: Delivered, *, by: str) -> str:
    """Record a delivery; return how it stood to the limit."""
    now = data.now_ms()
    with data.store().write() as session:
        today = local_date(now, site_view(session).zone)
        event = record_delivery(session, came, at_ms=now, now_ms=now, today=today, by=by)
        says = str(event.facts.get("says", ""))
    _forget()
    return says


def deliveries_today() -> list[DeliveryView]:
    """Return the deliveries of the site's local day."""
    with data.store().read() as session:
        zone = site_view(session).zone
        return delivery_views(session, *day_bounds(local_date(data.now_ms(), zone), zone))


# ---------------------------------------------------------------- one failed unit, one sheet


def on_sheet(unit_id: int) -> list[OnSheet]:
    """Return the batches that stand in a unit, or may."""
    with data.store().read() as session:
        return breakdown(session, session.get_one(Unit, unit_id), data.now_ms())


@data.told
def broke_down(unit_id: int, decided: Sequence[Decided], *, by: str, pin: str, disposition: Disposition) -> str:
    """Record the sheet of a unit that broke down; return what it comes to.

    `disposition` is the one of the sheet that asks most of whoever decides: it says whether a PIN is needed.
    """
    now, person, signed = data.now_ms(), None, False
    with data.store().read() as session:
        if people(session):
            person = person_named(session, by)
    if person is not None and pin:
        keeps = any(line.disposition is Disposition.KEEP for line in decided)
        right = Right.KEEP if keeps else Right.DISPOSE
        person, signed = require_pin(data.store(), person, pin, right, place="screen", now_ms=now), True
    elif person is not None and disposition not in {Disposition.DISCARD, Disposition.HOLD}:
        words = _("This needs {person}'s PIN. Food can be thrown away, or set apart, without one.").format(
            person=person.name
        )
        raise RefusedError(words, who=person.name, what="breakdown")
    with data.store().write() as session:
        signer = Signer(by if person is None else person.name, person, signed=signed)
        unit = session.get_one(Unit, unit_id)
        said = record_breakdown(session, unit, decided, signer, now_ms=now, base_url=data.settings().base_url)
    _forget()
    return said


# ---------------------------------------------------------------- an officer's visit


def visited(site: SiteView) -> list[VisitView]:
    """Return the visits, in order of time."""
    with data.store().read() as session:
        return visit_views(session, 0, data.now_ms(), site)


@data.told
def visit(officer: str, authority: str, *, by: str, said: dict[str, Any]) -> bool:
    """Record that an officer is here."""
    now = data.now_ms()
    with data.store().write() as session:
        record_visit(session, officer, authority, at_ms=now, now_ms=now, by=by, **said)
    return True


@data.told
def officer_read(number: int, celsius: float, *, lot: str | None, unit: str, at_ms: int, by: str) -> bool:
    """Record what an officer measured of a batch, or where `lot` is ``None`` in a unit."""
    with data.store().write() as session:
        officer_reading(
            session,
            visit_numbered(session, number),
            celsius,
            batch=None if lot is None else batch_named(session, lot),
            unit=unit_named(session, unit) if lot is None else None,
            at_ms=at_ms,
            now_ms=data.now_ms(),
            by=by,
        )
    return True


@data.told
def hold(number: int, lot: str, text: str, *, taken: bool, by: str) -> bool:
    """Record that a batch is detained, or released."""
    now = data.now_ms()
    with data.store().write() as session:
        batch = batch_named(session, lot)
        if taken:
            detain(session, visit_numbered(session, number), batch, at_ms=now, now_ms=now, by=by, text=text)
        else:
            release(session, batch, text, at_ms=now, now_ms=now, by=by)
    _forget()
    return True
