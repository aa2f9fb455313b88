"""``holdwatch breakdown``: one failed unit, one sheet for every batch in it."""

import csv
import io
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from holdwatch import clock
from holdwatch.cli.common import ByOption, DataOption, JsonOption, opened, print_json, print_table, settings_for
from holdwatch.cli.signing import SignOption, signer_for
from holdwatch.errors import ConfigError
from holdwatch.people.handling import Disposition

if TYPE_CHECKING:
    from holdwatch.alerts.breakdown import Decided

__all__ = ["breakdown_app"]

breakdown_app = typer.Typer(help="One failed unit, one sheet for every batch in it.", no_args_is_help=True)

_Unit = Annotated[str, typer.Argument(metavar="UNIT", help="The unit that broke down.", show_default=False)]
_HEADS = ("lot", "product", "vessel", "reading", "disposition", "place", "text")


@breakdown_app.command("show")
def breakdown_show(unit: _Unit, data: DataOption = None, as_json: JsonOption = False) -> None:
    """Show every batch that stands in a unit, or may, with what was last measured of it.

    holdwatch breakdown show "Walk-in 1"
    """
    from holdwatch.storage.register import unit_named
    from holdwatch.views.breakdown import breakdown

    with opened(data) as store, store.read() as session:
        rows = breakdown(session, unit_named(session, unit), clock.now_ms())
    if as_json:
        print_json(
            [
                {
                    "lot": row.lot,
                    "product": row.product,
                    "vessels": row.vessels,
                    "shows": row.mark.value,
                    "perhaps": row.perhaps,
                    "last": row.last,
                }
                for row in rows
            ]
        )
        return
    print_table(
        ("lot", "product", "the record shows", "last measured", "stands there"),
        [(row.lot, row.product, row.mark.value, row.last, "perhaps" if row.perhaps else "yes") for row in rows],
        f"No batch is recorded as standing in {unit}.",
    )


@breakdown_app.command("sheet")
def breakdown_sheet(unit: _Unit, data: DataOption = None) -> None:
    """Print the sheet as CSV, to be filled in: reading (39F), disposition, place, text; a line without disposition waits.

    holdwatch breakdown sheet "Walk-in 1" > sheet.csv
    """
    from holdwatch.storage.register import unit_named
    from holdwatch.views.breakdown import breakdown

    with opened(data) as store, store.read() as session:
        rows = breakdown(session, unit_named(session, unit), clock.now_ms())
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_HEADS)
    writer.writerows((row.lot, row.product, "", "", "", "", "") for row in rows)
    typer.echo(out.getvalue(), nl=False)


@breakdown_app.command("record")
def breakdown_record(
    unit: _Unit,
    sheet: Annotated[
        Path | None, typer.Option("--sheet", metavar="FILE", help="The filled-in sheet (CSV).", show_default=False)
    ] = None,
    lot: Annotated[
        str | None, typer.Option("--lot", metavar="LOT", help="Or one batch of it.", show_default=False)
    ] = None,
    disposition: Annotated[
        Disposition | None, typer.Option("--disposition", help="What becomes of that batch.", show_default=False)
    ] = None,
    reading: Annotated[
        str, typer.Option("--reading", metavar="TEMPERATURE", help="By hand: 39F, 3.9C.", show_default=False)
    ] = "",
    vessel: Annotated[
        str, typer.Option("--vessel", metavar="NUMBER", help="Which vessel was measured.", show_default=False)
    ] = "",
    place: Annotated[
        str, typer.Option("--place", metavar="UNIT", help="The unit that it is put into.", show_default=False)
    ] = "",
    text: Annotated[str, typer.Option("--text", help="What was done, and why.", show_default=False)] = "",
    sign: SignOption = False,
    data: DataOption = None,
    by: ByOption = "",
) -> None:
    """Record what becomes of the batches: of all on a sheet or of one; all of it is recorded, or nothing.

    holdwatch breakdown record "Walk-in 1" --sheet sheet.csv --by Ines --sign

    holdwatch breakdown record "Walk-in 1" --lot PC-1124 --reading 47F --disposition discard --by Tomas

    To keep food takes a manager, a reason and a PIN; a discard is taken without one. What is discarded is ended.
    """
    from holdwatch.alerts.breakdown import record_breakdown
    from holdwatch.storage.register import unit_named

    if (sheet is None) == (lot is None):
        raise ConfigError("give the filled-in sheet with --sheet, or one batch with --lot and --disposition")
    if lot is not None and disposition is None:
        raise ConfigError(f"say what becomes of {lot}: --disposition {', '.join(Disposition)}")
    one = {"vessel": vessel, "reading": reading, "place": place, "text": text}
    rows = _read(sheet) if sheet is not None else [_line("", {"lot": lot, "disposition": disposition, **one})]
    with opened(data) as store:
        signer = signer_for(store, by, sign)
        with store.write() as session:
            said = record_breakdown(
                session,
                unit_named(session, unit),
                rows,
                signer,
                now_ms=clock.now_ms(),
                base_url=settings_for(data).base_url,
            )
    unsigned = "" if signer.signed else ", unsigned"
    typer.echo(f"Recorded by {signer.by}{unsigned}: {said}.")


def _read(path: Path) -> "list[Decided]":
    """Read the lines of a sheet that are decided."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as exc:
        raise ConfigError(f"{path} cannot be read: give the sheet as a CSV file in UTF-8") from exc
    reader = csv.DictReader(io.StringIO(text))
    missing = [name for name in ("lot", "disposition") if name not in (reader.fieldnames or ())]
    if missing:
        raise ConfigError(f"{path} has no column {missing[0]!r}: print a sheet with holdwatch breakdown sheet UNIT")
    rows = [(reader.line_num, row) for row in reader]
    return [_line(f"row {number}: ", row) for number, row in rows if (row.get("disposition") or "").strip()]


def _line(where: str, row: "dict[str, str | None]") -> "Decided":
    """Read one line; what cannot be is told with its row."""
    from holdwatch.alerts.breakdown import Decided
    from holdwatch.cli.times import celsius_of

    said = {name: (row.get(name) or "").strip() for name in _HEADS}
    try:
        disposition = Disposition(said["disposition"].lower())
    except ValueError as exc:
        known = ", ".join(Disposition)
        raise ConfigError(f"{where}{said['disposition']!r} is no disposition: use one of {known}") from exc
    if said["vessel"] and not said["vessel"].isdecimal():
        raise ConfigError(f"{where}{said['vessel']!r} is no vessel: give its number")
    try:
        celsius = celsius_of(said["reading"]) if said["reading"] else None
    except ConfigError as exc:
        raise ConfigError(f"{where}{exc}") from exc
    vessel = int(said["vessel"]) if said["vessel"] else None
    return Decided(said["lot"], disposition, celsius, vessel, said["place"], said["text"])
