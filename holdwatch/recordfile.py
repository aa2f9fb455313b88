"""A file of readings, read for judging: every row is either a reading or rejected with its reason."""

import csv
import io
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from pathlib import Path
from zoneinfo import ZoneInfo

from holdwatch.clock import to_ms
from holdwatch.errors import RecordFileError
from holdwatch.language import _
from holdwatch.quantities import Scale, celsius_of_f
from holdwatch.readings import Series
from holdwatch.sieve.sifting import COLDEST_C, NOT_A_TEMPERATURE, WARMEST_C

__all__ = [
    "DateOrder",
    "RecordFile",
    "RejectedRow",
    "find_timezone",
    "is_slashed",
    "parse_instant",
    "read_record_file",
    "row_words",
]

TIME = "time"
COLUMNS = {"temperature_c": Scale.C, "temperature_f": Scale.F}
ABSOLUTE_ZERO_C = -273.15
FIRST_YEAR, LAST_YEAR = 1900, 2999  # what a record can be of, with room for what falls due after it
SHOWN = 40  # characters of a bad value that a reason repeats

_TIME_OF_DAY = re.compile(r"[T ]\d{2}", re.IGNORECASE)
_SLASHED = re.compile(
    r"(\d{1,2})[/.-](\d{1,2})[/.-](\d{4})[ T]+(\d{1,2}):(\d{2})(:\d{2})?(?: ?([AP])\.?M\.?)?", re.IGNORECASE
)
_NUMBER = re.compile(r"[-+\u2212]?(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?")


class DateOrder(StrEnum):
    """How dates such as 03/04/2026 are meant; nobody but whoever set the logger can say."""

    DAY_FIRST = "day-first"
    MONTH_FIRST = "month-first"


@dataclass(frozen=True)
class RejectedRow:
    """A row that holds no reading, by its line in the file (the header is line 1)."""

    row: int
    reason: str


@dataclass(frozen=True, eq=False)
class RecordFile:
    """What a file of readings holds."""

    series: Series
    rejected: tuple[RejectedRow, ...]


def row_words(rejected: RejectedRow) -> str:
    """Say which row holds no reading, and why."""
    return _("line {row}: {reason}").format(row=rejected.row, reason=rejected.reason)


class _RowError(ValueError):
    """Raised when a row holds no reading; the message is the reason."""


def read_record_file(
    path: Path, timezone: ZoneInfo | None = None, *, by_hand: bool = False, dates: DateOrder | None = None
) -> RecordFile:
    """Read a CSV of readings: UTF-8, a header with ``time`` and ``temperature_c`` or ``temperature_f``.

    Parameters
    ----------
    path : the file.
    timezone : the zone of times without an offset; without it they are rejected.
    by_hand : whether somebody wrote the readings down: no sieve looks at them later, so what food cannot be
        is rejected here, as it is when a hand reading is noted.
    dates : how dates such as 03/04/2026 are meant; without it such a row is rejected.

    Raises
    ------
    RecordFileError
        If the file cannot be read, has not these columns, or has no row that can be used.
    """
    rows = _rows(path, _text(path))
    header = next(rows, None)
    if header is None:
        raise RecordFileError(
            _("{path}: the file is empty; it needs a header with time and temperature_c or temperature_f").format(
                path=path
            )
        )
    columns = _columns(path, header[1])
    pairs: list[tuple[int, float]] = []
    rejected: list[RejectedRow] = []
    for line, cells in rows:
        if not any(cell.strip() for cell in cells):
            continue
        try:
            pairs.append(_reading(cells, columns, timezone, by_hand=by_hand, dates=dates))
        except _RowError as problem:
            _refuse_other_header(path, line, cells, header[1])
            rejected.append(RejectedRow(line, str(problem)))
    if not pairs:
        first = f"; {row_words(rejected[0])}" if rejected else ""
        raise RecordFileError(
            _("{path}: no row can be used ({rejected} rejected{first})").format(
                path=path, rejected=len(rejected), first=first
            )
        )
    return RecordFile(Series.of(pairs), tuple(rejected))


def find_timezone(name: str) -> ZoneInfo:
    """Return a time zone by its name.

    Raises
    ------
    RecordFileError
        If there is no such zone.
    """
    try:
        return ZoneInfo(name)
    except (ValueError, OSError, LookupError) as exc:
        raise RecordFileError(
            _("no time zone called {name!r}: use a name such as America/Denver").format(name=name)
        ) from exc


def parse_instant(text: str, timezone: ZoneInfo | None = None) -> int:
    """Read an ISO 8601 time as an instant. [ms].

    Raises
    ------
    ValueError
        If it is no such time, or has no offset and no zone, or does not exist or is ambiguous there.
    """
    if _TIME_OF_DAY.search(text.strip()) is None:
        raise _RowError(_("not a time: {text}").format(text=_shown(text)))
    try:
        at = datetime.fromisoformat(text.strip())
    except ValueError as exc:
        raise _RowError(_("not a time: {text}").format(text=_shown(text))) from exc
    if not FIRST_YEAR <= at.year <= LAST_YEAR:
        raise _RowError(_("not a time of a record: {text}").format(text=_shown(text)))
    if at.tzinfo is None:
        at = _located(at, text, timezone)
    try:
        return to_ms(at)
    except OverflowError as exc:
        raise _RowError(_("not a time: {text}").format(text=_shown(text))) from exc


def is_slashed(text: str) -> bool:
    """Return whether a time has a date whose order of day and month has to be said."""
    return _SLASHED.fullmatch(text.strip()) is not None


def _in_order(text: str, dates: DateOrder | None) -> str:
    """Write a time with a date such as 03/04/2026 as ISO 8601, by the order that was said."""
    found = _SLASHED.fullmatch(text)
    if dates is None or found is None:
        return text
    first, second, year, hour, minute, seconds, half = found.groups()
    day, month = (first, second) if dates is DateOrder.DAY_FIRST else (second, first)
    hours = int(hour)
    if half:
        if not 1 <= hours <= 12:  # noqa: PLR2004  hours on a dial
            return text
        hours = hours % 12 + (12 if half.upper() == "P" else 0)
    return f"{year}-{int(month):02}-{int(day):02}T{hours:02}:{minute}{seconds or ''}"


def _located(at: datetime, text: str, timezone: ZoneInfo | None) -> datetime:
    """Give a time without an offset the zone's, where the zone has exactly one for it."""
    if timezone is None:
        raise _RowError(_("time {text} has no offset, and no --timezone was given").format(text=_shown(text)))
    earlier, later = at.replace(tzinfo=timezone, fold=0), at.replace(tzinfo=timezone, fold=1)
    try:
        if earlier.astimezone(UTC).astimezone(timezone).replace(tzinfo=None) != at:
            raise _RowError(
                _("time {text} does not exist in {zone}: the clocks were put forward").format(
                    text=_shown(text), zone=timezone.key
                )
            )
    except OverflowError as exc:
        raise _RowError(_("not a time: {text}").format(text=_shown(text))) from exc
    if earlier.utcoffset() != later.utcoffset():
        raise _RowError(
            _("time {text} is ambiguous in {zone}: the clocks were put back").format(
                text=_shown(text), zone=timezone.key
            )
        )
    return earlier


def _text(path: Path) -> str:
    try:
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as exc:
        raise RecordFileError(_("{path}: not UTF-8 text; save it as CSV in UTF-8").format(path=path)) from exc
    except OSError as exc:
        raise RecordFileError(_("{path}: cannot be read: {what}").format(path=path, what=exc.strerror or exc)) from exc


def _rows(path: Path, text: str) -> Iterator[tuple[int, list[str]]]:
    """Give each row with the line that it begins on."""
    # Strict: a quote that is opened and never closed would swallow the rows after it.
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    begins = 1
    try:
        for cells in reader:
            yield begins, cells
            begins = reader.line_num + 1
    except csv.Error as exc:
        raise RecordFileError(
            _(
                "{path}: the row that begins on line {begins} is not CSV ({exc}): look for a stray quotation mark"
            ).format(path=path, begins=begins, exc=exc)
        ) from exc


@dataclass(frozen=True)
class _Columns:
    """Where the time and the temperature stand, of how many columns."""

    time: int
    value: int
    scale: Scale
    count: int


def _columns(path: Path, header: list[str]) -> _Columns:
    names = [name.strip().casefold() for name in header]
    temperatures = [name for name in names if name in COLUMNS]
    if names.count(TIME) != 1 or len(temperatures) != 1:
        seen = ", ".join(name or "(empty)" for name in names[:8]) or "nothing"
        raise RecordFileError(
            _(
                "{path}: the header needs one column time and one of temperature_c or temperature_f; it has {seen}"
            ).format(path=path, seen=_shown(seen, 120))
        )
    return _Columns(names.index(TIME), names.index(temperatures[0]), COLUMNS[temperatures[0]], len(names))


def _reading(
    cells: list[str], columns: _Columns, timezone: ZoneInfo | None, *, by_hand: bool, dates: DateOrder | None
) -> tuple[int, float]:
    """Return the instant (ms) and °C of a row."""
    if len(cells) > columns.count and any(cell.strip() for cell in cells[columns.value + 1 :]):
        # A decimal comma splits a number in two: 41,5 would be read as 41.
        raise _RowError(
            _("{cells} cells under {columns} columns: write decimals with a point").format(
                cells=len(cells), columns=columns.count
            )
        )
    at_ms = parse_instant(_in_order(_cell(cells, columns.time, _("no time")), dates), timezone)
    celsius = _celsius(_cell(cells, columns.value, _("no temperature")), columns.scale)
    if by_hand and not COLDEST_C <= celsius <= WARMEST_C:
        raise _RowError(_(NOT_A_TEMPERATURE))
    return at_ms, celsius


def _refuse_other_header(path: Path, line: int, cells: list[str], header: list[str]) -> None:
    """Refuse a file in which another header begins: what follows may be in another unit."""
    names, first = ([name.strip().casefold() for name in row] for row in (cells, header))
    if TIME in names and names != first and any(name in COLUMNS for name in names):
        raise RecordFileError(
            _("{path}: line {line} is a second header, unlike the first: make two files of it").format(
                path=path, line=line
            )
        )


def _cell(cells: list[str], column: int, no_value: str) -> str:
    if column >= len(cells) or not cells[column].strip():
        raise _RowError(no_value)
    return cells[column].strip()


def _celsius(text: str, scale: Scale) -> float:
    if _NUMBER.fullmatch(text) is None:
        raise _RowError(_("not a number: {text}").format(text=_shown(text)))
    value = float(text.replace("\u2212", "-"))
    celsius = celsius_of_f(value) if scale is Scale.F else value
    if not math.isfinite(celsius) or celsius < ABSOLUTE_ZERO_C:
        raise _RowError(_("not a possible temperature: {text}").format(text=_shown(text)))
    return celsius


def _shown(text: str, length: int = SHOWN) -> str:
    return repr(text if len(text) <= length else text[:length] + "…")
