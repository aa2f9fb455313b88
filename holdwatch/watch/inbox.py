"""What has arrived and waits for the watch: what presses is taken at once, everything else in its turn.

Where readings come faster than their subjects can be judged, somebody has to wait, and it must not be whoever an alert
is for. A reading presses when it may be the one that turns a verdict: a level, or the instant of a time limit, lies
between it and the reading before it, or it follows on a hole or a leap. Most readings are none of these; they wait, a
probe's together, and the probe that has waited longest is taken next. So everybody's turn comes, and nothing but the
order depends on what is kept here: it is memory, made again from the queue after a restart.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass
from itertools import pairwise

import numpy as np
from sqlmodel import Session, col, select

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.errors import HoldwatchError
from holdwatch.quantities import Level, span_c
from holdwatch.rules.verdicts import ClauseVerdict
from holdwatch.storage.arrivals import ArrivalKind, arrived
from holdwatch.storage.ranges import load_series
from holdwatch.storage.tables import Arrival, Correction, Reading, ReadingFlag
from holdwatch.watch.site import in_force

__all__ = ["Inbox", "Place", "levels_of", "presses"]

LIVE_MS = 10 * MS_PER_MINUTE
"""Ours: older readings come in bursts, of which each probe's is one; they are not looked through."""
HOLE_MS = 5 * MS_PER_MINUTE
"""Ours, the least after which a probe is called silent: a reading after so long is news in itself."""
LEAP_C = span_c(3)
"""Ours, the least change that the sieve looks at."""
NEAR_C = 1e-3
"""So near to a level counts as beyond it: more than converting between scales can make of it."""

TOGETHER = 100
"""So many arrivals of other kinds are taken in one transaction; a set-up brings hundreds."""

Point = tuple[int, float]
"""An instant in ms, and °C."""
Place = tuple[str, int]
"""A place in the queue: ``("probe", its number)`` for readings, ``("others", …)`` for anything else, some together."""


@dataclass
class Inbox:
    """The arrivals that wait, as far as they were seen, by their place; the longest waiting first."""

    newest_id: int = 0
    pressing: dict[Place, list[Arrival]] = field(default_factory=dict)
    calm: dict[Place, list[Arrival]] = field(default_factory=dict)
    _before: dict[int, Point] = field(default_factory=dict)
    """The last reading seen of a probe."""
    _touches: dict[Place, frozenset[str]] = field(default_factory=dict)
    """The subjects that the readings of a probe touched when they were last taken."""
    _due: dict[str, tuple[int, ...]] = field(default_factory=dict)
    """When the times of a subject are up. [ms]"""

    def look(self, session: Session, now_ms: int) -> list[int]:
        """See what is new; return when each of it was queued. [ms]."""
        rows = arrived(session, self.newest_id)
        calm = self._calm(session, [row for row in rows if _is_live(row, now_ms)], now_ms)
        for row in rows:
            self._put(row, presses=not _is_live(row, now_ms) or row.probe_id not in calm)
        return [row.at_ms for row in rows]

    def _put(self, row: Arrival, *, presses: bool) -> None:
        number = row.id or 0
        place = ("probe", row.probe_id or 0) if row.kind == ArrivalKind.READINGS else ("others", number // TOGETHER)
        if presses and place not in self.pressing:
            self.pressing[place] = self.calm.pop(place, [])
        together = self.pressing[place] if place in self.pressing else self.calm.setdefault(place, [])
        together.append(row)
        self.newest_id = number

    def taken(self, place: Place, subjects: Iterable[str], highest_id: int) -> None:
        """Forget what was taken out of the queue, and remember whom it touched.

        `highest_id` is of what is left: numbers above it are given to what comes next.
        """
        self.newest_id = min(self.newest_id, highest_id)
        for waiting in (self.pressing, self.calm):
            waiting.pop(place, None)
        if place[0] == "probe":
            self._touches[place] = frozenset(subjects)

    def judged(self, subject: str, clauses: Iterable[ClauseVerdict]) -> None:
        """Remember when the times of a subject are up."""
        self._due.pop(subject, None)
        if due := {end for clause in clauses for end in clause.due or () if end is not None}:
            self._due[subject] = tuple(sorted(due))

    def _calm(self, session: Session, live: Sequence[Arrival], now_ms: int) -> set[int]:
        """Return the probes of which no new reading presses."""
        spans: dict[int, tuple[int, int]] = {}
        for row in live:
            first, last = spans.get(row.probe_id or 0, (row.first_ms, row.last_ms))
            spans[row.probe_id or 0] = min(first, row.first_ms), max(last, row.last_ms)
        try:
            levels = tuple(levels_of(in_force(session, now_ms).limits)) if spans else ()
        except HoldwatchError:  # judging tells of it
            return set()
        calm: set[int] = set()
        for probe_id, points in self._news(session, spans).items():
            touched = self._touches.get(("probe", probe_id), ())
            if not presses(points, levels, [at_ms for subject in touched for at_ms in self._due.get(subject, ())]):
                calm.add(probe_id)
            if points:
                self._before[probe_id] = points[-1]
        return calm

    def _news(self, session: Session, spans: Mapping[int, tuple[int, int]]) -> dict[int, list[Point]]:
        """Return each probe's readings of a span with the one before it; none of a span that goes back before that one."""
        found: dict[int, list[Point]] = {}
        corrected = set(session.exec(select(Correction.probe_id).distinct())) if spans else set[int]()
        plain = {probe_id for probe_id in spans if probe_id in self._before and probe_id not in corrected}
        for probe_id, (first_ms, last_ms) in spans.items():
            if probe_id in plain:
                before = self._before[probe_id]
                found[probe_id] = [before] if first_ms > before[0] else []
            else:
                series = load_series(session, probe_id, first_ms - HOLE_MS, last_ms)
                start = max(int(np.searchsorted(series.at_ms, first_ms)) - 1, 0)
                found[probe_id] = list(zip(series.at_ms[start:].tolist(), series.celsius[start:].tolist(), strict=True))
        for probe_id, at_ms, celsius in _readings(session, {probe_id: spans[probe_id] for probe_id in plain}):
            if found[probe_id] and at_ms > found[probe_id][-1][0]:
                found[probe_id].append((at_ms, celsius))
        return found


def _is_live(row: Arrival, now_ms: int) -> bool:
    return row.kind == ArrivalKind.READINGS and row.first_ms >= now_ms - LIVE_MS


def _readings(session: Session, spans: Mapping[int, tuple[int, int]]) -> Iterable[tuple[int, int, float]]:
    """Return the readings of some probes over all of their spans together, by probe and instant."""
    if not spans:
        return []
    query = select(Reading.probe_id, Reading.at_ms, Reading.celsius).where(
        col(Reading.probe_id).in_(spans),
        col(Reading.at_ms) >= min(first_ms for first_ms, _ in spans.values()),
        col(Reading.at_ms) <= max(last_ms for _, last_ms in spans.values()),
        col(Reading.flags).bitwise_and(int(ReadingFlag.NOT_JUDGED)) == 0,
    )
    return session.exec(query.order_by(col(Reading.probe_id), col(Reading.at_ms)))


def presses(points: Sequence[Point], levels: Sequence[float], due_ms: Sequence[int] = ()) -> bool:
    """Tell whether one of some readings in a row, after the first, may turn a verdict; without two in a row it may.

    Parameters
    ----------
    points : readings in order of time, the first of them known before.
    levels : every level of the limits. [°C]
    due_ms : when times are up. [ms]
    """
    if len(points) < 2:  # noqa: PLR2004  there is no step between fewer
        return True
    return any(_turns(before, after, levels, due_ms) for before, after in pairwise(points))


def _turns(before: Point, after: Point, levels: Sequence[float], due_ms: Sequence[int]) -> bool:
    if after[0] - before[0] >= HOLE_MS or abs(after[1] - before[1]) >= LEAP_C - NEAR_C:
        return True
    if any(before[0] <= at <= after[0] for at in due_ms):
        return True
    low, high = sorted((before[1], after[1]))
    return low != high and any(low - NEAR_C <= level <= high + NEAR_C for level in levels)


def levels_of(part: object) -> Iterator[float]:
    """Give every level that stands anywhere in some limits. [°C]."""
    if isinstance(part, Level):
        yield part.celsius
    elif is_dataclass(part):
        for each in fields(part):
            yield from levels_of(getattr(part, each.name))
    elif isinstance(part, Mapping):
        for value in part.values():
            yield from levels_of(value)
    elif isinstance(part, tuple):
        for value in part:
            yield from levels_of(value)
