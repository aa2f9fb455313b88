"""``holdwatch verify``: tell whether the record is whole."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from holdwatch.cli.common import DataOption, JsonOption, print_json, settings_for

if TYPE_CHECKING:
    from holdwatch.records.verify import Verified

__all__ = ["tell", "verify"]


def verify(
    digest: Annotated[
        list[str] | None,
        typer.Option(
            "--digest",
            metavar="HEX",
            show_default=False,
            help="A digest of the chain from the foot of a paper, or of a still-alive call; may be given again.",
        ),
    ] = None,
    witness: Annotated[
        Path | None,
        typer.Option(
            "--witness", metavar="FILE", show_default=False, help="A witness file; if not given, that of the settings."
        ),
    ] = None,
    data: DataOption = None,
    as_json: JsonOption = False,
) -> None:
    """Hold the whole record against its chain and its seals, and say what was changed, where, and what is missing.

    holdwatch verify --digest 5f3c…

    An older copy of the store looks whole, and so does one whose end was cut off: only a digest that left the machine
    tells them apart. Exit status: 0 whole, 1 not whole.
    """
    from holdwatch.records.verify import verify as held
    from holdwatch.storage.engine import open_store, store_url
    from holdwatch.storage.witness import witnessed

    settings = settings_for(data)
    path = witness or settings.witness
    outside = [
        *(each.replace(" ", "") for each in digest or []),
        *(witnessed(path) if path is not None and (witness or path.exists()) else ()),
    ]
    store = open_store(store_url(settings.data, settings.database_url))
    try:
        found = held(store, outside, _progress if sys.stderr.isatty() else None)
    finally:
        store.close()
    if as_json:
        print_json(_facts(found))
    else:
        for sentence in tell(found):
            typer.echo(sentence)
    raise typer.Exit(0 if found.whole else 1)


def tell(found: "Verified") -> list[str]:
    """Return the answer in sentences."""
    said = [f"NOT WHOLE  {problem.kind}: {problem.where}: {problem.what}" for problem in found.problems]
    said.append(
        f"{found.lines:,} lines of the chain, {found.rows:,} rows, {found.seals:,} seals over {found.sealed:,} readings;"
        f" {found.unsealed:,} readings are not sealed yet."
    )
    said.extend(_thinned(found))
    said.extend(f"Signed with the key {key}" for key in found.keys)
    if not found.whole:
        return [*said, f"The record is not whole: {len(found.problems)} places."]
    said.append(f"Whole up to line {found.lines:,}, digest {found.head}")
    if found.held_until:
        said.append(f"A digest from outside is of line {found.held_until:,}: up to there it is the record that it was.")
    if found.held_until < found.lines:
        said.append("Nothing outside says that it is the last.")
    return said


def _thinned(found: "Verified") -> list[str]:
    """Say of which days readings were taken away, a line for each probe and day of thinning."""
    from holdwatch.clock import to_iso

    runs: dict[tuple[str, str, str], list[Any]] = {}
    for each in found.thinned:
        runs.setdefault((each.probe, to_iso(each.at_ms)[:10], each.by), []).append(each)
    return [
        f"Probe {probe}, {f'{len(days)} days from ' if len(days) > 1 else ''}{days[0].day}"
        f"{f' to {days[-1].day}' if len(days) > 1 else ''}: thinned on {on} by {by}, each seal kept;"
        f" {sum(day.taken for day in days):,} readings can no longer be computed again,"
        f" {sum(day.left for day in days):,} are as they were left."
        for (probe, on, by), days in runs.items()
    ]


def _facts(found: "Verified") -> dict[str, object]:
    """Return the answer for a program."""
    return {
        "whole": found.whole,
        "lines": found.lines,
        "head": found.head,
        "rows": found.rows,
        "seals": found.seals,
        "sealed_readings": found.sealed,
        "unsealed_readings": found.unsealed,
        "thinned": [
            {"probe": each.probe, "day": each.day, "taken": each.taken, "left": each.left, "by": each.by}
            for each in found.thinned
        ],
        "keys": found.keys,
        "held_until": found.held_until,
        "problems": [{"kind": each.kind, "where": each.where, "what": each.what} for each in found.problems],
    }


def _progress(what: str) -> None:
    sys.stderr.write(f"\r\033[K{what}")
    sys.stderr.flush()
