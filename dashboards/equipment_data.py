"""What the Set-up page asks of units and probes, and what it records; like `data`, for one part of a page."""

from dataclasses import dataclass
from typing import Any

from dashboards.data import set_up, store, system, told
from holdwatch.errors import ConfigError
from holdwatch.language import _
from holdwatch.storage import register
from holdwatch.storage.heard import forget
from holdwatch.storage.tables import Unit, UnitKind
from holdwatch.views.model import HeardView, ProbeSeen
from holdwatch.views.probes import heard_views, probe_rows

__all__ = ["KINDS", "Place", "Speaks", "add_unit", "broker", "heard", "name_and_place", "probes"]

KINDS = tuple(kind.value for kind in UnitKind)


@dataclass(frozen=True)
class Speaks:
    """How a probe speaks, and on which topic; without a unit nobody has said it."""

    topic: str
    payload: str
    unit: str
    pointer: str = ""
    time_pointer: str = ""
    unit_pointer: str = ""
    senml_name: str = ""


@dataclass(frozen=True)
class Place:
    """A unit that is there, or with a kind a new one; without a name no place yet."""

    unit: str = ""
    kind: str = ""


def heard() -> list[HeardView]:
    """Return what speaks and has not been added."""
    with store().read() as session:
        return heard_views(session)


def probes() -> list[ProbeSeen]:
    """Return every probe that was added."""
    with store().read() as session:
        return probe_rows(session)


def broker() -> str:
    """Return how the connection to the broker is, in words."""
    return system().broker


@told
def name_and_place(*, code: str, medium: str, speaks: Speaks, place: Place, by: str, pin: str) -> bool:
    """Add a probe that was heard and place it, in one transaction: both are on record, or neither is."""
    if speaks.unit not in {"C", "F"}:
        raise ConfigError(_("say whether its numbers are °C or °F: the message does not tell"))
    with set_up(by, pin) as (session, now):
        unit = _unit(session, place, now, by) if place.unit else None
        probe = register.add_probe(
            session,
            code,
            medium=medium,
            payload=speaks.payload,
            topic=speaks.topic,
            pointer=speaks.pointer,
            time_pointer=speaks.time_pointer,
            unit_pointer=speaks.unit_pointer,
            senml_name=speaks.senml_name,
            unit=speaks.unit,
            now_ms=now,
            by=by,
        )
        if unit is not None:
            register.place(session, probe, unit=unit, at_ms=now, now_ms=now, by=by)
        forget(session, probe.topic)
    return True


@told
def add_unit(*, name: str, kind: str, by: str, pin: str) -> bool:
    """Add a unit."""
    with set_up(by, pin) as (session, now):
        register.add_unit(session, name, kind, now_ms=now, by=by)
    return True


def _unit(session: Any, place: Place, now: int, by: str) -> Unit:
    """Return the unit of a place, which may be a new one."""
    if place.kind:
        return register.add_unit(session, place.unit, place.kind, now_ms=now, by=by)
    return register.unit_named(session, place.unit)
