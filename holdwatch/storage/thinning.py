"""Thinning: most readings of an old, sealed day are taken away, and what every paper rests on stays.

What stays of five minutes is their first and last judged reading, the coldest and the warmest; all of them where a level
that was asked lies between these or near them; all while the probe was in a batch, and around a finding; all that were
never judged or came second. So no extreme, no crossing and no gap is lost. The roll-ups stay as they are. What was found
of such a day is the watch's last word on it: it is not judged again (`thinned.is_thinned`), and its digest is kept here, as the
readings that would give it again are gone.

Each day of a probe is one row of the record, so a line of the chain: how many were taken, the roots of the seals over
what was there, and the root over what is left. `holdwatch verify` tells such a day from one that lost readings.
"""

import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import text
from sqlmodel import Session, and_, col, or_, select

from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR, to_datetime
from holdwatch.errors import ConfigError, RefusedError
from holdwatch.language import _, written_day
from holdwatch.people.roles import PersonRole, Right, may
from holdwatch.storage.chain_tables import LateReading, Seal, ThinnedDay
from holdwatch.storage.corrections import corrected, corrections_of, edges_of
from holdwatch.storage.engine import Store
from holdwatch.storage.events import record_event
from holdwatch.storage.handling import Signer
from holdwatch.storage.ids import id_of
from holdwatch.storage.keeping import KEPT, Kind, keeping_of, period_words
from holdwatch.storage.placing import placements
from holdwatch.storage.rollups import SHORT_MS
from holdwatch.storage.sealing import (
    SECOND_VALUE,
    day_of,
    first_ms_of,
    readings_between,
    seals_of,
    split,
)
from holdwatch.storage.signing import sign
from holdwatch.storage.site import site_at
from holdwatch.storage.spoken import in_site_language
from holdwatch.storage.tables import ClauseState, Event, EventKind, Finding, Placement, ReadingFlag
from holdwatch.trust.lines import canonical, digest_of
from holdwatch.trust.merkle import root_of

__all__ = [
    "Thinner",
    "Thinning",
    "digest_of_verdicts",
    "thin",
    "thin_day",
    "thinner",
    "thinning_of",
    "what_stays",
]

AROUND_MS = MS_PER_HOUR
"""Ours: so long before and after a finding, or a probe's time in a batch, every reading stays."""
GIVE_WAY_S = 0.02
"""Ours: between two days the store is left to the listener and the watch for so long."""
NEAR_C = 0.6
"""Ours: five minutes that came so near to a level stay whole, so that no rounding of a printed limit matters. [°C]"""


@dataclass(frozen=True)
class Thinning:
    """What thinning a day of a probe would take, or why it is passed over."""

    probe_id: int
    day: str
    there: int = 0
    taken: int = 0
    why_not: str = ""


@dataclass(frozen=True)
class Thinner:
    """By which rule days are thinned, and whose word it is."""

    keep_days: int
    now_ms: int
    by: str = ""

    @property
    def before(self) -> str:
        """The first UTC day that is kept as it is."""
        return day_of(self.now_ms - self.keep_days * MS_PER_DAY)


def thinner(session: Session, now_ms: int, by: str = "") -> Thinner:
    """Return the rule of this kitchen.

    Raises
    ------
    ConfigError
        If readings are kept for good.
    """
    days = keeping_of(session, Kind.READINGS).days
    if days is None:
        raise ConfigError(_("readings are kept for good here: nothing is thinned (holdwatch keep set readings 3y …)"))
    floor = KEPT[Kind.READINGS].floor_days or 0
    return Thinner(max(days, floor), now_ms, by)


def thinning_of(store: Store, rule: Thinner) -> Iterator[Thinning]:
    """Tell, day by day, what thinning by a rule would take; nothing is changed."""
    with store.read() as session:
        sealed = _sealed_days(session, rule)
    for probe_id, day in sealed:
        with store.read() as session:
            found = _looked_at(session, probe_id, day, rule)[0]
        yield found


def thin(
    store: Store, signer: Signer, now_ms: int, give_way: Callable[[float], object] = time.sleep
) -> Iterator[Thinning]:
    """Thin every day that may be, each in a transaction of its own, and record whose word it was.

    Parameters
    ----------
    give_way : how to leave the store to others for some seconds.

    Raises
    ------
    ConfigError
        If it is not signed with a manager's PIN, or readings are kept for good.
    RefusedError
        If whoever signs is no manager.
    """
    if signer.person is None or not signer.signed:
        raise ConfigError(_("readings are taken away by a manager's word, signed with the PIN: --by NAME --sign"))
    if not may(PersonRole(signer.person.role), Right.SET_UP):
        raise RefusedError(
            _("{signer} is {role}: a manager has readings thinned").format(
                signer=signer.person.name, role=signer.person.role
            ),
            who=signer.person.name,
            what="thinning",
        )
    with store.write() as session:
        rule = thinner(session, now_ms, signer.by)
        with in_site_language(session):
            said = _("of sealed days before {day}, readings kept for {period}").format(
                day=rule.before, period=period_words(rule.keep_days)
            )
        event = record_event(
            session,
            EventKind.THINNED,
            at_ms=now_ms,
            now_ms=now_ms,
            by=signer.by,
            text=said,
            facts={"before": rule.before, "keep_days": rule.keep_days, "meaning": "thinned"},
        )
        sign(session, [id_of(event)], signer.person, now_ms=now_ms)
    for found in thinning_of(store, rule):
        if found.why_not or not found.taken:
            yield found
            continue
        try:
            with store.write() as session:
                done = thin_day(session, found.probe_id, found.day, rule)
        except ConfigError as exc:  # something was recorded about it in this moment
            done = replace(found, taken=0, why_not=str(exc))
        yield done
        give_way(GIVE_WAY_S)


def thin_day(session: Session, probe_id: int, day: str, rule: Thinner) -> Thinning:
    """Take away what does not stay of a day, in the caller's transaction, and record it.

    Raises
    ------
    ConfigError
        If the day is too young, was not sealed, is not as it was sealed, or something found on it is still open.
    """
    found, gone, left = _looked_at(session, probe_id, day, rule)
    if found.why_not:
        raise ConfigError(
            _("the readings of {day} are not thinned: {why_not}").format(day=written_day(day), why_not=found.why_not)
        )
    if not found.taken:
        return found
    seals = seals_of(session, probe_id, day)
    _take_away(session, probe_id, gone)
    session.add(
        ThinnedDay(
            probe_id=probe_id,
            day=day,
            part=max(seal.part for seal in seals),
            roots=[seal.root for seal in seals],
            taken=found.taken,
            left_count=len(left),
            left_root=root_of(left),
            verdicts=digest_of_verdicts(session, probe_id, day),
            keep_days=rule.keep_days,
            by=rule.by,
            thinned_ms=rule.now_ms,
        )
    )
    session.flush()
    return found


def digest_of_verdicts(session: Session, probe_id: int, day: str) -> str:
    """Return the digest of what was found of a probe in units, on the local days that a UTC day touches."""
    rows = [
        [row.subject, row.clause, row.day, row.verdict, row.limits, row.facts]
        for row in _verdicts(session, day, [(unit_id, probe_id) for unit_id in _units_of(session, probe_id)])
    ]
    return digest_of(canonical(sorted(rows, key=lambda row: (row[0], row[1], row[2]))))


def _verdicts(session: Session, day: str, posts: Iterable[tuple[int, int]]) -> list[ClauseState]:
    """Return what was found at posts, each a unit and a probe, on the local days that a UTC day touches."""
    first_ms = first_ms_of(day)
    zone = ZoneInfo(site_at(session, first_ms).timezone)
    ends = (to_datetime(at_ms).astimezone(zone) for at_ms in (first_ms, first_ms + MS_PER_DAY - 1))
    query = select(ClauseState).where(
        col(ClauseState.subject).in_([f"unit:{unit_id}:{probe_id}" for unit_id, probe_id in posts]),
        col(ClauseState.day).in_({at.date().isoformat() for at in ends}),
    )
    return list(session.exec(query))


def _units_of(session: Session, probe_id: int) -> list[int]:
    """Return the units that a probe ever stood in."""
    return sorted({p.unit_id for p in placements(session, probe_id=probe_id) if p.unit_id is not None})


# ---------------------------------------------------------------- which days, and what of them


def what_stays(
    readings: NDArray[np.void],
    celsius: NDArray[np.float64],
    levels_c: Sequence[float],
    whole: Iterable[tuple[int, int]],
) -> NDArray[np.bool_]:
    """Tell which readings of a day stay.

    Parameters
    ----------
    readings : array of `trust.merkle.PACKED`, first values in order of time, then second ones; shape (n,).
    celsius : what was measured, corrected; shape (n,). [°C]
    levels_c : levels that were asked. [°C]
    whole : spans, both ends included, of which every reading stays. [ms]
    """
    at_ms: NDArray[np.int64] = readings["at_ms"]
    flags: NDArray[np.int16] = readings["flags"]
    second = (flags & SECOND_VALUE) != 0
    stays: NDArray[np.bool_] = second | ((flags & int(ReadingFlag.NOT_JUDGED)) != 0) | np.isin(at_ms, at_ms[second])
    for first_ms, last_ms in whole:
        stays |= (at_ms >= first_ms) & (at_ms <= last_ms)
    judged = np.flatnonzero(~stays)
    if not len(judged):
        return stays
    # The judged ones that are left stand in order of time: by five minutes, their ends, extremes, and those near a level.
    buckets, values = at_ms[judged] // SHORT_MS, celsius[judged]
    starts = np.flatnonzero(np.diff(buckets, prepend=buckets[0] - 1))
    lows, highs = np.minimum.reduceat(values, starts), np.maximum.reduceat(values, starts)
    which = np.repeat(np.arange(len(starts)), np.diff(starts, append=len(judged)))
    near = np.zeros(len(starts), dtype=bool)
    for level_c in levels_c:
        near |= (lows - NEAR_C <= level_c) & (level_c <= highs + NEAR_C)
    stays[judged[near[which]]] = True
    stays[judged[starts]] = stays[judged[np.append(starts[1:], len(judged)) - 1]] = True
    for extreme in (lows, highs):
        there = np.flatnonzero(values == extreme[which])
        stays[judged[there[np.unique(which[there], return_index=True)[1]]]] = True  # the first of equal ones
    return stays


def _looked_at(
    session: Session, probe_id: int, day: str, rule: Thinner
) -> tuple[Thinning, NDArray[np.int64], NDArray[np.void]]:
    """Return what would be taken of a day: the answer, the instants that go, and the readings that are left."""
    first_ms = first_ms_of(day)
    span = first_ms, first_ms + MS_PER_DAY - 1
    kept, second = readings_between(session, probe_id, first_ms, first_ms + MS_PER_DAY)
    readings = np.concatenate([kept, second])
    why_not = _why_not(session, probe_id, day, readings, rule)
    if why_not:
        return Thinning(probe_id, day, len(readings), 0, why_not), np.empty(0, np.int64), readings
    corrections = corrections_of(session, probe_id, *span)
    celsius = np.concatenate([corrected(corrections, part["at_ms"], part["celsius"]) for part in (kept, second)])
    stays = what_stays(readings, celsius, _levels(session, probe_id, day), _whole(session, probe_id, span))
    gone = np.ascontiguousarray(readings["at_ms"][~stays])
    return Thinning(probe_id, day, len(readings), len(gone)), gone, readings[stays]


def _why_not(session: Session, probe_id: int, day: str, readings: NDArray[np.void], rule: Thinner) -> str:
    """Return why a day is not thinned, empty where it may be."""
    first_ms = first_ms_of(day)
    if day >= rule.before:
        until = date.fromisoformat(day) + timedelta(days=rule.keep_days + 1)
        return _("they are kept until {day}").format(day=written_day(until))
    query = select(ThinnedDay.id).where(ThinnedDay.probe_id == probe_id, ThinnedDay.day == day)
    seals = seals_of(session, probe_id, day)
    if not seals or session.exec(query).first() is not None:
        return _("they were thinned before") if seals else _("the day is not sealed")
    waits = select(LateReading.at_ms).where(
        LateReading.probe_id == probe_id, LateReading.at_ms >= first_ms, LateReading.at_ms < first_ms + MS_PER_DAY
    )
    if session.exec(waits.limit(1)).first() is not None:
        return _("late readings of the day wait for their seal")
    pairs = split(readings, seals, ())
    if sum(len(own) for _seal, own in pairs) != len(readings) or any(
        len(own) != seal.count or root_of(own) != seal.root for seal, own in pairs
    ):
        return _("they are not as they were sealed: holdwatch verify says more")
    found = _findings(session, probe_id, first_ms + MS_PER_DAY - 1)
    still = next((finding.id for finding in found if finding.closed_ms is None), None)
    if still is None:
        return ""
    return _("finding {number}, which began before the day was over, is still open").format(number=still)


def _sealed_days(session: Session, rule: Thinner) -> list[tuple[int, str]]:
    """Return the sealed days that are old enough and were not thinned, by probe."""
    query = select(Seal.probe_id, Seal.day).where(Seal.day < rule.before).distinct()
    done = set(session.exec(select(ThinnedDay.probe_id, ThinnedDay.day)))
    return [each for each in sorted(session.exec(query)) if each not in done]


def _levels(session: Session, probe_id: int, day: str) -> list[float]:
    """Return the levels that were asked in the units of a probe: its air tells of the food of others there."""
    posts = [
        (unit_id, placed.probe_id)
        for unit_id in _units_of(session, probe_id)
        for placed in placements(session, unit_id=unit_id)
    ]
    asked = [row.facts.get("level_c") for row in _verdicts(session, day, set(posts))]
    return sorted({float(level_c) for level_c in asked if level_c is not None})


def _whole(session: Session, probe_id: int, span: tuple[int, int]) -> list[tuple[int, int]]:
    """Return the spans of a day of which every reading stays."""
    placed = placements(session, probe_id=probe_id)
    found = [
        (p.from_ms - AROUND_MS, (span[1] if p.to_ms is None else p.to_ms) + AROUND_MS)
        for p in placed
        if p.batch_id is not None
    ]
    found += [
        (finding.since_ms - AROUND_MS, (finding.closed_ms or span[1]) + AROUND_MS)
        for finding in _findings(session, probe_id, span[1] + AROUND_MS)
    ]
    edges = [at for p in placed for at in (p.from_ms, p.to_ms) if at is not None]
    edges += edges_of(corrections_of(session, probe_id, *span))  # roll-ups cannot answer for what lies across an edge
    found += [(at - SHORT_MS, at + SHORT_MS) for at in edges]
    return [(first, last) for first, last in found if first <= span[1] and last >= span[0]]


def _findings(session: Session, probe_id: int, until_ms: int) -> list[Finding]:
    """Return what was found until an instant of a probe, of the units it stood in, or of a batch that was in them."""
    units = _units_of(session, probe_id)
    stood = select(Event.batch_id).where(col(Event.unit_id).in_(units), col(Event.batch_id).is_not(None))
    placed = select(Placement.batch_id).where(Placement.probe_id == probe_id, col(Placement.batch_id).is_not(None))
    about = or_(
        Finding.probe_id == probe_id,
        and_(col(Finding.probe_id).is_(None), col(Finding.unit_id).in_(units)),
        col(Finding.batch_id).in_(stood),
        col(Finding.batch_id).in_(placed),
    )
    return list(session.exec(select(Finding).where(about, Finding.since_ms <= until_ms)))


def _take_away(session: Session, probe_id: int, gone: NDArray[np.int64]) -> None:
    connection = session.connection()
    named: dict[str, Any] = {"probe": probe_id}
    if connection.dialect.name == "sqlite":
        sql = "DELETE FROM reading WHERE probe_id = :probe AND at_ms IN (SELECT value FROM json_each(:gone))"
        named["gone"] = str(gone.tolist())
    else:
        sql = "DELETE FROM reading WHERE probe_id = :probe AND at_ms = ANY(CAST(:gone AS bigint[]))"
        named["gone"] = gone.tolist()
    deleted = connection.execute(text(sql), named).rowcount
    if deleted != len(gone):
        message = f"{deleted} of {len(gone)} readings of probe {probe_id} were there"
        raise RuntimeError(message)
