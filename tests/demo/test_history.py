"""The first start, and the starts after it."""

import json
from pathlib import Path

import pytest
from sqlmodel import Session, SQLModel, col, func, select

from devices.simulator.linden_street import DEVICES
from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR
from holdwatch.demo.kitchen import CONTACT, UNITS
from holdwatch.demo.plan import NEXT_SET_AFTER_MS
from holdwatch.demo.products import PLANNED
from holdwatch.demo.start import free_or_other, prepare
from holdwatch.errors import ConfigError
from holdwatch.plan.control import need_of
from holdwatch.settings import Settings
from holdwatch.storage.contacts import contact_named
from holdwatch.storage.engine import open_store
from holdwatch.storage.products import products_in_force
from holdwatch.storage.readings import count_readings, last_readings
from holdwatch.storage.register import batches, events, placements, probes, site_at, units
from holdwatch.storage.tables import (
    Alert,
    AlertAttempt,
    Batch,
    ClauseState,
    Event,
    EventKind,
    Finding,
    FindingVersion,
    ForecastState,
    Placement,
    Reading,
)
from tests.demo.conftest import T0, Demo


def count(session: Session, table: type[SQLModel]) -> int:
    """Return how many rows a table has."""
    return int(session.exec(select(func.count()).select_from(table)).one())


@pytest.mark.parametrize("table", [Finding, FindingVersion, Alert, AlertAttempt, ClauseState, ForecastState])
def test_fill_inserts_nothing_that_the_watch_should_find(demo: Demo, table: type[SQLModel]) -> None:
    """Findings, alerts, verdicts and forecasts are for the watch to make."""
    with demo.store.read() as session:
        assert count(session, table) == 0


def test_fill_writes_a_plan_with_some_questions_open(demo: Demo) -> None:
    """The products that it makes are in it, and each of their batches follows it."""
    with demo.store.read() as session:
        found = {product.name: product for product in products_in_force(session, T0)}
        started = events(session, kinds=[EventKind.BATCH_STARTED])
    assert set(found) == {name for _, name, _ in PLANNED}
    assert found["Pastry cream"].steps[2].place == "Walk-in 1"
    assert len(found["Ganache"].unanswered) == 4
    assert not need_of(found["Sponge"]).asked
    creams = [event for event in started if event.text == "Pastry cream"]
    assert creams
    assert all(event.facts["processes"] == ["cooling"] and event.facts["plan"] for event in creams)
    assert not any("plan" in event.facts for event in started if event.text == "Crème anglaise")


def test_fill_names_the_kitchen_and_its_things(demo: Demo) -> None:
    """The site, its units, its probes with their ways of speaking, and who is told."""
    with demo.store.read() as session:
        site = site_at(session, None)
        assert (site.name, site.timezone, site.limits) == (
            "Linden Street Patisserie",
            "America/Denver",
            "us-food-code-2022",
        )
        assert [unit.name for unit in units(session)] == list(UNITS)
        assert {probe.payload for probe in probes(session)} == {"senml", "json", "number"}
        assert {probe.code for probe in probes(session)} == set(DEVICES)
        assert contact_named(session, CONTACT).url == f"json://127.0.0.1:{demo.plan.inbox_port}"


def test_fill_writes_two_weeks_of_readings(demo: Demo) -> None:
    """Every probe with a place in a unit has fourteen days, none has anything after the beginning."""
    with demo.store.read() as session:
        assert count_readings(session) > 90_000
        found = {probe.id: probe.code for probe in probes(session)}
        for probe_id, last in last_readings(session, None).items():
            assert T0 - 4 * MS_PER_HOUR < last.at_ms <= T0, found[probe_id]
        first = session.exec(select(func.min(col(Reading.at_ms)))).one()
        assert first - (T0 - 14 * MS_PER_DAY) < 10 * 60_000


def test_fill_leaves_the_live_batches_running(demo: Demo) -> None:
    """Four run with a probe each; what came before has ended, with what was done about what went wrong."""
    with demo.store.read() as session:
        running = batches(session, running_only=True)
        assert [batch.product for batch in running] == [plan.product.name for plan in demo.plan.live()]
        for batch in running:
            assert len(placements(session, batch_id=batch.id, open_only=True)) == 1
        ended = [batch for batch in batches(session) if batch.ended_ms is not None]
        assert [batch.outcome for batch in ended].count("discarded") == 2
        actions = events(session, kinds=[EventKind.ACTION])
        assert len(actions) == 3, "two batches, and the day of the reach-in"


def test_fill_records_each_step_at_its_own_instant(demo: Demo) -> None:
    """History looks as if it had been written down while it happened."""
    with demo.store.read() as session:
        noted = session.exec(select(Event).where(col(Event.batch_id).is_not(None))).all()
    assert len(noted) > 300
    assert all(event.recorded_ms == event.at_ms for event in noted)


def test_prepare_again_inserts_nothing_twice(copy: Demo) -> None:
    """A second start goes on with what there is."""
    said: list[str] = []
    with copy.store.read() as session:
        before = {table: count(session, table) for table in (Reading, Batch, Placement, Event)}
    plan = prepare(Settings(data=copy.data), said.append, clock=lambda: T0 + MS_PER_HOUR)
    with copy.store.read() as session:
        assert {table: count(session, table) for table in before} == before
    assert plan == copy.plan
    assert said == ["Going on where it was."]


def test_prepare_after_a_night_lays_out_a_new_set(copy: Demo) -> None:
    """When the live batches have had their time the next start has fresh ones."""
    later = T0 + NEXT_SET_AFTER_MS + MS_PER_HOUR
    plan = prepare(Settings(data=copy.data), print, clock=lambda: later)
    assert plan.sets_ms == (T0, later)
    assert json.loads((copy.data / "demo.json").read_text(encoding="utf-8"))["sets_ms"] == [T0, later]


def test_prepare_in_the_record_of_a_real_kitchen_refuses(tmp_path: Path) -> None:
    """The demonstration never writes into somebody's record."""
    settings = Settings(data=tmp_path)
    open_store(settings.store_url, migrate=True).close()
    with pytest.raises(ConfigError, match="not a demonstration"):
        prepare(settings, print)
    with pytest.raises(ConfigError, match="HOLDWATCH_DATABASE_URL"):
        prepare(Settings(data=tmp_path / "other", database_url="postgresql://x/y"), print)


def test_prepare_where_no_directory_can_be_made_says_so(tmp_path: Path) -> None:
    """One line names the directory."""
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(ConfigError, match="cannot be"):
        prepare(Settings(data=tmp_path / "file" / "demo"), print)


def test_free_or_other_port_in_use_gives_another() -> None:
    """A port that is taken is not insisted on."""
    import socket

    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert free_or_other(port) not in {0, port}
    assert free_or_other(port) == port
