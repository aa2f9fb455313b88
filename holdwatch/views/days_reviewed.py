"""Some local days as a manager goes over them: what is not in order first, then what was reviewed and changed since."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

from sqlmodel import Session, col, func, or_, select

from holdwatch.language import N_, _, many
from holdwatch.people.handling import Stage
from holdwatch.storage.day_reviews import DayReview, Since, changed_since, day_reviews
from holdwatch.storage.findings import findings
from holdwatch.storage.register import site_at
from holdwatch.storage.tables import AlertState, Batch, EventKind, FindingKind
from holdwatch.views.alone import to_be_reviewed
from holdwatch.views.daily import day_bounds, local_date
from holdwatch.views.findings import finding_views
from holdwatch.views.model import FindingView
from holdwatch.views.unsigned import unsigned
from holdwatch.views.words import event_words

__all__ = ["DaysView", "ToSee", "days_view", "unreviewed_days"]

LOOK_BACK_DAYS = 14
_SINCE = {
    "finding_version": N_("a finding was written anew"),
    "correction": N_("a probe's readings were corrected"),
    "placement": N_("a probe's placement was changed"),
    "seal": N_("readings came in late"),
}


@dataclass(frozen=True)
class ToSee:
    """Something that is not in order."""

    about: str
    words: str
    finding_id: int | None = None


@dataclass(frozen=True)
class DaysView:
    """Some local days, both ends included."""

    first_day: str
    last_day: str
    first_ms: int
    last_ms: int
    not_in_order: tuple[ToSee, ...]
    in_order: tuple[str, ...]
    """One sentence each."""
    reviews: tuple[DayReview, ...]
    """Those that cover any of the days, the latest last."""
    changed: tuple[str, ...]
    """What was recorded about the days since the latest review that covers all of them."""

    @property
    def reviewed(self) -> DayReview | None:
        """The latest review that covers all of the days."""
        whole = [each for each in self.reviews if each.covers(self.first_day) and each.covers(self.last_day)]
        return whole[-1] if whole else None


def days_view(session: Session, first_day: date, last_day: date, now_ms: int) -> DaysView:
    """Return some local days as they are to be gone over."""
    zone = site_at(session, None).timezone
    first_ms, last_ms = day_bounds(first_day, zone)[0], day_bounds(last_day, zone)[1]
    first, last = first_day.isoformat(), last_day.isoformat()
    found = [
        each
        for each in finding_views(session, since_ms=first_ms, until_ms=last_ms)
        if each.kind != FindingKind.SOON or each.wants_somebody
    ]
    reviews = tuple(each for each in day_reviews(session) if each.first_day <= last and each.last_day >= first)
    view = DaysView(
        first_day=first,
        last_day=last,
        first_ms=first_ms,
        last_ms=last_ms,
        not_in_order=tuple(_not_in_order(session, found, first_ms, last_ms, now_ms)),
        in_order=tuple(_in_order(session, found, first_ms, last_ms)),
        reviews=reviews,
        changed=(),
    )
    if view.reviewed is None:
        return view
    since = changed_since(session, view.reviewed.lines, first_ms, last_ms)
    told = tuple(dict.fromkeys(_since(each) for each in since))
    return replace(view, changed=told)


def unreviewed_days(session: Session, now_ms: int) -> list[str]:
    """Return the local days of the last two weeks that are over, on which something ran, and that nobody reviewed."""
    zone = site_at(session, None).timezone
    today, reviews = local_date(now_ms, zone), day_reviews(session)
    days = [today - timedelta(days=back) for back in range(LOOK_BACK_DAYS, 0, -1)]
    return [
        day.isoformat()
        for day in days
        if not any(each.covers(day.isoformat()) for each in reviews) and _ran(session, *day_bounds(day, zone))
    ]


def _ran(session: Session, first_ms: int, last_ms: int) -> bool:
    """Tell whether anything is on record of a span: a batch, or a finding."""
    return _batches_ran(session, first_ms, last_ms) > 0 or bool(findings(session, since_ms=first_ms, until_ms=last_ms))


def _batches_ran(session: Session, first_ms: int, last_ms: int) -> int:
    running = or_(col(Batch.ended_ms).is_(None), col(Batch.ended_ms) >= first_ms)
    return session.exec(select(func.count(col(Batch.id))).where(Batch.started_ms <= last_ms, running)).one()


def _not_in_order(
    session: Session, found: list[FindingView], first_ms: int, last_ms: int, now_ms: int
) -> Iterator[ToSee]:
    for each in found:
        stage, about = each.handling.stage, f"{each.title} · {each.clause}" if each.clause else each.title
        if each.wants_somebody:
            yield ToSee(about, _("nobody has settled it: {stage}").format(stage=_(stage.value)), each.id)
        elif stage is Stage.HANDLED:
            yield ToSee(about, _("handled, and not verified by somebody else"), each.id)
        if any(alert.state == AlertState.UNDELIVERED.value for alert in each.alerts):
            yield ToSee(about, _("an alert was not delivered"), each.id)
    for entry in unsigned(session):
        if first_ms <= entry.at_ms <= last_ms:
            yield ToSee(
                entry.about, _("not signed: {entry}, by {by}").format(entry=entry.words, by=entry.by), entry.finding_id
            )
    for span in to_be_reviewed(session, now_ms):
        if span.from_ms <= last_ms and span.until_ms >= first_ms:
            yield ToSee(span.name, _("worked alone; nobody else has reviewed it"))


def _in_order(session: Session, found: list[FindingView], first_ms: int, last_ms: int) -> Iterator[str]:
    verified = sum(each.handling.stage is Stage.VERIFIED for each in found)
    dealt_with = {Stage.HANDLED, Stage.VERIFIED}
    passed = sum(each.handling.stage not in dealt_with and not each.wants_somebody for each in found)
    yield many("{count} batch ran", "{count} batches ran", _batches_ran(session, first_ms, last_ms))
    yield (
        _("{verified} of {count} findings verified").format(verified=verified, count=len(found))
        if found
        else _("no finding")
    )
    if passed:
        yield many(
            "{count} finding is over and asks nothing more of anybody",
            "{count} findings are over and ask nothing more of anybody",
            passed,
        )


def _since(each: Since) -> str:
    if each.table == "event":
        words = event_words(EventKind(each.kind)) if each.kind in set(EventKind) else each.kind
        return _("{words}, recorded by {by}").format(words=words, by=each.by) if each.by else words
    return _SINCE[each.table]
