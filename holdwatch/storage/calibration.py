"""Checks of probes at known temperatures: kept as they were read, with what was found and until when they hold."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from sqlmodel import Session, col, select

from holdwatch.calculators.calibration import Line, Method, Outcome, Point, error_of, line_through, outcome_of
from holdwatch.clock import MS_PER_DAY
from holdwatch.errors import ConfigError
from holdwatch.language import N_, _
from holdwatch.storage.arrivals import ArrivalKind, queue
from holdwatch.storage.corrections import corrections_of
from holdwatch.storage.events import events, record_event
from holdwatch.storage.ids import id_of
from holdwatch.storage.names import check_instant
from holdwatch.storage.placing import close_placement, placements
from holdwatch.storage.site import add_correction
from holdwatch.storage.spoken import in_site_language
from holdwatch.storage.tables import Event, EventKind, Probe

__all__ = ["EVERY_DAYS", "Check", "Done", "check_of", "checks_of", "due_checks", "last_good", "line_at", "record_check"]

EVERY_DAYS = 30
"""Until the next check, unless another figure is given: common practice, no source. Weekly to yearly are in use."""
_LONGEST_DAYS = 366


class Done(StrEnum):
    """What was done with a probe after a check."""

    NOTHING = ""
    CORRECTED = "corrected"
    ADJUSTED = "adjusted"
    OUT_OF_USE = "out-of-use"


@dataclass(frozen=True)
class Check:
    """One check of a probe."""

    id: int
    probe_id: int
    at_ms: int
    points: tuple[Point, ...]
    asked_c: float
    outcome: Outcome
    due_ms: int
    """When the next one is due. [ms]"""
    done: Done
    """What was done about it."""
    by: str
    text: str

    @property
    def error(self) -> Line:
        """What would have made the probe right."""
        return error_of(self.points)


def record_check(
    session: Session,
    probe: Probe,
    points: Sequence[Point],
    *,
    asked_c: float,
    done: Done = Done.NOTHING,
    every_days: int = EVERY_DAYS,
    text: str = "",
    at_ms: int,
    now_ms: int,
    by: str,
) -> Check:
    """Keep a check of a probe, and correct the probe from it on where that was asked.

    A probe that is held in ice or boiling water stands in no food any more: its placements end with the check.

    Parameters
    ----------
    points : what it showed, raw, and what was true.
    asked_c : how far off it may be. [°C]
    done : what was done about it; ``corrected`` adds the correction.
    every_days : until the next check.

    Raises
    ------
    ConfigError
        If a word or figure cannot be, or no correction follows from the points.
    """
    check_instant(session, N_("a check"), at_ms, now_ms)
    if not 1 <= every_days <= _LONGEST_DAYS:
        raise ConfigError(
            _("the next check in {days} days cannot be: give 1 to {longest}").format(
                days=every_days, longest=_LONGEST_DAYS
            )
        )
    outcome = outcome_of(points, asked_c, line_at(session, id_of(probe), at_ms))
    event = record_event(
        session,
        EventKind.CALIBRATED,
        at_ms=at_ms,
        now_ms=now_ms,
        by=by,
        probe_id=id_of(probe),
        text=text,
        facts={
            "points": [_facts(point) for point in points],
            "asked_c": asked_c,
            "outcome": outcome.value,
            "done": done.value,
            "every_days": every_days,
        },
    )
    if done is Done.CORRECTED:
        line = line_through(points)
        with in_site_language(session):
            why = _("checked: {text}").format(text=text) if text else _("checked at a known temperature")
        add_correction(
            session,
            probe,
            from_ms=at_ms,
            to_ms=None,
            offset_c=line.offset_c,
            slope=line.slope,
            by=by,
            why=why,
            now_ms=now_ms,
        )
    if any(point.method is not Method.REFERENCE for point in points):
        for placement in placements(session, probe_id=probe.id, open_only=True):
            if placement.from_ms < at_ms:
                close_placement(session, placement, at_ms=at_ms, now_ms=now_ms, by=by)
    queue(session, ArrivalKind.EVENT, first_ms=at_ms, last_ms=max(at_ms, now_ms), now_ms=now_ms, probe_id=probe.id)
    return check_of(event)


def check_of(event: Event) -> Check:
    """Return the check that an event is of."""
    facts: dict[str, Any] = event.facts
    return Check(
        id=id_of(event),
        probe_id=int(event.probe_id or 0),
        at_ms=event.at_ms,
        points=tuple(_point(each) for each in facts["points"]),
        asked_c=float(facts["asked_c"]),
        outcome=Outcome(facts["outcome"]),
        due_ms=event.at_ms + int(facts["every_days"]) * MS_PER_DAY,
        done=Done(facts["done"]),
        by=event.by,
        text=event.text,
    )


def checks_of(session: Session, probe_id: int | None = None) -> list[Check]:
    """Return the checks of a probe, or of all, in order of their instants."""
    return [check_of(event) for event in events(session, probe_id=probe_id, kinds={EventKind.CALIBRATED})]


def last_good(session: Session, probe_id: int, before_ms: int) -> Check | None:
    """Return the last check before an instant at which a probe was within what is asked, or was put right."""
    good = [
        check
        for check in checks_of(session, probe_id)
        if check.at_ms < before_ms
        and (check.outcome is Outcome.WITHIN or check.done in {Done.CORRECTED, Done.ADJUSTED})
    ]
    return good[-1] if good else None


def due_checks(session: Session, now_ms: int) -> list[tuple[Probe, int | None]]:
    """Return the placed probes whose check is due, and since when; ``None`` where one was never checked."""
    placed = {placement.probe_id for placement in placements(session, open_only=True)}
    latest = {check.probe_id: check for check in checks_of(session)}
    found: list[tuple[Probe, int | None]] = []
    for probe in session.exec(select(Probe).where(col(Probe.id).in_(placed)).order_by(col(Probe.code))):
        check = latest.get(id_of(probe))
        if check is None or check.due_ms <= now_ms:
            found.append((probe, None if check is None else check.due_ms))
    return found


def line_at(session: Session, probe_id: int, at_ms: int) -> Line:
    """Return the correction of a probe in force at an instant."""
    found = corrections_of(session, probe_id, at_ms, at_ms)
    return Line(found[-1].slope, found[-1].offset_c) if found else Line()


def _facts(point: Point) -> dict[str, Any]:
    return {
        "method": point.method.value,
        "true_c": point.true_c,
        "sure_c": point.sure_c,
        "shows_c": point.shows_c,
    }


def _point(facts: dict[str, Any]) -> Point:
    return Point(Method(facts["method"]), float(facts["true_c"]), float(facts["sure_c"]), float(facts["shows_c"]))
