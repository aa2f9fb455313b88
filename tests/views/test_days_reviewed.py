"""Days as a manager goes over them."""

from datetime import timedelta

from holdwatch.people.handling import Act, Disposition
from holdwatch.storage.batching import note
from holdwatch.storage.day_reviews import review_days
from holdwatch.storage.findings import finding_numbered
from holdwatch.storage.handling import Signer, record_act
from holdwatch.storage.tables import Batch, EventKind
from holdwatch.views.daily import day_bounds, local_date
from holdwatch.views.days_reviewed import DaysView, days_view, unreviewed_days
from tests.views.conftest import BY, NOW, Morning, empty, morning

__all__ = ["empty", "morning"]

ZONE = "America/Denver"
TODAY = local_date(NOW, ZONE)
YESTERDAY = TODAY - timedelta(days=1)
LATER = NOW + 24 * 3_600_000


def _view(morning: Morning) -> DaysView:
    with morning.store.read() as session:
        return days_view(session, YESTERDAY, YESTERDAY, NOW)


def _review(morning: Morning) -> None:
    with morning.store.write() as session:
        day = YESTERDAY.isoformat()
        review_days(session, day, day, ended_before=TODAY.isoformat(), by=BY, manager=None, now_ms=NOW)


def test_what_is_not_in_order_comes_first(morning: Morning) -> None:
    """The warm hour of yesterday evening: nobody has settled it; then it is handled and not verified."""
    unsettled = [each for each in _view(morning).not_in_order if "Walk-in 1" in each.about]
    assert unsettled
    assert all(each.about.endswith(" · 3-501.16(A)(2)") for each in unsettled)
    assert all("nobody has settled it: unseen" in each.words for each in unsettled)
    with morning.store.write() as session:
        for each in unsettled:
            finding = finding_numbered(session, each.finding_id or 0)
            record_act(
                session,
                finding,
                Act.ACTION,
                Signer(BY),
                at_ms=NOW,
                now_ms=NOW,
                disposition=Disposition.DISCARD,
                text="thrown away",
            )
    words = {each.words for each in _view(morning).not_in_order if "Walk-in 1" in each.about}
    assert words == {"handled, and not verified by somebody else"}
    assert not any("nothing more" in line for line in _view(morning).in_order), "somebody is to verify it"


def test_a_reviewed_day_says_by_whom_and_what_changed_since(morning: Morning) -> None:
    """Nothing at first; then an entry about it."""
    assert _view(morning).reviewed is None
    _review(morning)
    view = _view(morning)
    assert view.reviewed is not None
    assert (view.reviewed.by, view.changed) == (BY, ())
    first_ms, _ = day_bounds(YESTERDAY, ZONE)
    with morning.store.write() as session:
        batch = session.get_one(Batch, morning.slow)
        note(session, batch, EventKind.NOTE, at_ms=first_ms, now_ms=NOW, by="Tomas", text="later")
    assert _view(morning).changed == ("note, recorded by Tomas",)


def test_days_that_ran_and_were_not_reviewed_are_listed(morning: Morning) -> None:
    """Yesterday had a finding; today is not over; a day on which nothing was is not asked for."""
    with morning.store.read() as session:
        assert unreviewed_days(session, NOW) == [YESTERDAY.isoformat()]
        assert unreviewed_days(session, LATER) == [YESTERDAY.isoformat(), TODAY.isoformat()]
    _review(morning)
    with morning.store.read() as session:
        assert unreviewed_days(session, NOW) == []
