"""``holdwatch batch note``: what happened to a batch, or a reading taken by hand."""

from enum import StrEnum
from typing import Annotated, Any

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

__all__ = ["LotArgument", "batch_note", "batch_notes"]


class Kind(StrEnum):
    """What may be noted of a batch; the words of ``storage.tables.EventKind`` that a person says."""

    LEFT_HEAT = "left-heat"
    PREPARED = "prepared"
    MOVED = "moved"
    REMOVED = "removed"
    RETURNED = "returned"
    STEP = "step"
    REHEATING = "reheating"
    FROZEN = "frozen"
    THAWED = "thawed"
    OPENED = "opened"
    RECEIVED = "received"
    IN_USE = "in-use"
    ALLERGENS = "allergens"
    ENDED = "ended"
    READING = "reading"
    PROBE_IN_FOOD = "probe-in-food"
    PROBE_OUT_OF_FOOD = "probe-out-of-food"
    NOTE = "note"


class Under(StrEnum):
    """Under which process time counts in place of temperature; the words of ``storage.said.UNDER``."""

    FOUR_HOURS = "time-control-4h"
    SIX_HOURS = "time-control-6h"
    FROM_ROOM = "time-control-from-room"
    ADDED_UP = "cumulative-time"


class Delivery(StrEnum):
    """What a delivery is held against; the words of ``storage.said.DELIVERIES``."""

    COLD = "cold"
    HOT = "hot"
    SHELL_EGGS = "shell-eggs"


LotArgument = Annotated[str, typer.Argument(metavar="LOT", help="The lot of the batch.", show_default=False)]


def batch_note(
    lot: LotArgument,
    kind: Annotated[Kind, typer.Argument(metavar="KIND", help=f"One of {', '.join(Kind)}.", show_default=False)],
    value: Annotated[
        str | None,
        typer.Argument(
            help="Of a reading or a delivery its temperature (68F, 20.5C); of a note its words; of a step its name; "
            "of reheating what for (hot-holding, service); of in-use for how long (4 h; if not given, as the plan says); "
            "of allergens none, or as eggs, milk, gluten (wheat).",
            show_default=False,
        ),
    ] = None,
    at: AtOption = None,
    vessel: Annotated[
        int | None, typer.Option("--vessel", min=1, help="Which vessel; if not given, all of them.", show_default=False)
    ] = None,
    unit: Annotated[
        str | None, typer.Option("--unit", help="The unit it was moved or removed to.", show_default=False)
    ] = None,
    door: Annotated[
        str | None,
        typer.Option(
            "--door",
            metavar="CODE",
            help="Of moved: the code on the unit's door, in place of --unit; it confirms where it is.",
            show_default=False,
        ),
    ] = None,
    under: Annotated[
        Under | None,
        typer.Option(
            "--under",
            metavar="PROCESS",
            help=f"Of removed: time counts from now on, under {', '.join(Under)}.",
            show_default=False,
        ),
    ] = None,
    room_air: Annotated[
        bool, typer.Option("--room-air", help="The written procedure lets the air of that room stand for the food.")
    ] = False,
    delivery: Annotated[
        Delivery, typer.Option("--delivery", help="Of received: what kind of food was delivered.")
    ] = Delivery.COLD,
    thermometer: Annotated[
        str, typer.Option("--thermometer", metavar="NAME", help="Of a reading: taken with which.", show_default=False)
    ] = "",
    instead_of: Annotated[
        int | None,
        typer.Option("--instead-of", metavar="NOTE", help="Correct that note; it stays readable.", show_default=False),
    ] = None,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Record what happened to a batch, or a reading taken by hand.

    holdwatch batch note L1 left-heat
    holdwatch batch note L1 reading 68F --vessel 2 --thermometer T2 --at 14:30 --by Ines
    holdwatch batch note L1 moved --unit "Walk-in 1"
    holdwatch batch note L1 moved --door K7M2Q
    holdwatch batch note L1 removed --under time-control-4h
    holdwatch batch note L1 received 39F
    holdwatch batch note Bag-1 in-use
    holdwatch batch note Bag-1 in-use "4 h"
    holdwatch batch note L1 ended --at 2026-11-24T18:00-07:00
    """
    from holdwatch.cli.times import celsius_of, site_instant
    from holdwatch.storage import register
    from holdwatch.storage.doors import AT_THE_DOOR, unit_at_door
    from holdwatch.storage.planned import in_use_said
    from holdwatch.storage.tables import EventKind

    now_ms = clock.now_ms()
    if unit is not None and kind not in {Kind.MOVED, Kind.REMOVED, Kind.RETURNED}:
        raise ConfigError(f"--unit says where it was moved to: use it with moved or removed, not with {kind}")
    if door is not None and (unit is not None or kind is not Kind.MOVED):
        raise ConfigError("--door confirms where it was moved to: use it with moved, and without --unit")
    if under is not None and kind is not Kind.REMOVED:
        raise ConfigError(f"--under says what counts from the removal on: use it with removed, not with {kind}")
    facts: dict[str, Any] = {"under": under.value} if under is not None else {}
    if room_air:
        facts["room_air"] = True
    if kind is Kind.RECEIVED and value is not None:  # else it says no more than when it came
        facts["part"] = f"receiving-{delivery.value}"
    words = _words(kind, value)
    if thermometer.strip():
        if kind is not Kind.READING:
            raise ConfigError(f"--thermometer says what a reading was taken with: use it with reading, not with {kind}")
        words = f"thermometer {thermometer.strip()}"
    celsius = celsius_of(value) if value is not None and kind in {Kind.READING, Kind.RECEIVED} else None
    with opened(data) as store, store.write() as session:
        batch = register.batch_named(session, lot)
        if kind is Kind.IN_USE:
            words, used = in_use_said(session, batch, words)
            facts |= used
        place = None if unit is None else register.unit_named(session, unit)
        if door is not None:
            place, facts = unit_at_door(session, door), facts | AT_THE_DOOR
        register.note(
            session,
            batch,
            EventKind(kind.value),
            at_ms=site_instant(session, at, now_ms),
            now_ms=now_ms,
            by=recorded_by(by),
            vessel=vessel,
            celsius=celsius,
            text=words,
            facts=facts,
            replaces_id=instead_of,
            unit=place,
        )
    which = f", vessel {vessel} of {batch.vessels}" if vessel is not None else ""
    typer.echo(f"{kind} of {lot}{which} is recorded.")


def batch_notes(lot: LotArgument, data: DataOption = None, as_json: JsonOption = False) -> None:
    """List what was recorded of a batch, each with its number; what was corrected stays in the list.

    holdwatch batch notes L1
    """
    from holdwatch.cli.times import local
    from holdwatch.storage.register import batch_named, events, site_at

    with opened(data) as store, store.read() as session:
        zone = site_at(session, None).timezone
        told = events(session, batch_id=batch_named(session, lot).id, all_versions=True)
    instead: dict[int | None, int | None] = {each.replaces_id: each.id for each in told if each.replaces_id is not None}
    rows = [
        {
            "note": event.id,
            "at": iso(event.at_ms),
            "kind": event.kind,
            "vessel": event.vessel,
            "celsius": event.celsius,
            "text": event.text,
            "by": event.by,
            "recorded_at": iso(event.recorded_ms),
            "corrected_by_note": instead.get(event.id),
        }
        for event in told
    ]
    if as_json:
        print_json(rows)
        return
    print_table(
        ("note", "at", "what", "by"),
        [
            (
                str(event.id),
                local(event.at_ms, zone),
                " ".join(part for part in (event.kind, event.text) if part)
                + (f" (corrected by note {instead[event.id]})" if event.id in instead else ""),
                event.by,
            )
            for event in told
        ],
        "Nothing was recorded yet.",
    )


_NEEDED = {
    Kind.NOTE: "a note needs its words",
    Kind.READING: "a reading needs its temperature",
    Kind.STEP: "a step needs its name",
    Kind.ALLERGENS: "say which allergens: none, or as eggs, milk, gluten (wheat)",
}


def _words(kind: Kind, value: str | None) -> str:
    """Return the words of a note; a temperature is none."""
    plain = (value or "").strip()
    if kind in _NEEDED and not plain:
        raise ConfigError(f"{_NEEDED[kind]}: holdwatch batch note LOT KIND VALUE")
    return "" if kind in {Kind.READING, Kind.RECEIVED} else plain
