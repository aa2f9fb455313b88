"""Typing a written log sheet in afterwards: all of its rows or none, each marked as entered later and by whom."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session

from holdwatch.errors import ConfigError, HoldwatchError
from holdwatch.language import _
from holdwatch.storage.batching import batch_named, note, note_unit
from holdwatch.storage.site import unit_named
from holdwatch.storage.spoken import in_site_language
from holdwatch.storage.tables import EventKind

__all__ = ["SheetRow", "SheetRowError", "enter_sheet"]


@dataclass(frozen=True)
class SheetRow:
    """A line of a written sheet."""

    at_ms: int
    celsius: float
    lot: str = ""
    unit: str = ""
    """Either a batch or a unit."""
    vessel: int | None = None
    measured_by: str = ""
    """The initials on the sheet."""
    done: str = ""
    """What was done then, in words."""


class SheetRowError(ConfigError):
    """A row that cannot be recorded."""

    def __init__(self, number: int, why: str) -> None:
        super().__init__(why)
        self.number = number
        """Which of the rows, from 0 on."""


def enter_sheet(session: Session, rows: Sequence[SheetRow], *, by: str, now_ms: int) -> None:
    """Record the rows of a sheet as readings by hand, and what was done; in one transaction of the caller.

    Raises
    ------
    SheetRowError
        At the first row that cannot be recorded; the caller records none then.
    """
    for number, row in enumerate(rows):
        try:
            _enter(session, row, by, now_ms)
        except HoldwatchError as exc:
            raise SheetRowError(number, str(exc)) from exc


def _enter(session: Session, row: SheetRow, by: str, now_ms: int) -> None:
    with in_site_language(session):
        mark = _("entered later by {by} from a written log sheet").format(by=by)
        if row.measured_by:
            mark = _("measured by {name}").format(name=row.measured_by) + "; " + mark
    done = f"{row.done} ({mark})" if row.done else ""
    if row.unit:
        unit = unit_named(session, row.unit)
        note_unit(
            session,
            unit,
            EventKind.READING,
            at_ms=row.at_ms,
            now_ms=now_ms,
            by=by,
            celsius=row.celsius,
            text=mark,
        )
        if done:
            note_unit(session, unit, EventKind.ACTION, at_ms=row.at_ms, now_ms=now_ms, by=by, text=done)
        return
    batch = batch_named(session, row.lot)
    if row.at_ms < batch.started_ms:
        raise ConfigError(_("batch {lot!r} had not started then").format(lot=row.lot))
    if batch.ended_ms is not None and row.at_ms > batch.ended_ms:
        raise ConfigError(_("batch {lot!r} had ended by then").format(lot=row.lot))
    note(
        session,
        batch,
        EventKind.READING,
        at_ms=row.at_ms,
        now_ms=now_ms,
        by=by,
        vessel=row.vessel,
        celsius=row.celsius,
        text=mark,
    )
    if done:
        note(session, batch, EventKind.ACTION, at_ms=row.at_ms, now_ms=now_ms, by=by, vessel=row.vessel, text=done)
