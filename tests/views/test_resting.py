"""A unit out of use as screens tell it."""

from holdwatch.charts.marks import Mark
from holdwatch.clock import MS_PER_HOUR
from holdwatch.storage.out_of_use import take_out_of_use
from holdwatch.storage.register import batch_named, note, unit_named
from holdwatch.storage.tables import EventKind
from holdwatch.views.closing import closing
from holdwatch.views.opening import opening
from holdwatch.views.units import unit_rows, unit_view
from tests.views.conftest import BY, NOW, Morning, empty, morning

__all__ = ["empty", "morning"]


def test_a_unit_says_that_it_is_out_of_use_and_warns_of_food_in_it(morning: Morning) -> None:
    """On the Bench, on its own page over the span, and on both rounds; declared later, it says when."""
    with morning.store.write() as session:
        unit = unit_named(session, "Walk-in 1")
        from_ms = NOW - 2 * MS_PER_HOUR
        take_out_of_use(session, unit, "cleaned", from_ms=from_ms, now_ms=NOW, by=BY, text="racks out")
        (row,) = unit_rows(session, NOW)
        told = "out of use since Wed 14 Oct 09:42 MDT, cleaned (racks out), by Mara, declared Wed 14 Oct 11:42 MDT"
        assert (row.out_of_use, row.warning, row.rests) == (told, "", (told,))
        assert row.mark is Mark.DEVIATION or row.mark is Mark.NO_LIMIT
        note(session, batch_named(session, "B-0412"), EventKind.MOVED, at_ms=NOW, now_ms=NOW, by=BY, unit=unit)
        (row,) = unit_rows(session, NOW)
        assert "Custard B-0412 is recorded as standing in it" in row.warning
        earlier = unit_view(session, unit.id or 0, NOW - 20 * MS_PER_HOUR, from_ms - 1, NOW)
        assert earlier is not None
        assert (earlier.out_of_use, earlier.rests) == ("", ())
        for parts in (closing(session, NOW, NOW + MS_PER_HOUR), opening(session, NOW)):
            (part,) = [each for each in parts if each.title == "Units out of use"]
            assert [(line.about, line.words) for line in part.lines] == [("Walk-in 1", told)]
            assert "own limits go on" in part.lines[0].todo
