"""What the watch finds in the demonstration, of itself."""

from pathlib import Path
from typing import Any

import pytest

from devices.simulator.device import Device
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.demo.live import LiveKitchen
from holdwatch.storage.findings import findings
from holdwatch.storage.outbox import waiting_alerts
from holdwatch.storage.readings import NewReading, write_readings
from holdwatch.storage.register import batch_named, probes
from holdwatch.storage.states import clause_states, forecasts
from holdwatch.storage.tables import ClauseState
from holdwatch.watch.rounds import Watch
from tests.demo.conftest import T0, Demo, copied
from tests.support.agreement import INSTANTS_INSIDE, agreeing_clauses

pytestmark = pytest.mark.long


def test_watch_finds_in_the_demonstration_what_went_wrong(watched: Demo) -> None:
    """Two batches of the history, the afternoon of the reach-in, the forgotten custard; and one deep curd, ahead of time."""
    plans = {plan.lot: plan for plan in [*watched.plan.history(), *watched.plan.live()]}
    wrong = [plan.lot for plan in plans.values() if plan.action]
    forgotten, _cold, deep, well = (plan.lot for plan in watched.plan.live())
    with watched.store.read() as session:
        lots = {batch_named(session, lot).id: lot for lot in plans}
        found = findings(session)
        missed = {lots[f.batch_id] for f in found if f.kind == "deviation" and f.batch_id is not None}
        soon = {lots[f.batch_id] for f in found if f.kind == "soon" and f.batch_id is not None}
        assert missed == set(wrong) - {deep}
        assert forgotten in missed
        assert soon == {deep}
        assert {f.clause for f in found if f.batch_id and lots[f.batch_id] == forgotten} == {"3-501.14(A)(1)"}
        in_units = [f for f in found if f.unit_id is not None and f.kind == "deviation"]
        assert [f.title.split(",")[0] for f in in_units] == ["Reach-in"]
        assert {f.kind for f in found} == {"deviation", "soon"}, "no hole, no silent probe, no fault of the system"
        assert {f.batch_id for f in findings(session, open_only=True)} == {
            batch_named(session, forgotten).id,
            batch_named(session, deep).id,
        }
        ahead = {row.clause: row for row in forecasts(session, batch_named(session, well).id or 0)}
        assert all(row.reaches is not False for row in ahead.values())


def test_watch_queues_the_alert_of_the_custard(watched: Demo) -> None:
    """Its alert waits for the inbox, with clause and what to do."""
    forgotten = watched.plan.live()[0]
    with watched.store.read() as session:
        waiting = [alert for alert in waiting_alerts(session) if forgotten.lot in alert.title]
    (alert,) = waiting
    assert "3-501.14(A)(1)" in alert.title
    assert "70 °F" in alert.body


def test_watch_shows_ordinary_batches_as_kept(watched: Demo) -> None:
    """Every batch that went as it should has both cooling clauses met, and nothing left open or not shown."""
    ordinary = [plan.lot for plan in watched.plan.history() if not plan.action]
    with watched.store.read() as session:
        for lot in ordinary:
            rows: list[ClauseState] = clause_states(session, batch_id=batch_named(session, lot).id)
            verdicts = {row.clause: row.verdict for row in rows}
            assert verdicts.pop("3-501.14(A)(1)") == "met", lot
            assert verdicts.pop("3-501.14(A)(2)") == "met", lot
            assert set(verdicts.values()) <= {"met", "none"}, (lot, verdicts)


def test_watch_and_assess_agree_on_every_batch(watched: Demo, tmp_path: Path) -> None:
    """Each vessel's exported readings, judged as a file, get the stored brackets; so they do at ten instants inside."""
    lots = [plan.lot for plan in [*watched.plan.history(), *watched.plan.live()]]
    with watched.store.read() as session:
        compared = {lot: agreeing_clauses(session, batch_named(session, lot), tmp_path) for lot in lots}
    assert min(compared.values()) >= INSTANTS_INSIDE, compared


class Listener:
    """Stands in for publisher, broker and listener: what is published is kept at once."""

    def __init__(self, demo: Demo) -> None:
        self.kept: list[NewReading] = []
        with demo.store.read() as session:
            self.ids = {probe.code: probe.id or 0 for probe in probes(session)}

    def publish(self, device: Device, at_ms: int, celsius: float) -> None:
        """Note a reading."""
        self.kept.append(NewReading(self.ids[device.code], at_ms, celsius, at_ms))

    def send_due(self) -> int:
        """Send nothing."""
        return 0


def test_watch_with_live_readings_finds_the_deep_curd_missed(watched: Demo, tmp_path: Path) -> None:
    """The warning becomes a deviation when the two hours are over: the live readings show it still warm."""
    with copied(watched, tmp_path) as later:
        heard: Any = Listener(later)
        live = LiveKitchen(later.data, later.store, heard, clock=lambda: T0 + 78 * MS_PER_MINUTE)
        live.go_on()
        with later.store.write() as session:
            write_readings(session, heard.kept, T0 + 78 * MS_PER_MINUTE)
        watch = Watch(later.store, "", None, give_way=lambda _: None)
        for second in range(20):
            watch.go_round(T0 + 78 * MS_PER_MINUTE + second * 1_000)
        deep, well = (plan.lot for plan in later.plan.live()[2:])
        with later.store.read() as session:
            found = [f for f in findings(session) if f.batch_id == batch_named(session, deep).id]
            assert [(f.kind, f.clause) for f in found if f.kind == "deviation"] == [("deviation", "3-501.14(A)(1)")]
            rows = clause_states(session, batch_id=batch_named(session, well).id)
            assert {row.clause: row.verdict for row in rows}["3-501.14(A)(1)"] == "met"
