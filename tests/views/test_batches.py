"""Batches as the Bench, their pages and the log show them."""

import numpy as np
import pytest

from holdwatch.charts.marks import Mark
from holdwatch.charts.render import to_svg
from holdwatch.charts.staircase import staircase
from holdwatch.charts.theme import Look
from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.rules.verdicts import Verdict
from holdwatch.storage.batching import end_batch, note, start_batch
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import close_finding, findings, open_finding
from holdwatch.storage.ids import id_of
from holdwatch.storage.placing import place
from holdwatch.storage.readings import write_history
from holdwatch.storage.register import add_probe
from holdwatch.storage.states import clause_states
from holdwatch.storage.tables import Batch, EventKind, FindingKind
from holdwatch.views.batches import batch_view, batch_views, clause_rows, running
from holdwatch.views.curves import curve_view
from holdwatch.views.model import BatchView
from holdwatch.watch.rounds import go_round
from tests.charts.kitchen import STAGE_1, ZONE
from tests.views.conftest import BATCH_START, BY, NOW, Morning


def view_of(morning: Morning, batch_id: int, now_ms: int = NOW) -> BatchView:
    """Return a batch of the morning."""
    with morning.store.read() as session:
        found = batch_view(session, batch_id, now_ms)
    assert found is not None
    return found


def test_batch_view_shows_the_stored_verdicts(morning: Morning) -> None:
    """What a screen shows is clause by clause what the watch stored."""
    view = view_of(morning, morning.well)
    with morning.store.read() as session:
        stored = {(s.vessel, s.clause): s.verdict for s in clause_states(session, batch_id=morning.well)}
    assert stored
    assert {(row.vessel, row.clause.clause): row.clause.verdict.value for row in clause_rows(view)} == stored
    assert view.judged_ms == NOW


def test_batch_view_that_cools_well_tells_what_is_due_next(morning: Morning) -> None:
    """Stage 1 is behind it; stage 2 is what the cook has to watch."""
    view = view_of(morning, morning.well)
    (curve,) = view.curves
    first = next(clause for clause in curve.clauses if clause.clause == STAGE_1)
    assert first.verdict is Verdict.MET
    assert view.verdict is Verdict.OPEN
    assert view.mark is Mark.RUNNING
    assert view.due_what == "41\u202f°F"
    assert view.due_vessel == 1
    second = next(clause for clause in curve.clauses if clause.clause == view.due_clause)
    assert second.due is not None
    assert view.due_ms == second.due[0]
    assert view.sentence.startswith("Pastry cream L-0412, vessel 1, has ")
    assert view.measured == "1 of 6 vessels measured, the slowest among them"


def test_batch_view_that_will_miss_is_soon_and_says_what_to_do(morning: Morning) -> None:
    """The watch's warning makes it "soon"; the sentence tells time left and remedy, the forecast tells both times."""
    view = view_of(morning, morning.slow)
    assert view.mark is Mark.SOON
    assert [finding.kind for finding in view.findings] == ["soon"]
    assert view.sentence.endswith(
        "to get to 70\u202f°F or less. At this rate it will miss. Move it to an ice bath or split it into shallow pans."
    )
    assert view.forecast.startswith("at 70\u202f°F about ")
    assert ", limit 12:" in view.forecast
    assert view.curves[0].soon == {STAGE_1}
    assert clause_rows(view)[0].mark is Mark.SOON


def test_running_lists_by_what_is_due_first(morning: Morning) -> None:
    """The batch with the least time left stands on top; one with nothing due stands last."""
    with morning.store.write() as session:
        start_batch(session, product="Ganache", lot="G-1", at_ms=NOW, now_ms=NOW, by=BY)
    with morning.store.read() as session:
        lots = [view.lot for view in running(session, NOW)]
    assert lots == ["B-0412", "L-0412", "G-1"]


def test_batch_view_draws(morning: Morning) -> None:
    """A view's curve goes straight into the chart."""
    (curve,) = view_of(morning, morning.slow).curves
    assert curve.live
    assert curve.fans
    drawn = to_svg(staircase(curve, Look(ZONE, width=620, height=210, paper=True)))
    assert "3-501.14(A)(1) · soon" in drawn


def test_batch_view_of_an_unknown_number_is_none(empty: Store) -> None:
    """A link to a batch that is not there is no error."""
    with empty.read() as session:
        assert batch_view(session, 99, NOW) is None


def test_batch_view_not_measured_yet_says_so(empty: Store) -> None:
    """A batch without a probe and without a reading runs, and says that nothing is measured."""
    with empty.write() as session:
        batch_id = id_of(start_batch(session, product="Ganache", lot="G-1", at_ms=NOW, now_ms=NOW, by=BY))
    with empty.read() as session:
        view = batch_view(session, batch_id, NOW)
    assert view is not None
    assert (view.mark, view.measured, view.due_ms) == (Mark.RUNNING, "not measured yet", None)
    assert len(view.curves[0].readings) == 0
    assert view.curves[0].holes == ()


def test_batch_view_keeps_vessels_apart(morning: Morning) -> None:
    """A hand reading in vessel 3 is a curve of its own and no point of vessel 1's."""
    with morning.store.write() as session:
        batch = session.get(Batch, morning.well)
        assert batch is not None
        note(session, batch, EventKind.READING, at_ms=NOW, now_ms=NOW, by=BY, vessel=3, celsius=18.0)
    view = view_of(morning, morning.well)
    assert [curve.vessel for curve in view.curves] == [1, 3]
    assert [len(curve.hand) for curve in view.curves] == [0, 1]
    assert view.measured.startswith("2 of 6 vessels measured")
    assert "reading by hand 64.4\u202f°F" in [event.words for event in view.events]


@pytest.mark.parametrize(
    ("mediums", "slowest", "verdict", "measured"),
    [
        (["food"], False, Verdict.UNPROVEN, "1 of 3 vessels measured"),
        (["food"], True, Verdict.MET, "1 of 3 vessels measured, the slowest among them"),
        (["food", "food", "food"], False, Verdict.MET, "3 of 3 vessels measured"),
        (["food", "air", "product"], False, Verdict.UNPROVEN, "1 of 3 vessels measured"),
        (["food", "air", "product"], True, Verdict.MET, "1 of 3 vessels measured, the slowest among them"),
    ],
)
def test_batch_view_measured_vessel_speaks_for_all_only_if_it_is_the_slowest(
    empty: Store, mediums: list[str], *, slowest: bool, verdict: Verdict, measured: str
) -> None:
    """What was measured in one vessel shows nothing of the others, unless it is declared the slowest of them."""
    with empty.write() as session:
        batch = start_batch(
            session, product="Custard", lot="C-1", vessels=3, step="store", at_ms=BATCH_START, now_ms=NOW, by=BY
        )
        at_ms = np.arange(BATCH_START, NOW + 1, MS_PER_MINUTE, dtype=np.int64)
        for vessel, medium in enumerate(mediums, 1):
            probe = add_probe(session, f"c{vessel}", medium=medium, now_ms=BATCH_START, by=BY)
            first = slowest and vessel == 1
            place(
                session, probe, batch=batch, vessel=vessel, slowest=first, at_ms=BATCH_START, now_ms=BATCH_START, by=BY
            )
            write_history(session, id_of(probe), at_ms, np.full(len(at_ms), 3.0), NOW)
        batch_id = id_of(batch)
    for _ in range(4):
        go_round(empty, NOW)
    with empty.read() as session:
        view = batch_view(session, batch_id, NOW)
    assert view is not None
    assert (view.verdict, view.measured) == (verdict, measured)
    assert view.mark is (Mark.KEPT if verdict is Verdict.MET else Mark.NOT_SHOWN)
    assert ("nothing is shown of the others" in view.sentence) is (verdict is Verdict.UNPROVEN)


def test_batch_view_ended_batch_that_was_not_judged_is_not_shown(empty: Store) -> None:
    """Until the watch has looked, an ended batch is neither kept nor asked nothing."""
    with empty.write() as session:
        batch = start_batch(session, product="Custard", lot="C-1", at_ms=BATCH_START, now_ms=BATCH_START, by=BY)
        end_batch(session, batch, outcome="used", at_ms=NOW, now_ms=NOW, by=BY)
        batch_id = id_of(batch)
    with empty.read() as session:
        view = batch_view(session, batch_id, NOW)
    assert view is not None
    assert view.mark is Mark.NOT_SHOWN


def test_batch_view_silent_probe_is_a_hole_up_to_now(morning: Morning) -> None:
    """Half an hour without a reading is a hole that still goes on, and the curve ends where it was last read."""
    later = NOW + 30 * MS_PER_MINUTE
    (curve,) = view_of(morning, morning.well, later).curves
    (hole,) = curve.holes
    assert (hole.from_ms, hole.until_ms, hole.still) == (NOW, later, True)
    assert int(curve.readings.at_ms[-1]) == NOW


def test_batch_view_reading_set_aside_is_no_point_of_the_line(morning: Morning) -> None:
    """What the sieve sets aside is told with its reason, and is not drawn as the food's."""
    (curve,) = view_of(morning, morning.well).curves
    drawn = set(curve.readings.at_ms.tolist())
    assert all(reading.reason for reading in curve.set_aside)
    assert drawn.isdisjoint({reading.at_ms for reading in curve.set_aside})
    with morning.store.read() as session:
        stored = [state.facts["set_aside"] for state in clause_states(session, batch_id=morning.well)]
    assert stored[0] == len(curve.set_aside)


def test_batch_view_of_a_stored_batch_shows_its_cooling(morning: Morning) -> None:
    """Three days later its chart still shows the cooling; any span can be asked for."""
    later = NOW + 3 * MS_PER_DAY
    with morning.store.read() as session:
        batch = session.get(Batch, morning.well)
        assert batch is not None
        curve = curve_view(session, batch, 1, later)
        whole = curve_view(session, batch, 1, later, from_ms=BATCH_START, until_ms=later)
    assert curve.until_ms < BATCH_START + 9 * MS_PER_HOUR
    assert not curve.live
    assert (whole.until_ms, whole.live) == (later, True)


def test_batch_view_ended_asks_nothing_more(morning: Morning) -> None:
    """An ended batch has nothing due, and tells its outcome."""
    end = NOW + MS_PER_MINUTE
    with morning.store.write() as session:
        batch = session.get(Batch, morning.well)
        assert batch is not None
        end_batch(session, batch, outcome="served", at_ms=end, now_ms=end, by=BY)
    go_round(morning.store, end + 2_000)
    view = view_of(morning, morning.well, end + 2_000)
    assert (view.running, view.outcome, view.due_ms) == (False, "served", None)
    assert view.curves[0].until_ms == end


def test_batch_views_take_what_ran_in_the_span(morning: Morning) -> None:
    """The log's span takes every batch that ran in any of it."""
    with morning.store.read() as session:
        assert [v.lot for v in batch_views(session, NOW, BATCH_START, NOW)] == ["L-0412", "B-0412"]
        assert batch_views(session, NOW, NOW - 3 * MS_PER_DAY, BATCH_START - 1) == []


def test_a_warning_names_the_stage_that_it_warns_of(morning: Morning) -> None:
    """70 °F is due next, and nothing warns of it; what will be missed is 41 °F, and the sentence says so."""
    with morning.store.write() as session:
        for finding in findings(session, open_only=True):
            close_finding(session, finding, reason="x", now_ms=NOW)
        (state,) = [s for s in clause_states(session, batch_id=morning.slow) if s.clause == "3-501.14(A)(2)"]
        open_finding(
            session,
            key=f"{state.subject}/cool/{state.clause}",
            kind=FindingKind.SOON,
            subject=state.subject,
            title="x",
            reason="expected at 41 °F too late.",
            since_ms=NOW,
            now_ms=NOW,
            clause=state.clause,
            batch_id=morning.slow,
            facts={"vessel": state.vessel},
        )
    with morning.store.read() as session:
        view = batch_view(session, morning.slow, NOW)
    assert view is not None
    assert view.due_clause == "3-501.14(A)(1)"
    assert "to get to 41" in view.sentence
    assert "At this rate it will miss" in view.sentence


def test_a_warning_of_something_else_says_what(morning: Morning) -> None:
    """Not that it cools too slowly."""
    with morning.store.write() as session:
        open_finding(
            session,
            key="something/else",
            kind=FindingKind.SOON,
            subject=f"batch:{morning.well}:1",
            title="x",
            reason="It is to be gone by 15:00.",
            since_ms=NOW,
            now_ms=NOW,
            clause="in use",
            batch_id=morning.well,
        )
    with morning.store.read() as session:
        view = batch_view(session, morning.well, NOW)
    assert view is not None
    assert view.sentence.endswith("soon. It is to be gone by 15:00.")
