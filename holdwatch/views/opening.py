"""When the first one comes: what the night did, and what must go."""

from collections.abc import Iterator
from datetime import timedelta

from sqlmodel import Session

from holdwatch.alerts.offers import advised
from holdwatch.language import _, short_day
from holdwatch.storage.daily import last_round, nothing_cooled_on
from holdwatch.storage.events import events
from holdwatch.storage.tables import EventKind, FindingKind
from holdwatch.views.alone import to_be_reviewed
from holdwatch.views.batches import running
from holdwatch.views.closing import processes_of
from holdwatch.views.daily import Line, Part, day_bounds, local_date, when_started
from holdwatch.views.findings import finding_views
from holdwatch.views.model import BatchView, FindingView, SiteView
from holdwatch.views.resting import out_of_use_part
from holdwatch.views.site import site_view
from holdwatch.views.unsigned import unsigned
from holdwatch.views.words import clock_words

__all__ = ["looks_back", "opening"]


def looks_back(session: Session, now_ms: int) -> tuple[int, str]:
    """Return since when an opening looks back [ms], and that in words."""
    site, closed = site_view(session), last_round(session, EventKind.CLOSING, now_ms)
    since_ms, recorded = when_started(None if closed is None else closed.at_ms, now_ms)
    at = clock_words(since_ms, site.zone)
    if recorded and closed is not None:
        return since_ms, _("Since the closing that {by} went through, {at}.").format(by=closed.by, at=at)
    return since_ms, _("No closing was recorded in the last week: since {at}.").format(at=at)


def opening(session: Session, now_ms: int) -> list[Part]:
    """Return what is to be looked at before the day's work begins."""
    site, batches = site_view(session), running(session, now_ms)
    since_ms, _said = looks_back(session, now_ms)
    found = finding_views(session, since_ms=since_ms)
    today = day_bounds(local_date(now_ms, site.zone), site.zone)
    return [
        Part(
            _("What must go, or be decided"),
            _("Nothing is past its time, and no deviation waits."),
            tuple(line for batch in batches for line in _must_go(session, batch, site, now_ms)),
        ),
        Part(_("What the night did"), _("Nothing was found."), tuple(_night(each, site) for each in found)),
        Part(
            _("Date marks that end today"),
            _("None."),
            tuple(line for batch in batches for line in _ends_today(session, batch, today, site)),
        ),
        out_of_use_part(session, now_ms, site),
        Part(
            _("Waits for a signature"),
            _("Everything that was decided is signed."),
            tuple(
                Line(
                    each.about,
                    _("{words}, {time}, by {by}").format(
                        words=each.words, time=clock_words(each.at_ms, site.zone), by=each.by
                    ),
                    _("{person} signs it.").format(person=each.person or each.by),
                    "" if each.finding_id is None else f"/findings?finding={each.finding_id}",
                )
                for each in unsigned(session)
            ),
        ),
        Part(
            _("Done alone, to be reviewed"),
            _("Nothing that was done alone waits for a review."),
            tuple(
                Line(
                    each.name,
                    _("{count} entries, {time} to {until}").format(
                        count=len(each.entries),
                        time=clock_words(each.from_ms, site.zone),
                        until=clock_words(each.until_ms, site.zone),
                    ),
                    _("Somebody else reviews it on the page Shift."),
                    "/shift",
                )
                for each in to_be_reviewed(session, now_ms)
            ),
        ),
        Part(_("Yesterday"), _("Something was cooled."), tuple(_yesterday(session, now_ms, site))),
    ]


def _night(found: FindingView, site: SiteView) -> Line:
    """Tell a finding with where it stands."""
    over = (
        ""
        if found.closed_ms is None
        else " " + _("Over since {time}.").format(time=clock_words(found.closed_ms, site.zone))
    )
    by = ", ".join(found.handling.handled_by) or found.handling.seen_by
    stands = _(found.handling.stage.value) + (" " + _("by {name}").format(name=by) if by else "")
    if not found.wants_somebody and not by:
        stands = _("passed by itself")
    words = _("{mark}, since {time}: {reason}{over} Stands: {stands}.").format(
        mark=found.mark.said, time=clock_words(found.since_ms, site.zone), reason=found.reason, over=over, stands=stands
    )
    return Line(found.title, words, found.todo if found.wants_somebody else "", f"/findings?finding={found.id}")


def _must_go(session: Session, batch: BatchView, site: SiteView, now_ms: int) -> Iterator[Line]:
    """Return a line for each discard time that is past, and each deviation that nobody has decided."""
    over = [each for each in batch.discard if each.at_ms < now_ms]
    for each in over:
        words = _("its time was up {time} ({clause}: {why})").format(
            time=each.words(site.zone), clause=_(each.clause), why=each.why
        )
        todo = advised(session, batch.id, FindingKind.DEVIATION, *processes_of(each))
        yield Line(batch.title, words, todo, f"/batches?batch={batch.id}")
    for found in batch.findings:
        told = found.clause in {each.clause for each in over}
        if found.wants_somebody and found.kind in {FindingKind.DEVIATION, FindingKind.NOT_SHOWN} and not told:
            yield Line(found.title, f"{found.mark.said}: {found.reason}", found.todo, f"/findings?finding={found.id}")


def _ends_today(session: Session, batch: BatchView, today: tuple[int, int], site: SiteView) -> Iterator[Line]:
    for each in batch.discard:
        if each.whole_day and today[0] <= each.at_ms <= today[1]:
            words = _("to be used by the {time} ({clause}: {why})").format(
                time=each.words(site.zone), clause=_(each.clause), why=each.why
            )
            todo = advised(session, batch.id, FindingKind.SOON, *processes_of(each))
            yield Line(batch.title, words, todo, f"/batches?batch={batch.id}")


def _yesterday(session: Session, now_ms: int, site: SiteView) -> Iterator[Line]:
    """Say that nothing was cooled yesterday, or that nobody has said so of an empty day."""
    day = local_date(now_ms, site.zone) - timedelta(days=1)
    first_ms, last_ms = day_bounds(day, site.zone)
    said = nothing_cooled_on(session, day)
    if said is not None:
        yield Line(short_day(day), _("nothing was cooled, recorded by {by}").format(by=said.by))
    elif not events(session, since_ms=first_ms, until_ms=last_ms, kinds=[EventKind.BATCH_STARTED]):
        yield Line(
            short_day(day),
            _("no batch was started"),
            _("If nothing was cooled, record it below: it explains the day."),
        )
