"""``holdwatch probe``: the probes, how they speak, and when each was last heard."""

from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from holdwatch import clock
from holdwatch.cli.common import ByOption, DataOption, JsonOption, iso, opened, print_json, print_table, recorded_by
from holdwatch.cli.probe_check import probe_check, probe_checks

if TYPE_CHECKING:
    from sqlmodel import Session

__all__ = ["probe_app"]

probe_app = typer.Typer(help="The probes, how they speak, and when each was last heard.", no_args_is_help=True)

probe_app.command("check")(probe_check)
probe_app.command("checks")(probe_checks)

_TOPIC_HELP = "The MQTT topic it publishes to; if not given, holdwatch/CODE."


@probe_app.command("add")
def probe_add(
    code: Annotated[str, typer.Argument(help="What it is called: p1.", show_default=False)],
    medium: Annotated[Literal["food", "air", "product"], typer.Option("--medium", help="What it measures.")],
    data: DataOption = None,
    payload: Annotated[
        Literal["senml", "number", "json"],
        typer.Option("--payload", help="How it writes: a SenML pack (RFC 8428), a bare number, or any JSON."),
    ] = "number",
    pointer: Annotated[
        str, typer.Option("--pointer", help="JSON Pointer (RFC 6901) to the value: /d/temp.", show_default=False)
    ] = "",
    time_pointer: Annotated[
        str, typer.Option("--time-pointer", help="JSON Pointer to the instant: /ts.", show_default=False)
    ] = "",
    unit_pointer: Annotated[
        str, typer.Option("--unit-pointer", help="JSON Pointer to the unit: /d/unit.", show_default=False)
    ] = "",
    senml_name: Annotated[
        str, typer.Option("--senml-name", help="The name to take from a pack of several.", show_default=False)
    ] = "",
    unit: Annotated[Literal["C", "F"], typer.Option("--unit", help="The unit of a value that comes without.")] = "C",
    topic: Annotated[str | None, typer.Option("--topic", help=_TOPIC_HELP, show_default=False)] = None,
    by: ByOption = "",
) -> None:
    """Add a probe; the listener hears it within a second.

    holdwatch probe add p1 --medium food
    holdwatch probe add p2 --medium food --payload senml
    holdwatch probe add p3 --medium air --payload json --pointer /d/temp --unit F --topic cellar/box7
    """
    from holdwatch.readings import Medium
    from holdwatch.storage.register import add_probe
    from holdwatch.storage.tables import Payload

    with opened(data) as store, store.write() as session:
        probe = add_probe(
            session,
            code,
            medium=Medium(medium),
            payload=Payload(payload),
            topic=topic,
            pointer=pointer,
            time_pointer=time_pointer,
            unit_pointer=unit_pointer,
            senml_name=senml_name,
            unit=unit,
            now_ms=clock.now_ms(),
            by=recorded_by(by),
        )
    typer.echo(f"{code} is heard on the topic {probe.topic}. Next: holdwatch place {code} --unit NAME, or --batch LOT")


@probe_app.command("list")
def probe_list(data: DataOption = None, as_json: JsonOption = False) -> None:
    """List the probes, each with its last reading and how old that is."""
    from holdwatch.cli.times import local
    from holdwatch.quantities import Scale, format_duration, format_temperature
    from holdwatch.storage.register import site_at

    now_ms = clock.now_ms()
    with opened(data) as store, store.read() as session:
        site = site_at(session, None)
        rows = _rows(session, now_ms)
    if as_json:
        print_json(rows)
        return
    lines = []
    for row in rows:
        last = row["last_reading"]
        if last is None:
            heard, age = "never heard", ""
        else:
            at_ms = now_ms - round(row["age_s"] * clock.MS_PER_SECOND)
            heard = f"{format_temperature(last['celsius'], Scale(site.unit))} at {local(at_ms, site.timezone)}"
            age = f"{format_duration(max(0, now_ms - at_ms))} ago"
        lines.append((row["id"], row["medium"], row["topic"], row["placed"] or "not placed", heard, age))
    print_table(
        ("probe", "medium", "topic", "placed", "last reading", ""),
        lines,
        "No probe yet. Add one: holdwatch probe add p1 --medium food",
    )


def _rows(session: "Session", now_ms: int) -> list[dict[str, Any]]:
    """Return what there is to say of each probe."""
    from holdwatch.storage.readings import last_readings
    from holdwatch.storage.register import placements, probes
    from holdwatch.storage.tables import Batch, Unit

    last, places = last_readings(session, None), {}
    for found in placements(session, open_only=True):
        if found.batch_id is not None:
            places[found.probe_id] = f"batch {session.get_one(Batch, found.batch_id).lot}, vessel {found.vessel}"
        elif found.unit_id is not None:
            places[found.probe_id] = session.get_one(Unit, found.unit_id).name
    rows = []
    for probe in probes(session):
        reading = last.get(probe.id or 0)
        rows.append(
            {
                "id": probe.code,
                "medium": str(probe.medium),
                "payload": str(probe.payload),
                "topic": probe.topic,
                "placed": places.get(probe.id or 0),
                "last_reading": None
                if reading is None
                else {
                    "at": iso(reading.at_ms),
                    "celsius": reading.celsius,
                    "received_at": iso(reading.at_ms + reading.lag_ms),
                },
                "age_s": None if reading is None else (now_ms - reading.at_ms) / clock.MS_PER_SECOND,
            }
        )
    return rows
