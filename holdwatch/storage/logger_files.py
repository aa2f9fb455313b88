"""A logger's file as evidence: its readings are kept as late ones, marked with the file that they were read from.

Each row is taken or rejected with its reason. One that is rejected refuses the file, unless whoever brings it says that
such rows may be left out; then which and why is kept. The file is read before any transaction begins.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from sqlmodel import Session

from holdwatch.errors import ConfigError, RecordFileError, UnknownNameError
from holdwatch.language import N_, _, explained, many, thousands
from holdwatch.readings import Series
from holdwatch.recordfile import DateOrder, RejectedRow, find_timezone, is_slashed, read_record_file, row_words
from holdwatch.storage.engine import Store
from holdwatch.storage.events import events, record_event
from holdwatch.storage.ids import id_of
from holdwatch.storage.names import check_name
from holdwatch.storage.placing import close_placement, place, placements
from holdwatch.storage.site import add_probe, probe_named, site_at, unit_named
from holdwatch.storage.tables import EventKind, Probe, ReadingFlag, Unit
from holdwatch.storage.thinned import is_thinned
from holdwatch.storage.writing import NewReading, Written, write_readings

__all__ = [
    "MOST_BYTES",
    "MOST_ROWS",
    "Imported",
    "LoggerFile",
    "facts_of",
    "import_file",
    "keep_readings",
    "logger_named",
    "open_file",
    "refuse_known",
]

MOST_BYTES = 8 * 1024 * 1024
"""Ours: a reading every ten seconds for a fortnight is 120,000 lines, about 5 MB."""
MOST_ROWS = 200_000
_AT_ONCE = 5_000
_TOLD = 5
_KEPT_REASONS = 200


@dataclass(frozen=True, eq=False)
class LoggerFile:
    """What a file holds, read and checked."""

    name: str
    digest: str
    """SHA-256 of the file, in hex."""
    series: Series
    rejected: tuple[RejectedRow, ...]

    @property
    def first_ms(self) -> int:
        """The earliest reading."""
        return int(self.series.at_ms[0])

    @property
    def last_ms(self) -> int:
        """The latest reading."""
        return int(self.series.at_ms[-1])


@dataclass(frozen=True)
class Imported:
    """What came of a file."""

    file: LoggerFile
    written: Written


def open_file(
    store: Store,
    file: Path,
    *,
    dates: DateOrder | None,
    leave_out: bool,
    now_ms: int,
    zone_ms: int | None = None,
) -> LoggerFile:
    """Read a file and hold it against what a logger's file may be; nothing is kept.

    Parameters
    ----------
    file : CSV with ``time`` and ``temperature_c`` or ``temperature_f``; a time without an offset is by the site's clock.
    dates : how dates such as 03/04/2026 are meant.
    leave_out : whether rows that are no readings may be left out.
    zone_ms : the site's clock as of when; the present one if not given. [ms]

    Raises
    ------
    ConfigError
        If it cannot be used: too large, not a record, its dates can be read in two ways, a row that is no reading,
        readings that lie ahead, or days of which the readings were thinned.
    """
    content = _content(file)
    with store.read() as session:
        zone = find_timezone(site_at(session, zone_ms).timezone)
    try:
        found = read_record_file(file, zone, dates=dates)
    except RecordFileError as exc:
        _ask_for_order(file.name, content, dates)
        raise ConfigError(str(exc).replace(str(file), file.name)) from exc
    if found.rejected:
        _ask_for_order(file.name, content, dates)
        if not leave_out:
            raise ConfigError(_refused(file.name, found.rejected))
    made = LoggerFile(file.name, sha256(content).hexdigest(), found.series, found.rejected)
    if made.last_ms > now_ms:
        raise ConfigError(
            _("{file} has readings that lie ahead: set the clock of the logger, and correct the file").format(
                file=file.name
            )
        )
    with store.read() as session:
        if is_thinned(session, made.first_ms, made.last_ms, now_ms):
            raise ConfigError(
                _("{file} is of days whose readings were thinned: what was found of them stands").format(file=file.name)
            )
    return made


def import_file(
    store: Store,
    file: Path,
    *,
    logger: str,
    medium: str,
    unit: str | None = None,
    dates: DateOrder | None = None,
    leave_out: bool = False,
    now_ms: int,
    by: str,
) -> Imported:
    """Keep the readings of a logger that stood in a unit, or of a probe where it stood.

    Parameters
    ----------
    logger : what the logger is called; it is a probe of that name from then on.
    medium : what it measured: ``food``, ``air`` or ``product``.
    unit : where it stood, as long as its readings last; without it the probe is known, and stood where it is recorded.

    Raises
    ------
    ConfigError
        If the file cannot be used, was read before, or the logger is recorded as having stood elsewhere then.
    UnknownNameError
        If there is no such unit, or no such probe and no unit was named.
    """
    found = open_file(store, file, dates=dates, leave_out=leave_out, now_ms=now_ms)
    with store.write() as session:  # first: what refuses the file refuses it before anything is kept
        stood = None if unit is None else unit_named(session, unit)
        probe = probe_named(session, logger) if stood is None else logger_named(session, logger, medium, now_ms, by)
        refuse_known(session, found, probe_id=id_of(probe))
        if stood is not None:
            _place(session, probe, stood, found, now_ms=now_ms, by=by)
        probe_id, unit_id = id_of(probe), None if stood is None else id_of(stood)
    written = keep_readings(store, found, probe_id, now_ms)
    with store.write() as session:
        record_event(
            session,
            EventKind.READ_BACK,
            at_ms=now_ms,
            now_ms=now_ms,
            by=by,
            unit_id=unit_id,
            probe_id=probe_id,
            **facts_of(found, logger),
        )
    return Imported(found, written)


def logger_named(session: Session, logger: str, medium: str, now_ms: int, by: str) -> Probe:
    """Return a logger as a probe; one that was never heard of is added."""
    try:
        probe = probe_named(session, check_name(N_("name of the logger"), logger))
    except UnknownNameError:
        probe = add_probe(session, logger, medium=medium, now_ms=now_ms, by=by)
    if probe.medium != medium:
        raise ConfigError(
            _("{logger!r} measures {medium}, not {said}: say so, or give it another name").format(
                logger=logger, medium=_(probe.medium), said=_(medium)
            )
        )
    return probe


def refuse_known(
    session: Session, found: LoggerFile, *, batch_id: int | None = None, probe_id: int | None = None
) -> None:
    """Refuse a file that was read before for a batch or a probe."""
    for event in events(session, batch_id=batch_id, probe_id=probe_id, kinds=[EventKind.READ_BACK]):
        if event.facts.get("sha256") == found.digest:
            raise ConfigError(
                _("{found} was already read back, by {by}: its readings are kept").format(found=found.name, by=event.by)
            )


def keep_readings(store: Store, found: LoggerFile, probe_id: int, now_ms: int) -> Written:
    """Keep the readings of a file as late ones, in short transactions; each is marked as read from a file."""
    flags = int(ReadingFlag.FROM_FILE)
    pairs = zip(found.series.at_ms.tolist(), found.series.celsius.tolist(), strict=True)
    new = [NewReading(probe_id, at_ms, celsius, now_ms, flags) for at_ms, celsius in pairs]
    whole = Written()
    for start in range(0, len(new), _AT_ONCE):
        with store.write() as session:
            part = write_readings(session, new[start : start + _AT_ONCE], now_ms)
        whole.added += part.added
        whole.doubles += part.doubles
        whole.contested += part.contested
    return whole


def facts_of(found: LoggerFile, logger: str) -> dict[str, Any]:
    """Return words and facts of the entry that names a file."""
    facts: dict[str, Any] = {
        "file": found.name,
        "sha256": found.digest,
        "readings": len(found.series),
        "logger": logger,
        "first_ms": found.first_ms,
        "last_ms": found.last_ms,
    }
    if found.rejected:
        facts["left_out"] = len(found.rejected)
        facts["reasons"] = [[each.row, each.reason] for each in found.rejected[:_KEPT_REASONS]]
    said = [
        many("{count} reading of {file}", "{count} readings of {file}", len(found.series), file=found.name),
        many("{count} row left out", "{count} rows left out", len(found.rejected)) if found.rejected else "",
        f"SHA-256 {found.digest[:12]}",
    ]
    return {"text": explained(logger, ", ".join(filter(None, said))), "facts": facts}


def _place(session: Session, probe: Probe, unit: Unit, found: LoggerFile, *, now_ms: int, by: str) -> None:
    """Place a logger in a unit for as long as its readings last, unless it is recorded as having stood there."""
    there = [
        placed
        for placed in placements(session, probe_id=id_of(probe))
        if placed.from_ms <= found.last_ms and (placed.to_ms is None or placed.to_ms >= found.first_ms)
    ]
    if any(
        placed.unit_id == unit.id
        and placed.from_ms <= found.first_ms
        and (placed.to_ms is None or placed.to_ms >= found.last_ms)
        for placed in there
    ):
        return
    if there:
        raise ConfigError(
            _("{code} is recorded as having stood somewhere else in that time: name no unit").format(code=probe.code)
        )
    placed = place(session, probe, unit=unit, at_ms=found.first_ms, now_ms=now_ms, by=by)
    close_placement(session, placed, at_ms=found.last_ms, now_ms=now_ms, by=by)


def _content(file: Path) -> bytes:
    """Return a file's bytes, if it is none too large to be read."""
    try:
        if file.stat().st_size > MOST_BYTES:
            raise ConfigError(
                _("{file} is larger than {megabytes} MB: cut it to the time of the batch").format(
                    file=file.name, megabytes=MOST_BYTES // 1024**2
                )
            )
        content = file.read_bytes()
    except OSError as exc:
        raise ConfigError(_("{file} cannot be read: {strerror}").format(file=file, strerror=exc.strerror)) from exc
    if content.count(b"\n") > MOST_ROWS:
        raise ConfigError(
            _("{file} has more than {most_rows} rows: make several files of it").format(
                file=file.name, most_rows=thousands(MOST_ROWS)
            )
        )
    return content


def _ask_for_order(name: str, content: bytes, dates: DateOrder | None) -> None:
    """Ask how its dates are meant, where they can be read in two ways."""
    if dates is not None:
        return
    text = content.decode("utf-8", errors="replace")
    slashed = (cell.strip().strip('"') for line in text.splitlines()[1:] for cell in line.split(","))
    example = next((cell for cell in slashed if is_slashed(cell)), None)
    if example is not None:
        raise ConfigError(
            _("{name} has dates such as {example}: say whether the day or the month comes first").format(
                name=name, example=example
            )
        )


def _refused(name: str, rejected: Sequence[RejectedRow]) -> str:
    told = [row_words(each) for each in rejected[:_TOLD]]
    if len(rejected) > _TOLD:
        told.append(_("and {count} more").format(count=len(rejected) - _TOLD))
    return _("{name} is not kept: {told}. Correct the file, or say that such rows may be left out.").format(
        name=name, told="; ".join(told)
    )
