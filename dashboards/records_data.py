"""What the Records page asks, and what it records; like `data`, for one page."""

from collections.abc import Callable
from datetime import date
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from dashboards import data
from holdwatch.calculators.calibration import Point, asked_c
from holdwatch.language import _
from holdwatch.people.roles import Right
from holdwatch.quantities import Scale
from holdwatch.readings import Medium
from holdwatch.records.blank_sheet import blank_pdf
from holdwatch.records.choice import Choice
from holdwatch.records.export import Format, beside, how_many, rows_of, write
from holdwatch.records.kinds import KINDS
from holdwatch.records.log import print_batches, print_log
from holdwatch.records.span import Span
from holdwatch.records.verify import Verified, verify
from holdwatch.storage import batching
from holdwatch.storage.calibration import Check, Done, checks_of, due_checks, record_check
from holdwatch.storage.chain import head
from holdwatch.storage.day_reviews import review_days
from holdwatch.storage.log_sheet import SheetRow, SheetRowError, enter_sheet
from holdwatch.storage.register import batch_named, batches, probe_named, probes, unit_named, units
from holdwatch.views.daily import day_bounds, local_date
from holdwatch.views.days_reviewed import DaysView, days_view, unreviewed_days
from holdwatch.views.recall import RecallRow, containing, recall_rows, stood_in
from holdwatch.views.site import site_view

__all__ = [
    "RecallRow",
    "blank",
    "chain_head",
    "check",
    "checks",
    "days",
    "due",
    "entered",
    "handed_over",
    "hold_against",
    "lots",
    "printed",
    "probe_codes",
    "recalled_lot",
    "recalled_unit",
    "reviewed",
    "rows_there",
    "sheet_subjects",
    "today",
    "unit_names",
    "waiting_days",
]


def today() -> date:
    """Return the site's local day."""
    return local_date(data.now_ms(), data.site().zone)


def recalled_lot(lot: str) -> list[RecallRow]:
    """Return everything that contains a lot."""
    with data.store().read() as session:
        return recall_rows(session, containing(session, batch_named(session, lot)))


def recalled_unit(name: str, first_ms: int, last_ms: int) -> list[RecallRow]:
    """Return everything that stood in a unit between two instants, or may have. [ms]."""
    with data.store().read() as session:
        return recall_rows(session, stood_in(session, unit_named(session, name), first_ms, last_ms))


# ---------------------------------------------------------------- printing


def unit_names() -> list[str]:
    """Return the names of the units."""
    with data.store().read() as session:
        return [unit.name for unit in units(session)]


def lots() -> list[str]:
    """Return the lots of all batches, the latest first."""
    with data.store().read() as session:
        return batching.lots(session)


@data.told
def printed(
    kind: str,
    days: tuple[date, date] | None,
    chosen_units: tuple[str, ...],
    chosen_lots: tuple[str, ...],
    *,
    paper: str,
    scale: Scale,
    printed_by: str,
    tell: Callable[[str], None],
) -> bytes:
    """Return a paper of the record as a PDF: of some local days, or of batches alone."""
    zone, now = data.site().zone, data.now_ms()
    with TemporaryDirectory() as name:
        out = Path(name) / "paper.pdf"
        if days is None:
            print_batches(
                data.store(), chosen_lots, out, paper=paper, scale=scale, by=printed_by, now_ms=now, told=tell
            )
        else:
            print_log(
                data.store(),
                day_bounds(days[0], zone)[0],
                day_bounds(days[1], zone)[1],
                out,
                kind=KINDS[kind],
                choice=Choice(chosen_units, chosen_lots),
                paper=paper,
                scale=scale,
                by=printed_by,
                now_ms=now,
                told=tell,
            )
        return out.read_bytes()


@data.told
def blank(paper: str, pages: int) -> bytes:
    """Return a blank log sheet as a PDF."""
    return blank_pdf(data.store(), pages=pages, paper=paper, by="", now_ms=data.now_ms())


# ---------------------------------------------------------------- handing over


def rows_there(what: str, days: tuple[date, date], probe: str) -> int:
    """Return about how many rows of some local days there are."""
    with data.store().read() as session:
        return how_many(session, what, _span(days), probe_named(session, probe) if probe else None)


@data.told
def handed_over(what: str, days: tuple[date, date], form: str, probe: str) -> tuple[bytes, dict[str, Any]]:
    """Return the rows of some local days as a file, and its data dictionary."""
    span, buffer = _span(days), BytesIO()
    about = beside(data.store(), what, Format(form), span)
    write(rows_of(data.store(), what, span, probe or None), what, Format(form), about, buffer)
    return buffer.getvalue(), about


def _span(days: tuple[date, date]) -> Span:
    zone = data.site().zone
    return Span(day_bounds(days[0], zone)[0], day_bounds(days[1], zone)[1])


# ---------------------------------------------------------------- a written sheet


def sheet_subjects(day: date) -> dict[str, tuple[str, str]]:
    """Return what could be measured on a local day, by how it is said: the unit's name, or the batch's lot."""
    first_ms, last_ms = day_bounds(day, data.site().zone)
    with data.store().read() as session:
        ran = [
            batch
            for batch in batches(session)
            if batch.started_ms <= last_ms and (batch.ended_ms is None or batch.ended_ms >= first_ms)
        ]
        return {
            **{f"{batch.lot} · {batch.product}": ("", batch.lot) for batch in ran},
            **{_("{unit} (unit)").format(unit=unit.name): (unit.name, "") for unit in units(session)},
        }


@data.told
def entered(rows: list[SheetRow], *, by: str) -> SheetRowError | bool:
    """Record the rows of a written sheet, all of them or none; return what is wrong with a row."""
    try:
        with data.store().write() as session:
            enter_sheet(session, rows, by=by, now_ms=data.now_ms())
    except SheetRowError as exc:
        return exc
    return True


# ---------------------------------------------------------------- going over days


def days(first: date, last: date) -> DaysView:
    """Return some local days as they are to be gone over."""
    with data.store().read() as session:
        return days_view(session, first, last, data.now_ms())


def waiting_days() -> list[str]:
    """Return the days that are over and that nobody has gone over."""
    with data.store().read() as session:
        return unreviewed_days(session, data.now_ms())


@data.told
def reviewed(first: date, last: date, *, by: str, pin: str, text: str) -> bool:
    """Record that somebody has gone over some days, signed with their PIN where people have been entered."""
    manager, now = data.signed_by(by, pin, Right.VERIFY), data.now_ms()
    with data.store().write() as session:
        review_days(
            session,
            first.isoformat(),
            last.isoformat(),
            ended_before=local_date(now, site_view(session).zone).isoformat(),
            by=by if manager is None else manager.name,
            manager=manager,
            text=text,
            now_ms=now,
        )
    return True


# ---------------------------------------------------------------- whether it is whole


def chain_head() -> tuple[int, str]:
    """Return how many lines the chain has, and the digest of the last."""
    with data.store().read() as session:
        return head(session)


@data.told
def hold_against(digest: str, tell: Callable[[str], None]) -> Verified:
    """Hold the record against its chain and seals, and against a digest from a paper if one is given."""
    given = digest.replace(" ", "").strip()
    return verify(data.store(), [given] if given else [], tell)


# ---------------------------------------------------------------- checks of probes


def probe_codes() -> list[str]:
    """Return the codes of the probes."""
    with data.store().read() as session:
        return [probe.code for probe in probes(session)]


def checks() -> list[tuple[str, Check]]:
    """Return every check with its probe's code, the newest first."""
    with data.store().read() as session:
        codes = {probe.id: probe.code for probe in probes(session)}
        return [(codes[each.probe_id], each) for each in reversed(checks_of(session))]


def due() -> list[tuple[str, int | None]]:
    """Return the placed probes whose check is due, and since when; ``None`` where one was never checked."""
    with data.store().read() as session:
        return [(probe.code, since) for probe, since in due_checks(session, data.now_ms())]


@data.told
def check(code: str, points: list[Point], *, done: Done, text: str, by: str, pin: str) -> Check:
    """Record a check of a probe, at this instant."""
    signer, now = data.signed_by(by, pin, Right.CORRECT), data.now_ms()
    with data.store().write() as session:
        probe, site = probe_named(session, code), site_view(session)
        return record_check(
            session,
            probe,
            points,
            asked_c=asked_c(Medium(probe.medium), Scale(site.scale)),
            done=done,
            text=text,
            at_ms=now,
            now_ms=now,
            by=by if signer is None else signer.name,
        )
