"""``holdwatch batch``: start a batch, record what happens to it, end it."""

from datetime import datetime
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from holdwatch import clock
from holdwatch.cli.batch_note import LotArgument, batch_note, batch_notes
from holdwatch.cli.batch_show import batch_show
from holdwatch.cli.batch_travel import batch_hand_over, batch_read_back
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

    from holdwatch.storage.planned import Planned
    from holdwatch.storage.tables import Batch

__all__ = ["batch_app"]

batch_app = typer.Typer(help="Start a batch, record what happens to it, end it.", no_args_is_help=True)


class Beginning(StrEnum):
    """What a batch may begin with; the words of ``rules.life.BEGINNINGS``, here so that help needs no arrays."""

    COOK_EGGS = "cook-eggs"
    COOK_EGGS_TO_ORDER = "cook-eggs-to-order"
    COOLING = "cooling"
    AMBIENT_COOLING = "ambient-cooling"
    RECEIVED_COOLING = "received-cooling"
    COLD_HOLDING = "cold-holding"
    HOT_HOLDING = "hot-holding"


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
    amount: Annotated[
        str, typer.Option("--amount", metavar="TEXT", help='How much there is of it: "9 kg".', show_default=False)
    ] = "",
    holding: Annotated[
        Literal["cold", "hot"] | None,
        typer.Option(
            "--holding", help="How it is held afterwards; cold where the plan says nothing.", show_default=False
        ),
    ] = None,
    process: Annotated[
        list[Beginning] | None,
        typer.Option(
            "--process",
            metavar="PROCESS",
            help=f"What is asked of it from the start, in place of cooling: {', '.join(Beginning)}. May repeat.",
            show_default=False,
        ),
    ] = None,
    not_tcs: Annotated[
        str,
        typer.Option(
            "--not-tcs",
            metavar="EVIDENCE",
            help="Declare that it needs no temperature control, and on what evidence.",
            show_default=False,
        ),
    ] = "",
    food: Annotated[
        list[str] | None,
        typer.Option(
            "--food",
            metavar="FACT",
            help="What it is, and whom it is for, where raw egg matters: raw-egg, pasteurised-egg, no-egg, several-eggs, "
            "one-portion, baked, haccp-plan, advisory, susceptible. May repeat.",
            show_default=False,
        ),
    ] = None,
    use_by: Annotated[
        str,
        typer.Option(
            "--use-by",
            metavar="DAY",
            help="The maker's use-by date, 2026-12-01; it is never passed.",
            show_default=False,
        ),
    ] = "",
    in_use: Annotated[
        str | None,
        typer.Option(
            "--in-use",
            metavar="TIME",
            help='It is in use from now on, for so long: "4 h", or "plan" for what your plan says of it.',
            show_default=False,
        ),
    ] = None,
    allergens: Annotated[
        str | None,
        typer.Option(
            "--allergens",
            metavar="LIST",
            help="What is in it: none, or as 'eggs, milk, gluten (wheat)'; if not given, what the plan says.",
            show_default=False,
        ),
    ] = None,
    at: AtOption = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Start a batch: from now on its cooling and then its holding are watched, or what --process says.

    Of a product of the written plan, what is not said here is taken from there (holdwatch product show).

    holdwatch batch start --product "Pastry cream" --lot L1 --vessels 6 --probe p1
    holdwatch batch start --product "Tuna salad" --lot L2 --process ambient-cooling
    """
    from holdwatch.cli.times import site_instant
    from holdwatch.storage import register
    from holdwatch.storage.planned import in_use_said, start_planned
    from holdwatch.storage.tables import EventKind

    now_ms, who = clock.now_ms(), recorded_by(by)
    if slowest and probe is None:
        raise ConfigError("--slowest says something of a probe: name it with --probe")
    with opened(data) as store, store.write() as session:
        at_ms = site_instant(session, at, now_ms)
        found = None if probe is None else register.probe_named(session, probe)
        batch, plan = start_planned(
            session,
            product=product,
            lot=lot,
            vessels=vessels,
            amount=amount,
            holding=holding or "",
            processes=[each.value for each in process or ()],
            not_tcs=not_tcs,
            use_by=use_by,
            food=food or (),
            at_ms=at_ms,
            now_ms=now_ms,
            by=who,
        )
        if allergens is not None:
            register.note(session, batch, EventKind.ALLERGENS, at_ms=at_ms, now_ms=now_ms, by=who, text=allergens)
        if in_use is not None:
            words, facts = in_use_said(session, batch, "" if in_use.strip() == "plan" else in_use)
            register.note(session, batch, EventKind.IN_USE, at_ms=at_ms, now_ms=now_ms, by=who, text=words, facts=facts)
        if found is not None:
            register.place(session, found, batch=batch, vessel=1, slowest=slowest, at_ms=at_ms, now_ms=now_ms, by=who)
    begins = {each.value for each in process or (plan.start.processes if plan is not None else ())}
    hot = batch.step in {"cook", "cool"} and not begins & {Beginning.AMBIENT_COOLING, Beginning.RECEIVED_COOLING}
    asked = plan is None or not plan.start.not_tcs
    following = f" When it leaves the heat: holdwatch batch note {lot} left-heat" if hot and asked else ""
    typer.echo(f"{batch.product} {lot} is started.{following}")
    if plan is not None:
        _tell_plan(plan)


def _tell_plan(plan: "Planned") -> None:
    """Say what the plan says of it: where it stands, that no limit is asked, and what is still to be checked."""
    if plan.start.place:
        typer.echo(f"By the plan it stands in {plan.start.place}; note it when it does.")
    if plan.start.not_tcs:
        typer.echo(f"By the plan no limit is asked: {plan.start.not_tcs}.")
    for ask in plan.start.to_check:
        typer.echo(f"To check: {ask}")
    if plan.start.taken_as:
        typer.echo(f"Until then {'; '.join(plan.start.taken_as)}.")


batch_app.command("note")(batch_note)
batch_app.command("notes")(batch_notes)
batch_app.command("show")(batch_show)
batch_app.command("hand-over")(batch_hand_over)
batch_app.command("read-back")(batch_read_back)


@batch_app.command("divide")
def batch_divide(
    lot: LotArgument,
    part: Annotated[str, typer.Argument(metavar="PART", help="The lot of the part.", show_default=False)],
    vessels: Annotated[int, typer.Option("--vessels", min=1, max=200, help="In how many vessels the part is.")] = 1,
    amount: Annotated[
        str, typer.Option("--amount", metavar="TEXT", help='How much was divided off: "3 kg".', show_default=False)
    ] = "",
    vessel: Annotated[
        int | None, typer.Option("--vessel", min=1, help="Which vessel it was taken from.", show_default=False)
    ] = None,
    at: AtOption = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Divide some of a batch off; the part inherits the clock of what it was taken from.

    holdwatch batch divide L1 L1-b --vessel 2
    """
    from holdwatch.cli.times import site_instant
    from holdwatch.storage import register
    from holdwatch.storage.parts import divide_batch

    now_ms = clock.now_ms()
    with opened(data) as store, store.write() as session:
        divide_batch(
            session,
            register.batch_named(session, lot),
            lot=part,
            vessels=vessels,
            amount=amount,
            vessel=vessel,
            at_ms=site_instant(session, at, now_ms),
            now_ms=now_ms,
            by=recorded_by(by),
        )
    typer.echo(f"{part} is divided off from {lot}; its clock is that of {lot}.")


@batch_app.command("add")
def batch_add(
    lot: Annotated[str, typer.Argument(metavar="LOT", help="The batch that it came into.", show_default=False)],
    part: Annotated[str, typer.Argument(metavar="PART", help="The batch that it is some of.", show_default=False)],
    vessel: Annotated[
        int | None,
        typer.Option("--vessel", min=1, help="Which vessel it came into; if not given, all.", show_default=False),
    ] = None,
    part_vessel: Annotated[
        int | None, typer.Option("--part-vessel", min=1, help="Which vessel it came from.", show_default=False)
    ] = None,
    at: AtOption = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Record that food of one batch came into another; the oldest content governs.

    holdwatch batch add Tray-1 L1 --at 14:30
    """
    from holdwatch.cli.times import site_instant
    from holdwatch.storage import register
    from holdwatch.storage.parts import add_part

    now_ms = clock.now_ms()
    with opened(data) as store, store.write() as session:
        add_part(
            session,
            register.batch_named(session, lot),
            register.batch_named(session, part),
            vessel=vessel,
            part_vessel=part_vessel,
            at_ms=site_instant(session, at, now_ms),
            now_ms=now_ms,
            by=recorded_by(by),
        )
    typer.echo(f"{part} is added to {lot}: the oldest of what it holds governs.")


@batch_app.command("end")
def batch_end(
    lot: LotArgument,
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
            {
                "vessel": state.vessel,
                "clause": state.clause,
                "process": state.process,
                "occasion": state.day,
                "verdict": state.verdict,
            }
            for state in states
        ],
    }
