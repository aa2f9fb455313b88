"""A probe that was found wrong: the verdicts since its last good check that would be others with the error found.

When between the two checks the error began nobody knows. So a verdict that would change with the whole of it is not
shown by that probe any more, whichever of the two is true. Nothing that was recorded is changed: the finding names the
batches and days, and what is done about them is recorded there.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from sqlmodel import Session, col, select

from holdwatch.alerts.queue import queue_alerts
from holdwatch.calculators.calibration import Outcome
from holdwatch.charts.marks import mark_of
from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.language import _
from holdwatch.quantities import Scale, format_difference
from holdwatch.rules.verdicts import Judgement, Verdict
from holdwatch.rules.words import sentence
from holdwatch.storage.calibration import Check, check_of, last_good, line_at
from holdwatch.storage.corrections import supposing
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import finding_by_key, open_finding
from holdwatch.storage.parts import put_into
from holdwatch.storage.placing import placements
from holdwatch.storage.tables import Batch, Correction, Event, EventKind, FindingKind, Placement, Probe, Unit
from holdwatch.watch.batches import judge_batch_vessel
from holdwatch.watch.days import days_between
from holdwatch.watch.site import in_force, speaking_at
from holdwatch.watch.subjects import vessel_title, vessels_of
from holdwatch.watch.unitdays import day_named, judge_span, post_of

__all__ = ["Doubted", "LookBack", "look_back"]

SIGHT_MS = 12 * MS_PER_HOUR
EVERY_MS = MS_PER_MINUTE
MOST_NAMED = 8
"""So many are named in the sentence of a finding; its facts hold all."""


@dataclass(frozen=True)
class Doubted:
    """A verdict that would be another."""

    what: str
    """The vessel, or the unit and its local day."""
    batch_id: int | None
    unit_id: int | None
    clause: str
    stands: Verdict
    would: Verdict

    def says(self) -> str:
        """Return it in words."""
        return _("{what}, {clause}: {stands}, would be {other}").format(
            what=self.what, clause=self.clause, stands=mark_of(self.stands).said, other=mark_of(self.would).said
        )


@dataclass
class LookBack:
    """Looks for checks at which a probe was found wrong, and tells what they put in doubt."""

    store: Store
    base_url: str = ""
    largest_gap_ms: int | None = None
    next_ms: int | None = None
    """When to look again, on the monotonic clock. [ms]"""
    _seen: int = field(default=0)
    """The last check that was looked at."""

    def go_on(self, now_ms: int, monotonic_ms: int) -> int:
        """Look at the checks that are new; return how many findings were opened.

        Raises
        ------
        StorageError
            If the store cannot be used.
        """
        if self.next_ms is not None and monotonic_ms < self.next_ms:
            return 0
        opened = 0
        while (found := self._next(now_ms)) is not None:
            check, doubted = found
            with self.store.write() as session, speaking_at(session, now_ms):
                opened += _tell(session, check, doubted, now_ms, self.base_url)
            self._seen = check.id
        self.next_ms = monotonic_ms + EVERY_MS
        return opened

    def _next(self, now_ms: int) -> tuple[Check, list[Doubted]] | None:
        """Return the next check at which a probe was found wrong, with what it puts in doubt."""
        with self.store.read() as session, speaking_at(session, now_ms):
            query = select(Event).where(Event.kind == EventKind.CALIBRATED, col(Event.id) > self._seen)
            for event in session.exec(query.order_by(col(Event.id))).all():
                check = check_of(event)
                if check.outcome is Outcome.BEYOND and finding_by_key(session, _key(check)) is None:
                    return check, look_back(session, check, now_ms, self.largest_gap_ms)
                self._seen = check.id
        return None


def look_back(session: Session, check: Check, now_ms: int, largest_gap_ms: int | None = None) -> list[Doubted]:
    """Return the verdicts since the last good check of a probe that would be others with the error that was found.

    Parameters
    ----------
    check : the check at which the probe was found wrong.
    now_ms : as of when to judge. [ms]
    largest_gap_ms : the plan's watching interval, if it has one of its own. [ms]
    """
    good = last_good(session, check.probe_id, check.at_ms)
    since_ms = 0 if good is None else good.at_ms
    supposed = Correction(
        probe_id=check.probe_id,
        from_ms=since_ms,
        to_ms=check.at_ms,
        offset_c=check.error.offset_c,
        slope=check.error.slope,
        by=check.by,
        why="supposed",
        recorded_ms=now_ms,
    )
    found: list[Doubted] = []
    for placement in placements(session, probe_id=check.probe_id):
        if placement.from_ms < check.at_ms and (placement.to_ms is None or placement.to_ms > since_ms):
            found += _of(session, placement, supposed, now_ms, largest_gap_ms)
    return list(dict.fromkeys(found))


def _of(
    session: Session, placement: Placement, supposed: Correction, now_ms: int, largest_gap_ms: int | None
) -> Iterator[Doubted]:
    """Give the verdicts of a placement that would be others."""
    if placement.batch_id is not None:
        for batch, number in _shown_by(session, placement.batch_id, placement.vessel):

            def vessel(batch: Batch = batch, number: int = number) -> list[Judgement]:
                answer = judge_batch_vessel(session, batch, number, now_ms, largest_gap_ms=largest_gap_ms)
                return list(dict.fromkeys(clause.judgement for clause in answer.clauses))

            yield from _changed(session, supposed, vessel, vessel_title(batch, number), batch.id, None)
    elif placement.unit_id is not None:
        unit, probe = session.get_one(Unit, placement.unit_id), session.get_one(Probe, placement.probe_id)
        post = post_of(session, unit, probe, now_ms, largest_gap_ms)
        if post is None:
            return
        first_ms = max(placement.from_ms, supposed.from_ms)
        last_ms = min(placement.to_ms or now_ms, supposed.to_ms or now_ms, now_ms)
        for name in days_between(first_ms, last_ms, in_force(session, last_ms).timezone):
            day = day_named(session, name)

            def one_day(day: Any = day) -> list[Judgement]:
                judged = judge_span(session, post, day, day, day.first_ms - SIGHT_MS)
                return [] if judged is None else [judged]

            yield from _changed(
                session, supposed, one_day, _("{unit} on {day}").format(unit=unit.name, day=name), None, unit.id
            )


def _shown_by(session: Session, batch_id: int, vessel: int) -> Iterator[tuple[Batch, int]]:
    """Give a vessel, and every one of the batches that some of its batch went into: its readings are their past."""
    yield session.get_one(Batch, batch_id), vessel
    for number in put_into(session, batch_id):
        batch = session.get_one(Batch, number)
        yield from ((batch, each) for each in vessels_of(session, batch))


def _changed(
    session: Session, supposed: Correction, judge: Any, what: str, batch_id: int | None, unit_id: int | None
) -> Iterator[Doubted]:
    stands = _verdicts(judge())
    with supposing(session, supposed):
        would = _verdicts(judge())
    for key, verdict in stands.items():
        if would.get(key, Verdict.UNPROVEN) is not verdict:
            yield Doubted(what, batch_id, unit_id, key[2], verdict, would.get(key, Verdict.UNPROVEN))


def _verdicts(judgements: list[Judgement]) -> dict[tuple[str, str, str], Verdict]:
    return {
        (judgement.process.value, judgement.occasion, clause.clause): clause.verdict
        for judgement in judgements
        for clause in judgement.clauses
    }


# ---------------------------------------------------------------- telling


def _key(check: Check) -> str:
    return f"check:{check.id}"


def _tell(session: Session, check: Check, doubted: list[Doubted], now_ms: int, base_url: str) -> int:
    """Open the finding of a check, unless it stands already."""
    if finding_by_key(session, _key(check)) is not None:
        return 0
    probe = session.get_one(Probe, check.probe_id)
    good = last_good(session, check.probe_id, check.at_ms)
    finding = open_finding(
        session,
        key=_key(check),
        kind=FindingKind.NOT_SHOWN,
        subject=_key(check),
        title=_("Probe {probe} was found wrong").format(probe=probe.code),
        reason=_sentence(session, check, doubted, good),
        verdict=Verdict.UNPROVEN.value,
        since_ms=check.at_ms if good is None else good.at_ms,
        now_ms=now_ms,
        probe_id=check.probe_id,
        batch_id=next((each.batch_id for each in doubted if each.batch_id is not None), None),
        facts={"doubted": [_facts(each) for each in doubted], "check": check.id},
    )
    queue_alerts(session, finding, None, now_ms, base_url)
    return 1


def _sentence(session: Session, check: Check, doubted: list[Doubted], good: Check | None) -> str:
    scale = Scale(in_force(session, check.at_ms).site.unit)
    line = line_at(session, check.probe_id, check.at_ms - 1)
    worst = max(check.points, key=lambda point: abs(line.of(point.shows_c) - point.true_c))
    off = line.of(worst.shows_c) - worst.true_c
    said = (_("It read {degrees} too high") if off > 0 else _("It read {degrees} too low")).format(
        degrees=format_difference(abs(off), scale, 1)
    )
    since = _("it was never checked before") if good is None else _("since its last good check")
    if not doubted:
        return _("{error}; {since}, no verdict would be another with that error.").format(error=said, since=since)
    named, left = [each.says() for each in doubted[:MOST_NAMED]], len(doubted) - MOST_NAMED
    if left > 0:
        named.append(_("and {count} more").format(count=left))
    return _("{error}. {since}, with that error: {verdicts}.").format(
        error=said, since=sentence(since), verdicts="; ".join(named)
    )


def _facts(each: Doubted) -> dict[str, Any]:
    return {
        "what": each.what,
        "batch_id": each.batch_id,
        "unit_id": each.unit_id,
        "clause": each.clause,
        "stands": each.stands.value,
        "would": each.would.value,
    }
