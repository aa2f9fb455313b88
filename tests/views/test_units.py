"""Units over a span, as read from the store."""

import numpy as np

from holdwatch.charts.marks import Mark
from holdwatch.charts.theme import Look
from holdwatch.charts.trace import pen_trace
from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.rules.verdicts import Verdict
from holdwatch.storage.engine import Store
from holdwatch.storage.ids import id_of
from holdwatch.storage.placing import place
from holdwatch.storage.readings import write_history
from holdwatch.storage.register import add_probe, add_unit
from holdwatch.storage.tables import Unit
from holdwatch.views.model import UnitView
from holdwatch.views.units import trace_view, unit_rows, unit_view
from holdwatch.watch.rounds import go_round
from tests.charts.drawn import rows_named
from tests.charts.kitchen import HOLDING, ZONE
from tests.views.conftest import BY, NOW, Morning


def two_days(morning: Morning) -> UnitView:
    """Return the walk-in over the day before and this morning."""
    with morning.store.read() as session:
        found = unit_view(session, morning.walk_in, NOW - 30 * MS_PER_HOUR, NOW, NOW)
    assert found is not None
    return found


def test_unit_view_tells_each_local_day(morning: Morning) -> None:
    """The bad evening is its day's deviation; the hole is today's, and today is not shown."""
    days = {day.day: day for day in two_days(morning).days}
    assert days["2026-10-13"].verdict is Verdict.MISSED
    assert days["2026-10-13"].mark is Mark.DEVIATION
    assert days["2026-10-14"].verdict is Verdict.UNPROVEN
    assert {day.clause for day in days.values()} == {HOLDING}
    assert {day.probe for day in days.values()} == {"w1"}


def test_unit_view_marks_the_unit_by_its_latest_day(morning: Morning) -> None:
    """The word beside the unit's name is today's."""
    assert two_days(morning).mark is Mark.NOT_SHOWN


def test_unit_view_rules_the_limit_with_its_spell(morning: Morning) -> None:
    """The level comes from what the watch judged; the spell is marked from its first to its last reading beyond."""
    view = two_days(morning)
    (row,) = view.probes
    assert row.level is not None
    assert (row.level.clause, row.level.at_most) == (HOLDING, True)
    assert round(row.level.level_c, 6) == 5.0
    begin, end = NOW - (16 * 60 - 1) * MS_PER_MINUTE, NOW - (15 * 60 + 1) * MS_PER_MINUTE
    assert row.level.marks == ((begin, end),)
    assert [spell.words for spell in view.spells] == [
        "Tue 13 Oct 19:43\u201320:41: seen above 41\u202f°F, farthest 46.4\u202f°F"
    ]


def test_unit_view_shows_the_hole_and_the_last_reading(morning: Morning) -> None:
    """The hour without readings is a hole; the row tells the last reading and its age."""
    view = two_days(morning)
    (row,) = view.probes
    spans = [(hole.from_ms, hole.until_ms) for hole in row.trace.holes]
    assert (NOW - 5 * MS_PER_HOUR, NOW - 4 * MS_PER_HOUR) in spans
    assert (row.last_ms, row.age_ms) == (NOW, 0)
    assert view.words.startswith("food 3")
    assert view.words.endswith("°F, just now")


def test_unit_view_draws(morning: Morning) -> None:
    """A row's trace goes straight into the pen trace, lifted over its hole."""
    (row,) = two_days(morning).probes
    assert row.level is not None
    drawn = pen_trace(row.trace, [row.level], Look(ZONE, width=620, height=120, paper=True))
    assert len(rows_named(drawn, "holes")) == len(row.trace.holes)


def test_unit_rows_name_every_unit(morning: Morning) -> None:
    """A unit without a probe has a row too, and says so."""
    with morning.store.write() as session:
        add_unit(session, "Display case", "display-case", now_ms=NOW, by=BY)
    with morning.store.read() as session:
        rows = unit_rows(session, NOW)
    assert [(row.name, row.probes == ()) for row in rows] == [("Display case", True), ("Walk-in 1", False)]
    assert rows[0].words == "no probe placed"


def test_unit_view_of_an_air_probe_asks_no_limit(morning: Morning) -> None:
    """Air is no food: its row has no verdict, and food stands before it."""
    with morning.store.write() as session:
        unit = session.get(Unit, morning.walk_in)
        air = add_probe(session, "a1", medium="air", now_ms=NOW - MS_PER_HOUR, by=BY)
        place(session, air, unit=unit, at_ms=NOW - MS_PER_HOUR, now_ms=NOW - MS_PER_HOUR, by=BY)
        at_ms = NOW - MS_PER_HOUR + np.arange(61, dtype=np.int64) * MS_PER_MINUTE
        write_history(session, id_of(air), at_ms, np.full(61, 9.0), NOW)
    go_round(morning.store, NOW + 2_000)
    rows = two_days(morning).probes
    assert [row.code for row in rows] == ["w1", "a1"]
    assert rows[1].mark is Mark.NO_LIMIT


def test_trace_view_of_weeks_keeps_holes_and_extremes(empty: Store) -> None:
    """Rolled up over thirty days, the warmest reading and a hole of half an hour inside an hour are still there."""
    begin = NOW - 30 * MS_PER_DAY
    minute = np.arange(0, 30 * 24 * 60, dtype=np.int64)
    celsius = np.full(len(minute), 3.0)
    celsius[20_000] = 11.0
    keep = (minute <= 30_010) | (minute >= 30_040)
    with empty.write() as session:
        probe = add_probe(session, "w1", medium="food", now_ms=NOW, by=BY)
        write_history(session, id_of(probe), begin + minute[keep] * MS_PER_MINUTE, celsius[keep], NOW)
        trace = trace_view(session, id_of(probe), begin, NOW - MS_PER_MINUTE, live=True)
    assert not trace.raw
    assert len(trace) <= 1_000
    assert trace.max_c.max() == 11.0
    assert [(h.from_ms - begin, h.until_ms - begin) for h in trace.holes] == [
        (30_010 * MS_PER_MINUTE, 30_040 * MS_PER_MINUTE)
    ]


def test_trace_view_without_readings_is_a_hole(empty: Store) -> None:
    """A probe never heard leaves one hole, which still goes on."""
    with empty.read() as session:
        trace = trace_view(session, 1, NOW - MS_PER_HOUR, NOW, live=True)
    assert len(trace) == 0
    assert len(trace.holes) == 1
