"""``holdwatch probe``: the probes, how they speak, and when each was last heard."""

from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from holdwatch import clock
from holdwatch.cli.common import ByOption, DataOption, JsonOption, iso, opened, print_json, print_table, recorded_by
from holdwatch.cli.logger_file import probe_read_file
from holdwatch.cli.probe_check import probe_check, probe_checks

if TYPE_CHECKING:
    from holdwatch.views.model import HeardView, ProbeSeen

__all__ = ["probe_app"]

probe_app = typer.Typer(help="The probes, how they speak, and when each was last heard.", no_args_is_help=True)

probe_app.command("check")(probe_check)
probe_app.command("checks")(probe_checks)
probe_app.command("read-file")(probe_read_file)

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
    from holdwatch.views.probes import probe_rows

    now_ms = clock.now_ms()
    with opened(data) as store, store.read() as session:
        site = site_at(session, None)
        rows = probe_rows(session)
    if as_json:
        print_json([_told(row, now_ms) for row in rows])
        return
    lines = []
    for row in rows:
        heard, age = "never heard", ""
        if row.last_ms is not None and row.last_c is not None:
            heard = f"{format_temperature(row.last_c, Scale(site.unit))} at {local(row.last_ms, site.timezone)}"
            age = f"{format_duration(max(0, now_ms - row.last_ms))} ago"
        lines.append((row.code, row.medium, row.topic, row.placed or "not placed", heard, age))
    print_table(
        ("probe", "medium", "topic", "placed", "last reading", ""),
        lines,
        "No probe yet. Add one: holdwatch probe add p1 --medium food",
    )


def _told(row: "ProbeSeen", now_ms: int) -> dict[str, Any]:
    """Write what there is to say of a probe for a program."""
    last = None
    if row.last_ms is not None:
        last = {"at": iso(row.last_ms), "celsius": row.last_c, "received_at": iso(row.received_ms)}
    return {
        "id": row.code,
        "medium": row.medium,
        "payload": row.payload,
        "topic": row.topic,
        "placed": row.placed or None,
        "last_reading": last,
        "age_s": None if row.last_ms is None else (now_ms - row.last_ms) / clock.MS_PER_SECOND,
    }


@probe_app.command("heard")
def probe_heard(data: DataOption = None, as_json: JsonOption = False) -> None:
    """List what speaks and has not been added, with the command that adds it.

    holdwatch probe heard
    """
    from dataclasses import asdict

    from holdwatch.views.probes import add_command, heard_views

    now_ms = clock.now_ms()
    with opened(data) as store, store.read() as session:
        views = heard_views(session)
    if as_json:
        print_json([_heard_told(asdict(view)) for view in views])
        return
    print_table(
        ("topic", "last value", "battery", "signal", "last heard", "writes"),
        [
            (view.topic, _value(view), view.battery, view.signal, _age(view.last_ms, now_ms), view.problem or view.how)
            for view in views
        ],
        "Nothing is heard that has not been added: what publishes below the topic holdwatch/ stands here by itself.",
    )
    for view in views:
        if view.payload:
            typer.echo(add_command(view))


def _heard_told(facts: dict[str, Any]) -> dict[str, Any]:
    """Write what was heard for a program, its instant as everywhere."""
    return {"last_heard": iso(facts.pop("last_ms")), **facts}


def _age(at_ms: int, now_ms: int) -> str:
    from holdwatch.views.words import age

    return age(at_ms, now_ms)


def _value(view: "HeardView") -> str:
    """Write what something says that has not been added."""
    from holdwatch.quantities import Scale, format_temperature

    if view.celsius is None:
        return view.said
    if not view.unit:
        return f"{view.celsius:g}, °C or °F"
    return format_temperature(view.celsius, Scale(view.unit))
