"""The probes: each one that was added with what it read last, and what speaks and has not been added."""

import re
from shlex import quote

from sqlmodel import Session

from holdwatch.language import N_, _
from holdwatch.storage.heard import heard
from holdwatch.storage.ranges import last_readings
from holdwatch.storage.register import placements, probes
from holdwatch.storage.tables import Batch, Heard, Payload, Unit
from holdwatch.views.model import HeardView, ProbeSeen

__all__ = ["WAYS", "add_command", "heard_views", "probe_rows"]

_SAYS_NOTHING = frozenset(("state", "status", "telemetry", "data", "value", "reading", "temperature", "temp", "up"))
WAYS = {
    Payload.NUMBER.value: N_("a bare number"),
    Payload.SENML.value: N_("a SenML pack"),
    Payload.JSON.value: N_("JSON"),
}
"""How messages are written, as a person says it."""


def probe_rows(session: Session) -> list[ProbeSeen]:
    """Return every probe that was added, in that order."""
    last, places = last_readings(session), {}
    for found in placements(session, open_only=True):
        if found.batch_id is not None:
            places[found.probe_id] = _("batch {lot}, vessel {vessel}").format(
                lot=session.get_one(Batch, found.batch_id).lot, vessel=found.vessel
            )
        elif found.unit_id is not None:
            places[found.probe_id] = session.get_one(Unit, found.unit_id).name
    rows = []
    for probe in probes(session):
        reading = last.get(probe.id or 0)
        rows.append(
            ProbeSeen(
                probe.code,
                probe.medium,
                probe.payload,
                probe.topic,
                places.get(probe.id or 0, ""),
                None if reading is None else reading.at_ms,
                None if reading is None else reading.celsius,
                None if reading is None else reading.at_ms + reading.lag_ms,
            )
        )
    return rows


def heard_views(session: Session) -> list[HeardView]:
    """Return what speaks and was not added, with a name proposed for each."""
    taken = {probe.code for probe in probes(session)}
    return [_heard_view(row, taken) for row in heard(session)]


def add_command(view: HeardView) -> str:
    """Return the command that adds it; what nobody can know stands there in capitals."""
    options = {
        "pointer": view.pointer,
        "time-pointer": view.time_pointer,
        "unit-pointer": view.unit_pointer,
        "senml-name": view.senml_name,
        "unit": "" if view.payload == Payload.SENML or view.unit_pointer else view.unit or "UNIT",
    }
    said = "".join(f" --{name} {quote(value)}" for name, value in options.items() if value)
    told = f"{view.code or 'CODE'} --medium MEDIUM --payload {view.payload}{said}"
    return f"holdwatch probe add {told} --topic {quote(view.topic)}"  # a topic is whatever a stranger sends


def _heard_view(row: Heard, taken: set[str]) -> HeardView:
    return HeardView(
        code=_code(row.topic, taken),
        how=_how(row),
        **row.model_dump(exclude={"first_ms"}),
    )


def _code(topic: str, taken: set[str]) -> str:
    """Propose the last part of the topic that names something."""
    parts = [re.sub(r"[^A-Za-z0-9:._-]", "", part) for part in topic.split("/")[1:] or [topic]]
    named = [part for part in parts if part[:1].isalnum() and part.lower() not in _SAYS_NOTHING]
    return next((part for part in reversed(named) if part not in taken), "")


def _how(row: Heard) -> str:
    """Say how it seems to write."""
    if not row.payload:
        return _("not told")
    parts = {
        _("value at {pointer}").format(pointer=row.pointer): row.pointer,
        _("value {name}").format(name=row.senml_name): row.senml_name,
        _("instant at {pointer}").format(pointer=row.time_pointer): row.time_pointer,
        _("unit at {pointer}").format(pointer=row.unit_pointer): row.unit_pointer,
    }
    return ", ".join([_(WAYS[row.payload]), *(said for said, known in parts.items() if known)])
