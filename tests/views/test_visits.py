"""An officer's readings beside the probe's."""

import pytest

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.storage.register import batch_named, unit_named
from holdwatch.storage.visits import detain, officer_reading, record_visit
from holdwatch.views.batches import batch_view
from holdwatch.views.site import site_view
from holdwatch.views.visits import visit_views
from tests.views.conftest import BY, NOW, Morning, empty, morning

__all__ = ["empty", "morning"]


@pytest.mark.parametrize(("minutes", "beside"), [(0, True), (9, True), (11, False)])
def test_the_probe_stands_beside_the_officer_with_the_difference(morning: Morning, minutes: int, beside: bool) -> None:
    """The nearest reading within ten minutes; farther away none."""
    later = NOW + minutes * MS_PER_MINUTE
    with morning.store.write() as session:
        visit = record_visit(session, "J. Ortiz", "Denver Public Health", at_ms=NOW, now_ms=NOW, by=BY)
        unit = unit_named(session, "Walk-in 1")
        officer_reading(session, visit, 5.0, unit=unit, at_ms=later, now_ms=later, by=BY)
        site = site_view(session)
        (view,) = visit_views(session, NOW, NOW, site)
    (reading,) = view.readings
    assert (reading.probe_c is not None) == beside
    words = reading.words(site)
    assert words.startswith("Walk-in 1: 41.0\u202f°F")
    if beside:
        assert "probe w1 (food)" in words
        assert reading.probe_c == 3.0
        assert "37.4\u202f°F, −3.6" in words  # 3 °C beside 5 °C
    else:
        assert "no probe spoke there within 10 min" in words


def test_a_batch_says_that_it_is_detained(morning: Morning) -> None:
    """On the Bench and on its page."""
    with morning.store.write() as session:
        visit = record_visit(session, "J. Ortiz", "Denver Public Health", at_ms=NOW, now_ms=NOW, by=BY)
        detain(session, visit, batch_named(session, "B-0412"), at_ms=NOW, now_ms=NOW, by=BY, text="sample")
        view = batch_view(session, morning.slow, NOW)
        (told,) = visit_views(session, NOW, NOW, site_view(session))
    assert view is not None
    assert view.detained.startswith("Detained by J. Ortiz since Wed 14 Oct 11:42 MDT: sample.")
    assert told.held == ("detained Wed 14 Oct 11:42 MDT, Custard B-0412: sample",)
