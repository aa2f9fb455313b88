"""What the clock reminds of, once a day at a set hour: what is to be signed, thrown away or checked, and who comes.

Each kind is one message a day, however much it names; probes whose check is due are named once a week. A reminder is
kept as a finding of its own kind of subject, so that it is routed, sent and seen as any other; it stands on no paper.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlmodel import Session

from holdwatch.alerts.queue import queue_alerts
from holdwatch.clock import MS_PER_MINUTE, clock_time, day_words, local, to_ms
from holdwatch.language import _, many, written_day
from holdwatch.storage.calibration import due_checks
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import close_finding, finding_by_key, findings, open_finding
from holdwatch.storage.register import batches, site_at
from holdwatch.storage.tables import Batch, FindingKind
from holdwatch.storage.unsigned import unsigned_entries
from holdwatch.storage.visits import visits
from holdwatch.views.days_reviewed import unreviewed_days
from holdwatch.views.discard import Discard, discard_times
from holdwatch.watch.site import speaking_at

__all__ = ["Reminders"]

_NAMED = 12
"""So many are named in a message; the rest are counted."""


@dataclass(frozen=True)
class _Day:
    """The local day that is reminded of."""

    on: date
    zone: str
    now_ms: int

    @property
    def begins_ms(self) -> int:
        return to_ms(datetime.combine(self.on, time(0), ZoneInfo(self.zone)))

    @property
    def ends_ms(self) -> int:
        return to_ms(datetime.combine(self.on + timedelta(days=1), time(0), ZoneInfo(self.zone)))


@dataclass
class Reminders:
    """The reminders of one store."""

    store: Store
    base_url: str
    at_min: int
    """From which minute of the site's local day they come."""
    _looked_ms: int = field(default=0, init=False)

    def go_on(self, now_ms: int, monotonic_ms: int = 0) -> int:  # noqa: ARG002  as whatever the watch does beside its rounds
        """Queue what is to be reminded of today and was not yet; return how many messages that were.

        Looked at once a minute, and only from the set hour on; a watch that starts later in the day catches up.

        Raises
        ------
        StorageError
            If the store cannot be used.
        """
        if 0 <= now_ms - self._looked_ms < MS_PER_MINUTE:
            return 0
        self._looked_ms = now_ms
        with self.store.read() as session, speaking_at(session, now_ms):
            zone = site_at(session, now_ms).timezone
            here = local(now_ms, zone)
            if here.hour * 60 + here.minute < self.at_min:
                return 0
            day = _Day(here.date(), zone, now_ms)
            said = [(kind, key, told) for kind, key, told in _all(session, day) if told is not None]
        for kind, key, (title, reason) in said:
            with self.store.write() as session, speaking_at(session, now_ms):
                self._tell(session, kind, key, title, reason, day)
        return len(said)

    def _tell(self, session: Session, kind: str, key: str, title: str, reason: str, day: _Day) -> None:
        for earlier in findings(session, subject=f"reminder:{kind}", open_only=True):
            close_finding(session, earlier, reason=_("a newer reminder took its place"), now_ms=day.now_ms)
        finding = open_finding(
            session,
            key=key,
            kind=FindingKind.SYSTEM,
            subject=f"reminder:{kind}",
            title=title,
            reason=reason,
            since_ms=day.now_ms,
            now_ms=day.now_ms,
            facts={"process": f"reminder-{kind}"},
        )
        queue_alerts(session, finding, None, day.now_ms, self.base_url)


_Told = tuple[str, str] | None


def _all(session: Session, day: _Day) -> Iterator[tuple[str, str, _Told]]:
    """Give each kind with its key for the day, and its title and sentence where there is something to say."""
    week = "{}-W{:02}".format(*day.on.isocalendar()[:2])
    kinds: tuple[tuple[str, str, Callable[[Session, _Day], _Told]], ...] = (
        ("visit", day.on.isoformat(), _visit),
        ("unsigned", day.on.isoformat(), _unsigned),
        ("days", day.on.isoformat(), _days),
        ("date-marks", day.on.isoformat(), _date_marks),
        ("discard-times", day.on.isoformat(), _discard_times),
        ("checks", week, _checks),
    )
    for kind, span, ask in kinds:
        key = f"reminder:{kind}:{span}"
        if finding_by_key(session, key) is None:
            yield kind, key, ask(session, day)


def _visit(session: Session, day: _Day) -> _Told:
    tomorrow = day.on + timedelta(days=1)
    coming = {day.on.isoformat(): _("today"), tomorrow.isoformat(): _("tomorrow")}
    said = dict.fromkeys(
        (on, str(visit.facts["officer"]), str(visit.facts["authority"]))
        for visit in visits(session, 0, day.now_ms)
        if (on := str(visit.facts.get("next_visit"))) in coming
    )
    if not said:
        return None
    on, officer, authority = min(said)
    title = _("A visit today: {officer}, {authority}")
    if on == tomorrow.isoformat():
        title = _("A visit tomorrow: {officer}, {authority}")
    names = [f"{who}, {of}, {coming[on]}" for on, who, of in sorted(said)]
    return title.format(officer=officer, authority=authority), _list(names)


def _unsigned(session: Session, day: _Day) -> _Told:
    waiting = unsigned_entries(session, until_ms=day.begins_ms)
    if not waiting:
        return None
    by = Counter(event.by for event in waiting)
    title = many(
        "{count} entry of earlier days to be signed", "{count} entries of earlier days to be signed", len(waiting)
    )
    return title, _list([f"{name} {count}" for name, count in by.most_common()])


def _days(session: Session, day: _Day) -> _Told:
    waiting = unreviewed_days(session, day.now_ms)
    if not waiting:
        return None
    title = many(
        "{count} day is to be gone over and signed", "{count} days are to be gone over and signed", len(waiting)
    )
    return title, _list([written_day(each) for each in waiting])


def _date_marks(session: Session, day: _Day) -> _Told:
    found = [(batch, time) for batch, time in _due(session, day) if time.whole_day]
    if not found:
        return None
    names = [f"{_name(batch)} ({time.why})" for batch, time in found]
    first = _name(found[0][0])
    title = many("{count} batch ends today: {batch}", "{count} batches end today: {batch}", len(found), batch=first)
    return title, _list(names)


def _discard_times(session: Session, day: _Day) -> _Told:
    found = [(batch, time) for batch, time in _due(session, day) if not time.whole_day]
    if not found:
        return None
    names = [
        _("{batch} by {time} ({why})").format(batch=_name(batch), time=clock_time(time.at_ms, day.zone), why=time.why)
        for batch, time in found
    ]
    title = many(
        "{count} discard time today, first {time}: {batch}",
        "{count} discard times today, first {time}: {batch}",
        len(found),
        time=clock_time(found[0][1].at_ms, day.zone),
        batch=_name(found[0][0]),
    )
    return title, _list(names)


def _due(session: Session, day: _Day) -> list[tuple[Batch, Discard]]:
    """Return the batches that are to be gone today, each with its earliest time, in the order of those."""
    found = []
    for batch in batches(session):
        times = discard_times(session, batch, day.now_ms) if batch.ended_ms is None else ()
        if times and day.now_ms <= times[0].at_ms < day.ends_ms:
            found.append((batch, times[0]))
    return sorted(found, key=lambda each: each[1].at_ms)


def _checks(session: Session, day: _Day) -> _Told:
    due = due_checks(session, day.now_ms)
    if not due:
        return None
    names = [
        f"{probe.code} ({_('never checked') if since_ms is None else _('since {day}').format(day=day_words(since_ms, day.zone))})"
        for probe, since_ms in due
    ]
    title = many(
        "{count} probe is to be checked at a known temperature",
        "{count} probes are to be checked at a known temperature",
        len(due),
    )
    return title, _("to be checked: {probes}").format(probes=_list(names))


def _name(batch: Batch) -> str:
    return f"{batch.product} {batch.lot}"


def _list(names: Sequence[str]) -> str:
    rest = len(names) - _NAMED
    more = [_("and {count} more").format(count=rest)] if rest > 0 else []
    return "; ".join([*names[:_NAMED], *more]) + "."
