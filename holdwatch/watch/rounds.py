"""One round of the watch: take what arrived, mark who is touched, judge whoever is due, write what follows.

Two kinds of transaction, both short. The first takes arrivals and turns them into marks; the second judges a few
marked subjects from the record as it stands and writes clauses, findings and alerts, and clears their marks. A kill
between any two statements loses at most an open transaction, and the next round begins where the last commit ended.
A round is a function of the store and the clock: what it keeps in memory only spares work.
"""

import logging
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlmodel import Session

from holdwatch import clock
from holdwatch.clock import MS_PER_SECOND
from holdwatch.errors import HoldwatchError, StorageError
from holdwatch.language import _
from holdwatch.storage.arrivals import highest, is_waiting, take
from holdwatch.storage.engine import Store
from holdwatch.storage.states import due_watch_states, set_watch_state, watch_state
from holdwatch.storage.tables import Arrival, Batch, Probe, Unit
from holdwatch.storage.thinned import is_thinned
from holdwatch.watch.answer import Answer, earliest
from holdwatch.watch.batches import judge_batch_vessel
from holdwatch.watch.clockcheck import ClockCheck
from holdwatch.watch.inbox import Inbox, Place
from holdwatch.watch.keep import keep
from holdwatch.watch.signals import judge_probe, open_placement
from holdwatch.watch.site import speaking_at
from holdwatch.watch.subjects import Marks, mark, touch_batch, touched
from holdwatch.watch.system import (
    BROKER,
    CLOCK,
    clock_answer,
    listener_answer,
    listener_status,
    listener_trouble,
    open_fault,
)
from holdwatch.watch.units import judge_unit
from holdwatch.watch.unjudged import SINCE, judged_again, try_again_later, unjudged

__all__ = ["RoundReport", "Watch", "go_round"]

LOOK_MS = 100
"""Ours: a round goes on for so long before it looks whether something presses that has arrived meanwhile."""
TRANSACTION_MS = 15
"""Ours: a transaction that judges takes no further subject after so long, to be done within 20 ms."""
PAUSE_MS = MS_PER_SECOND
"""A subject is judged at most so often, so that a week's outbox is one judgement a second."""
GIVE_WAY_S = 0.01
"""Ours: between two transactions of a long round the store is left alone for so long. Whoever waits for a locked store
looks again only now and then; without a pause a watch that catches up would keep the listener out for seconds."""
_log = logging.getLogger(__name__)


@dataclass
class RoundReport:
    """What a round did."""

    arrivals: int = 0
    judged: int = 0
    opened: int = 0
    changed: int = 0
    closed: int = 0
    due: int = 0
    """Subjects that are due and were left for the next round."""
    unfinished: list[str] = field(default_factory=list)
    """Subjects of which more is left than one turn may take."""
    trouble: str = ""
    """Why nothing, or not everything, was judged: one sentence."""

    def add(self, other: "RoundReport") -> None:
        """Count another round in."""
        self.arrivals += other.arrivals
        self.judged += other.judged
        self.opened += other.opened
        self.changed += other.changed
        self.closed += other.closed
        self.trouble = other.trouble or self.trouble


@dataclass
class Watch:
    """The watch of one store; its memory may be lost at any instant."""

    store: Store
    base_url: str = ""
    largest_gap_ms: int | None = None
    """The plan's watching interval; ``None`` for the defaults of the rules. [ms]"""
    step: Callable[[str], None] = lambda _: None
    """Called by name between the steps of a round; tests throw from it."""
    pause_ms: int = PAUSE_MS
    give_way: Callable[[float], object] = time.sleep
    """How to leave the store to others for some seconds; true where the round is to end because the role does."""
    _judged: dict[str, int] = field(default_factory=dict)
    """When subjects were judged lately. [ms]"""
    _check: ClockCheck | None = None
    _inbox: Inbox = field(default_factory=Inbox)
    _pressing: set[str] = field(default_factory=set)
    """Subjects that wait for more than their turn."""
    _pressed: dict[str, int] = field(default_factory=dict)
    """When subjects were judged lately because they pressed. [ms]"""
    _clock_since_ms: int | None = None
    _broker_since_ms: int | None = None
    _watched_since_ms: int | None = None

    def go_round(self, now_ms: int, monotonic_ms: int | None = None) -> RoundReport:
        """Go round once.

        Parameters
        ----------
        now_ms : what the clock says.
        monotonic_ms : what a clock says that nobody can set; without it jumps are not looked for.
        """
        report = RoundReport()
        if not self._clock_is_right(now_ms, monotonic_ms, report):
            return report
        begun_ms = clock.monotonic_ms()
        self._take_pressing(now_ms, report)
        self._judge_due(now_ms, begun_ms, report)
        while self._inbox.calm:
            self._take(self._inbox.calm, now_ms, report)
            self._judge_due(now_ms, begun_ms, report)
            if self._is_called(begun_ms) or (self._inbox.calm and self.give_way(GIVE_WAY_S)):
                break
        self._look_at_system(now_ms, report)
        return report

    def catch_up(self, now_ms: int) -> RoundReport:
        """Go round until nothing is left to do at this instant; return what was done in all."""
        whole, pause_ms, self.pause_ms = RoundReport(), self.pause_ms, 0
        try:
            while True:
                done = self.go_round(now_ms)
                whole.add(done)
                if done.trouble or not (done.arrivals or done.judged):
                    return whole
        finally:
            self.pause_ms = pause_ms

    # ------------------------------------------------------------ the clock

    def _clock_is_right(self, now_ms: int, monotonic_ms: int | None, report: RoundReport) -> bool:
        with self.store.read() as session:
            if self._check is None:
                state = watch_state(session, CLOCK)
                self._check = ClockCheck(None if state is None else state.facts.get("newest_ms"))
            arrived_ms = self._inbox.look(session, now_ms)
            recorded = open_fault(session, CLOCK)
        steady_ms = now_ms if monotonic_ms is None else monotonic_ms
        trouble = self._check.look(now_ms, steady_ms, arrived_ms)
        self._clock_since_ms = None if trouble is None else (self._clock_since_ms or now_ms)
        if (trouble is not None) != (recorded is not None):
            with self.store.write() as session, speaking_at(session, now_ms):
                keep(session, clock_answer(trouble, self._clock_since_ms or now_ms), now_ms, self.base_url)
        report.trouble = "" if trouble is None else trouble.sentence
        return trouble is None

    # ------------------------------------------------------------ what arrived

    def _take_pressing(self, now_ms: int, report: RoundReport) -> None:
        while self._inbox.pressing:
            self._pressing |= self._take(self._inbox.pressing, now_ms, report)
            if self._inbox.pressing and self.give_way(GIVE_WAY_S):
                return

    def _take(self, waiting: Mapping[Place, Sequence[Arrival]], now_ms: int, report: RoundReport) -> set[str]:
        """Turn arrivals into marks, of as many places in the queue as one transaction may take; return who is marked."""
        taken: dict[Place, Marks] = {}
        begun_ms = clock.monotonic_ms()
        try:
            with self.store.write() as session:
                for place, arrivals in waiting.items():
                    take(session, arrivals)
                    self.step("taken")
                    taken[place] = touched(session, arrivals, now_ms)
                    mark(session, taken[place], now_ms)
                    report.arrivals += len(arrivals)
                    self.step("marked")
                    if clock.monotonic_ms() - begun_ms >= TRANSACTION_MS:
                        break
                newest_ms = None if self._check is None else self._check.newest_ms
                set_watch_state(session, CLOCK, next_ms=None, facts={"newest_ms": newest_ms})
                left = highest(session)
        except StorageError:
            self._inbox = Inbox()  # whether it was committed is told by the queue alone
            raise
        for place, marks in taken.items():
            self._inbox.taken(place, marks.subjects, left)
        self.step("arrivals")
        return {subject for marks in taken.values() for subject in marks.subjects}

    def _is_called(self, begun_ms: int) -> bool:
        """Tell whether a round has gone on for long enough, and something has arrived since it looked."""
        if clock.monotonic_ms() - begun_ms < LOOK_MS:
            return False
        with self.store.read() as session:
            return is_waiting(session, self._inbox.newest_id)

    # ------------------------------------------------------------ who is due

    def _judge_due(self, now_ms: int, begun_ms: int, report: RoundReport) -> None:
        """Judge whoever is due: first who presses, then the longest due, until the round is called away."""
        with self.store.read() as session:
            due = [state.subject for state in due_watch_states(session, now_ms)]
        rested = [subject for subject in due if self._has_rested(subject, now_ms)]
        report.due = len(due) - len(rested)
        # A vessel is judged after the signals, so that the silence that owns a hole is written before it.
        rested.sort(key=lambda subject: (subject not in self._pressing, not subject.startswith("probe:")))
        while rested:
            pressing = rested[0] in self._pressing
            rested = self._judge_some(rested, now_ms, report)
            self.step("judged")
            if rested and ((not pressing and self._is_called(begun_ms)) or self.give_way(GIVE_WAY_S)):
                report.due += len(rested)
                break
        self._judged, self._pressed = (
            {subject: at_ms for subject, at_ms in lately.items() if 0 <= now_ms - at_ms < self.pause_ms}
            for lately in (self._judged, self._pressed)
        )

    def _has_rested(self, subject: str, now_ms: int) -> bool:
        """Tell whether a subject may be judged again; one that has begun to press need not rest from its turn."""
        judged_ms = (self._pressed if subject in self._pressing else self._judged).get(subject)
        return judged_ms is None or not 0 <= now_ms - judged_ms < self.pause_ms

    def _judge_some(self, subjects: list[str], now_ms: int, report: RoundReport) -> list[str]:
        """Judge as many as one transaction may take; return the others."""
        taken: list[str] = []
        counts = RoundReport()
        begun_ms = clock.monotonic_ms()
        try:
            with self.store.write() as session:
                for subject in subjects:
                    taken.append(subject)
                    self._judge(session, subject, now_ms, counts)
                    self.step("subject")
                    if clock.monotonic_ms() - begun_ms >= TRANSACTION_MS:
                        break
        except StorageError:
            raise
        except Exception as exc:  # noqa: BLE001  one subject that cannot be judged must not hold up the others
            if len(taken) > 1:
                return (
                    self._judge_some([taken[-1]], now_ms, report) + subjects[: len(taken) - 1] + subjects[len(taken) :]
                )
            self._put_off(taken[0], exc, now_ms, report)
            return subjects[1:]
        for subject in taken:
            self._judged[subject] = now_ms
            if subject in self._pressing:
                self._pressed[subject] = now_ms
                self._pressing.remove(subject)
        for subject in counts.unfinished:
            del self._judged[subject]
            self._pressed.pop(subject, None)
        counts.judged = len(taken)
        report.add(counts)
        report.unfinished += counts.unfinished
        return subjects[len(taken) :]

    def _put_off(self, subject: str, exc: Exception, now_ms: int, report: RoundReport) -> None:
        """Leave a subject that cannot be judged for a minute, and say so wherever it is shown; the others go on."""
        _log.warning("%s cannot be judged: %s", subject, exc, exc_info=not isinstance(exc, HoldwatchError))
        try:
            with self.store.write() as session, speaking_at(session, now_ms):
                report.trouble = _("{subject} cannot be judged: {error}").format(subject=subject, error=exc)
                unjudged(session, subject, exc, now_ms, self.base_url)
                try_again_later(session, subject, now_ms)
        except StorageError:
            raise
        except Exception:  # noqa: BLE001  what hinders judging may hinder telling; the watch goes on all the same
            _log.exception("that %s cannot be judged could not be written down", subject)
            with self.store.write() as session:
                try_again_later(session, subject, now_ms)

    def _judge(self, session: Session, subject: str, now_ms: int, counts: RoundReport) -> None:
        state = watch_state(session, subject)
        facts = dict(state.facts) if state is not None else {}
        with speaking_at(session, now_ms):
            answer = self._answer(session, subject, facts, now_ms)
            kept = keep(session, answer, now_ms, self.base_url)
            if SINCE in facts:
                judged_again(session, subject, now_ms, self.base_url)
        self._inbox.judged(subject, [one.clause for one in answer.clauses])
        counts.opened += len(kept.opened)
        counts.changed += len(kept.changed)
        counts.closed += len(kept.closed)
        if answer.facts.get("days"):
            counts.unfinished.append(subject)
        next_ms = earliest(answer.next_ms, kept.again_ms)
        if next_ms is not None or answer.facts:
            set_watch_state(session, subject, next_ms=next_ms, facts=dict(answer.facts))
        elif state is not None:
            session.delete(state)
        if subject.startswith("probe:") and kept.anything:
            self._pass_on(session, int(subject.split(":")[1]), now_ms)

    def _answer(self, session: Session, subject: str, facts: dict[str, Any], now_ms: int) -> Answer:
        kind, first, *rest = subject.split(":")
        if kind == "batch":
            batch = session.get_one(Batch, int(first))
            if batch.ended_ms is not None and is_thinned(session, batch.started_ms, batch.ended_ms, now_ms):
                return Answer(subject, speaks_of=lambda _: False, batch_id=batch.id)  # what was found of it stands
            return judge_batch_vessel(session, batch, int(rest[0]), now_ms, largest_gap_ms=self.largest_gap_ms)
        if kind == "unit":
            unit, probe = session.get_one(Unit, int(first)), session.get_one(Probe, int(rest[0]))
            return judge_unit(session, unit, probe, facts, now_ms, largest_gap_ms=self.largest_gap_ms)
        probe = session.get_one(Probe, int(first))
        return judge_probe(session, probe, now_ms, largest_gap_ms=self.largest_gap_ms)

    def _pass_on(self, session: Session, probe_id: int, now_ms: int) -> None:
        """Let the vessel whose probe fell silent, or was heard again, be judged: a silence owns its hole."""
        placement = open_placement(session, probe_id, now_ms)
        if placement is not None and placement.batch_id is not None:
            marks = Marks()
            touch_batch(session, marks, placement.batch_id)
            mark(session, marks, now_ms)

    # ------------------------------------------------------------ the system

    def _look_at_system(self, now_ms: int, report: RoundReport) -> None:
        """Record that the broker or the listener is away, or is back."""
        with self.store.read() as session:
            listener, recorded = listener_status(session), open_fault(session, BROKER)
        self._watched_since_ms = self._watched_since_ms or now_ms
        if listener is None or listener.state != "trouble":
            self._broker_since_ms = None
        elif self._broker_since_ms is None:
            self._broker_since_ms = now_ms if recorded is None else recorded.since_ms
        trouble = listener_trouble(
            listener,
            troubled_since_ms=self._broker_since_ms or now_ms,
            watched_since_ms=self._watched_since_ms,
            now_ms=now_ms,
        )
        if trouble is None and recorded is None:
            return
        if trouble is not None and recorded is not None and recorded.facts.get("part", trouble.part) == trouble.part:
            return
        with self.store.write() as session, speaking_at(session, now_ms):
            kept = keep(session, listener_answer(trouble), now_ms, self.base_url)
        report.opened += len(kept.opened)
        report.changed += len(kept.changed)
        report.closed += len(kept.closed)


def go_round(
    store: Store, now_ms: int, *, base_url: str = "", largest_gap_ms: int | None = None, monotonic_ms: int | None = None
) -> RoundReport:
    """Go round once with a fresh memory, as after a restart."""
    return Watch(store, base_url, largest_gap_ms).go_round(now_ms, monotonic_ms)
