"""What the columns of an export mean: one table, of which the files themselves and what lies beside them are made."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Any

__all__ = ["COLUMNS", "Column", "Holds", "dictionary_of"]


class Holds(StrEnum):
    """What the cells of a column are."""

    TEXT = "text"
    WHOLE = "whole number"
    NUMBER = "number"
    TRUTH = "true or false"
    INSTANT = "instant"


@dataclass(frozen=True)
class Column:
    """One column."""

    name: str
    holds: Holds
    means: str
    unit: str = ""


def _at(name: str, means: str) -> Column:
    return Column(name, Holds.INSTANT, means, "ISO 8601 in UTC, in Parquet ms since 1970 in UTC")


_BY = "who recorded it, as it was said"

COLUMNS: Mapping[str, tuple[Column, ...]] = MappingProxyType(
    {
        "readings": (
            Column("probe", Holds.TEXT, "the probe's name"),
            _at("at", "the instant of the reading"),
            Column("celsius", Holds.NUMBER, "the value as it came; corrections are not applied", "°C"),
            _at("received_at", "when it arrived"),
            Column(
                "instant",
                Holds.TEXT,
                "where the instant comes from: own (the device's), arrival, unknown, or implausible (the device's own "
                "cannot be; at is then the arrival)",
            ),
            Column("judged", Holds.TRUTH, "whether it was held against limits: not where its instant is not known"),
            Column("contested", Holds.TRUTH, "a second value at an instant that has one already; both are judged"),
            Column("from_file", Holds.TRUTH, "read from a logger's file, not heard from the probe itself"),
        ),
        "findings": (
            Column("id", Holds.WHOLE, "the number of the finding"),
            Column("kind", Holds.TEXT, "soon, deviation, not-shown, or system"),
            Column("subject", Holds.TEXT, "of what: the batch and its vessel, or the unit and its probe"),
            Column("clause", Holds.TEXT, "the clause of the limits in force"),
            Column("source", Holds.TEXT, "the document of the clause"),
            Column("verdict", Holds.TEXT, "met (kept), missed (deviation), unproven (not shown), open, or none"),
            _at("since", "since when the food is concerned"),
            _at("opened_at", "when it was found"),
            _at("closed_at", "when it was over; empty where it is not"),
            Column("reason", Holds.TEXT, "what was found, in words"),
            Column("close_reason", Holds.TEXT, "why it was closed, in words"),
            Column("replaced_by", Holds.WHOLE, "the finding that it became one with"),
            Column("version", Holds.WHOLE, "how often it was told anew, from 1; this is the last"),
        ),
        "events": (
            Column("id", Holds.WHOLE, "the number of the entry"),
            _at("at", "when it happened"),
            _at("recorded_at", "when it was written down"),
            Column("kind", Holds.TEXT, "what was done or declared"),
            Column("lot", Holds.TEXT, "the batch that it is about"),
            Column("unit", Holds.TEXT, "the unit that it is about"),
            Column("probe", Holds.TEXT, "the probe that it is about"),
            Column("vessel", Holds.WHOLE, "the vessel of the batch, from 1"),
            Column("celsius", Holds.NUMBER, "what was measured by hand", "°C"),
            Column("text", Holds.TEXT, "in the words of whoever recorded it"),
            Column("by", Holds.TEXT, _BY),
            Column("replaces", Holds.WHOLE, "the number of the entry that it corrects, which is kept"),
        ),
    }
)
"""The columns of each kind of row, in their order."""

CSV = (
    "UTF-8, RFC 4180: commas, lines end in CRLF, the first names the columns; an empty cell is nothing. A text that a "
    "spreadsheet would run (its first character after any apostrophes is = + - @, a tab, a carriage return or a line "
    "feed) has one more apostrophe before it: take one away to have the text. Numbers never have one."
)


def dictionary_of(what: str, form: str, span: Mapping[str, Any]) -> dict[str, Any]:
    """Return what is written beside an export, and into a Parquet file.

    Parameters
    ----------
    what : readings, findings or events.
    form : csv, jsonl or parquet.
    span : the ends of the span, both included, and the site's time zone, as they are to be told.
    """
    return {
        "holds": what,
        "form": form,
        **span,
        **({"csv": CSV} if form == "csv" else {}),
        "columns": [
            {"name": each.name, "type": each.holds.value, "unit": each.unit, "meaning": each.means}
            for each in COLUMNS[what]
        ],
    }
