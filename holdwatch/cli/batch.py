"""``holdwatch batch``: start a batch, record what happens to it, end it."""

from datetime import datetime
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from holdwatch import clock
from holdwatch.cli.common import (
    AtOption,
    ByOption,
    DataOption,
    JsonOption,
    iso,
    opened,
    print_json,
    print_table,
    recorded_by,
)
from holdwatch.errors import ConfigError

if TYPE_CHECKING:
    from sqlmodel import Session

    from holdwatch.storage.tables import Batch

__all__ = ["batch_app"]

batch_app = typer.Typer(help="Start a batch, record what happens to it, end it.", no_args_is_help=True)


class Kind(StrEnum):
    """What may be noted of a batch; the words of ``storage.tables.EventKind`` that a person says."""

    LEFT_HEAT = "left-heat"
    PREPARED = "prepared"
    MOVED = "moved"
    REMOVED = "removed"
    RETURNED = "returned"
    ENDED = "ended"
    READING = "reading"
    PROBE_IN_FOOD = "probe-in-food"
    PROBE_OUT_OF_FOOD = "probe-out-of-food"
    NOTE = "note"


_LOT = typer.Argument(metavar="LOT", help="The lot of the batch.", show_default=False)


@batch_app.command("start")
def batch_start(
    product: Annotated[str, typer.Option("--product", help='What it is: "Pastry cream".')],
    lot: Annotated[str, typer.Option("--lot", help="What it is called; no other batch may be called so.")],
    vessels: Annotated[int, typer.Option("--vessels", min=1, max=200, help="In how many pans or tubs it is.")] = 1,
    probe: Annotated[
        str | None, typer.Option("--probe", help="The probe in its first vessel.", show_default=False)
    ] = None,
    slowest: Annotated[
        bool, typer.Option("--slowest", help="Declare that the probe is in the vessel that cools slowest.")
    ] = False,
    holding: Annotated[Literal["cold", "hot"], typer.Option("--holding", help="How it is held afterwards.")] = "cold",
    at: AtOption = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Start a batch: from now on its cooling and then its holding are watched.

    holdwatch batch start --product "Pastry cream" --lot L1 --vessels 6 --probe p1
    """
    from holdwatch.cli.times import site_instant
    from holdwatch.storage import register

    now_ms, who = clock.now_ms(), recorded_by(by)
    if slowest and probe is None:
        raise ConfigError("--slowest says something of a probe: name it with --probe")
    with opened(data) as store, store.write() as session:
        at_ms = site_instant(session, at, now_ms)
        found = None if probe is None else register.probe_named(session, probe)
        batch = register.start_batch(
            session,
            product=product,
            lot=lot,
            vessels=vessels,
            holding=holding,
            at_ms=at_ms,
            now_ms=now_ms,
            by=who,
        )
        if found is not None:
            register.place(session, found, batch=batch, vessel=1, slowest=slowest, at_ms=at_ms, now_ms=now_ms, by=who)
    typer.echo(f"{product} {lot} is started. When it leaves the heat: holdwatch batch note {lot} left-heat")


@batch_app.command("note")
def batch_note(
    lot: Annotated[str, _LOT],
    kind: Annotated[Kind, typer.Argument(metavar="KIND", help=f"One of {', '.join(Kind)}.", show_default=False)],
    value: Annotated[
        str | None,
        typer.Argument(help="For a reading its temperature (68F, 20.5C); for a note its words.", show_default=False),
    ] = None,
    at: AtOption = None,
    vessel: Annotated[
        int | None, typer.Option("--vessel", min=1, help="Which vessel; if not given, all of them.", show_default=False)
    ] = None,
    unit: Annotated[str | None, typer.Option("--unit", help="The unit it was moved to.", show_default=False)] = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Record what happened to a batch, or a reading taken by hand.

    holdwatch batch note L1 left-heat
    holdwatch batch note L1 reading 68F --vessel 2 --at 14:30 --by Ines
    holdwatch batch note L1 moved --unit "Walk-in 1"
    holdwatch batch note L1 ended --at 2026-11-24T18:00-07:00
    """
    from holdwatch.cli.times import celsius_of, site_instant
    from holdwatch.storage import register
    from holdwatch.storage.tables import EventKind

    now_ms = clock.now_ms()
    if unit is not None and kind is not Kind.MOVED:
        raise ConfigError(f"--unit says where it was moved to: use it with moved, not with {kind}")
    words = _value(value, "a note needs its words") if kind is Kind.NOTE else (value or "")
    celsius = celsius_of(_value(value, "a reading needs its temperature")) if kind is Kind.READING else None
    with opened(data) as store, store.write() as session:
        batch = register.batch_named(session, lot)
        register.note(
            session,
            batch,
            EventKind(kind.value),
            at_ms=site_instant(session, at, now_ms),
            now_ms=now_ms,
            by=recorded_by(by),
            vessel=vessel,
            celsius=celsius,
            text="" if kind is Kind.READING else words,
            unit=None if unit is None else register.unit_named(session, unit),
        )
    which = f", vessel {vessel} of {batch.vessels}" if vessel is not None else ""
    typer.echo(f"{kind} of {lot}{which} is recorded.")


@batch_app.command("end")
def batch_end(
    lot: Annotated[str, _LOT],
    outcome: Annotated[
        Literal["served", "used", "sold", "frozen", "discarded"], typer.Option("--outcome", help="What became of it.")
    ] = "used",
    at: AtOption = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """End a batch: all of it was served, used, sold, frozen or discarded; its probes are free again.

    holdwatch batch end L1 --outcome discarded
    """
    from holdwatch.cli.times import site_instant
    from holdwatch.storage import register

    now_ms = clock.now_ms()
    with opened(data) as store, store.write() as session:
        batch = register.batch_named(session, lot)
        at_ms = site_instant(session, at, now_ms)
        register.end_batch(session, batch, outcome=outcome, at_ms=at_ms, now_ms=now_ms, by=recorded_by(by))
    typer.echo(f"{lot} is ended: {outcome}.")


@batch_app.command("list")
def batch_list(
    data: DataOption = None,
    as_json: JsonOption = False,
    running: Annotated[bool, typer.Option("--running", help="Only those that are not ended.")] = False,
) -> None:
    """List the batches, each with what the record shows of it so far."""
    from holdwatch.charts.marks import mark_of
    from holdwatch.cli.times import local
    from holdwatch.rules.verdicts import Verdict
    from holdwatch.storage.register import batches, site_at

    with opened(data) as store, store.read() as session:
        zone = site_at(session, None).timezone
        rows = [_facts(session, batch) for batch in batches(session, running_only=running)]
    if as_json:
        print_json(rows)
        return
    print_table(
        ("lot", "product", "vessels", "started", "ended", "record"),
        [
            (
                row["lot"],
                row["product"],
                str(row["vessels"]),
                local(clock.to_ms(datetime.fromisoformat(row["started_at"])), zone),
                row["outcome"] or "running",
                "not judged yet" if row["verdict"] is None else mark_of(Verdict(row["verdict"])).value,
            )
            for row in rows
        ],
        'No batch yet. Start one: holdwatch batch start --product "Pastry cream" --lot L1',
    )


def _facts(session: "Session", batch: "Batch") -> dict[str, Any]:
    """Return what there is to say of a batch."""
    from holdwatch.rules.batch import batch_verdict
    from holdwatch.rules.verdicts import Verdict
    from holdwatch.storage.events import events
    from holdwatch.storage.measured import measured_of
    from holdwatch.storage.placing import placements
    from holdwatch.storage.states import clause_states

    states = clause_states(session, batch_id=batch.id)
    measured = measured_of(session, batch, placements(session, batch_id=batch.id), events(session, batch_id=batch.id))
    verdict = batch_verdict((Verdict(state.verdict) for state in states), speaks_for_all=measured.speaks_for_all)
    return {
        "lot": batch.lot,
        "product": batch.product,
        "vessels": batch.vessels,
        "holding": batch.holding,
        "started_at": iso(batch.started_ms),
        "ended_at": iso(batch.ended_ms),
        "outcome": batch.outcome or None,
        "measured": measured.words,
        "verdict": verdict.value if states else None,
        "clauses": [
            {"vessel": state.vessel, "clause": state.clause, "process": state.process, "verdict": state.verdict}
            for state in states
        ],
    }


def _value(value: str | None, lacking: str) -> str:
    """Return the value, or say what it is needed for."""
    if value is None or not value.strip():
        raise ConfigError(f"{lacking}: holdwatch batch note LOT KIND VALUE")
    return value.strip()
