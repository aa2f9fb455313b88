"""The commands that make and read the record."""

from datetime import datetime, timedelta
from pathlib import Path

from holdwatch.clock import now_ms, to_datetime
from holdwatch.storage.engine import open_store, store_url
from holdwatch.storage.findings import close_finding, open_finding
from holdwatch.storage.readings import NewReading, write_readings
from holdwatch.storage.register import batch_named, events, placements, probe_named, site_at
from holdwatch.storage.states import save_clause
from holdwatch.storage.tables import FindingKind
from tests.support.commands import SITE, holdwatch, printed, refused, succeed


def test_init_makes_the_store_and_the_site(data: Path) -> None:
    """The site is in force for all of time, so that what happened before is judged too."""
    store = open_store(store_url(data, None))
    with store.read() as session:
        site = site_at(session, None)
    store.close()
    assert (site.name, site.timezone, site.limits, site.unit) == (
        "Linden Street Patisserie",
        "America/Denver",
        "us-food-code-2022",
        "F",
    )
    assert site.from_ms == 0


def test_init_a_second_time_is_refused(data: Path) -> None:
    """A record is not named twice."""
    line = refused("init", "--data", data, "--site", "Another", "--timezone", "America/Denver")
    assert "already is the record of 'Linden Street Patisserie'" in line


def test_init_with_unknown_limits_makes_nothing(tmp_path: Path) -> None:
    """The directory is made only when all of it can be."""
    line = refused("init", "--data", tmp_path / "k", *SITE[:4], "--limits", "no-such-code")
    assert "us-food-code-2022" in line
    assert not (tmp_path / "k").exists()


def test_init_with_a_mistyped_zone_names_the_near_one(tmp_path: Path) -> None:
    """A time zone is said back."""
    line = refused("init", "--data", tmp_path / "k", "--site", "X", "--timezone", "America/Denvr")
    assert "did you mean America/Denver?" in line


def test_init_with_a_limits_file_of_ones_own_keeps_its_whole_path(tmp_path: Path) -> None:
    """The site finds the file again from any directory."""
    own = tmp_path / "own.toml"
    packaged = Path(__file__).parents[2] / "holdwatch" / "limits" / "codes" / "us-food-code-2022.toml"
    own.write_text(packaged.read_text(encoding="utf-8"), encoding="utf-8")
    succeed("init", "--data", tmp_path / "k", *SITE[:4], "--limits", own)
    store = open_store(store_url(tmp_path / "k", None))
    with store.read() as session:
        assert site_at(session, None).limits == str(own)
    store.close()


def test_probe_list_tells_what_was_heard_and_its_age(kitchen: Path) -> None:
    """A program reads id, medium, topic, the last reading and its age."""
    at_ms = now_ms() - 90_000
    store = open_store(store_url(kitchen, None))
    with store.write() as session:
        probe = probe_named(session, "p1")
        write_readings(session, [NewReading(probe.id or 0, at_ms, 4.25, at_ms + 250, 0)], at_ms + 250)
    store.close()
    (row,) = printed("probe", "list", "--data", kitchen)
    assert (row["id"], row["medium"], row["topic"], row["payload"]) == ("p1", "food", "holdwatch/p1", "number")
    assert row["placed"] == "batch L1, vessel 1"
    assert row["last_reading"]["celsius"] == 4.25
    assert datetime.fromisoformat(row["last_reading"]["at"]) == to_datetime(at_ms)
    assert datetime.fromisoformat(row["last_reading"]["received_at"]) == to_datetime(at_ms + 250)
    assert 90 <= row["age_s"] < 90 + 60
    told = succeed("probe", "list", "--data", kitchen)
    assert "39.6\u202f°F" in told
    assert "ago" in told


def test_probe_list_before_anything_was_heard_says_so(kitchen: Path) -> None:
    """A probe that was never heard has no last reading."""
    (row,) = printed("probe", "list", "--data", kitchen)
    assert row["last_reading"] is None
    assert row["age_s"] is None
    assert "never heard" in succeed("probe", "list", "--data", kitchen)


def test_probe_add_keeps_its_profile(data: Path) -> None:
    """Everything that says how a probe speaks is kept."""
    succeed(
        *("probe", "add", "p3", "--medium", "air", "--payload", "json", "--pointer", "/d/temp", "--data", data),
        *("--time-pointer", "/ts", "--unit-pointer", "/d/u", "--unit", "F", "--topic", "cellar/box7"),
    )
    store = open_store(store_url(data, None))
    with store.read() as session:
        probe = probe_named(session, "p3")
    store.close()
    assert (probe.medium, probe.payload, probe.pointer, probe.time_pointer) == ("air", "json", "/d/temp", "/ts")
    assert (probe.unit_pointer, probe.unit, probe.topic) == ("/d/u", "F", "cellar/box7")


def test_place_moves_a_probe_from_a_batch_to_a_unit(kitchen: Path) -> None:
    """The placement before ends where the new one begins."""
    succeed("place", "p1", "--unit", "Walk-in 1", "--data", kitchen)
    store = open_store(store_url(kitchen, None))
    with store.read() as session:
        before, after = placements(session)
    store.close()
    assert before.to_ms == after.from_ms
    assert after.to_ms is None
    (unit,) = printed("unit", "list", "--data", kitchen)
    assert (unit["name"], unit["kind"], unit["probes"]) == ("Walk-in 1", "walk-in", ["p1"])


def test_place_out_ends_the_placement(kitchen: Path) -> None:
    """A probe that is taken out watches nothing."""
    succeed("place", "p1", "--out", "--data", kitchen)
    (row,) = printed("probe", "list", "--data", kitchen)
    assert row["placed"] is None


def test_place_in_two_things_is_refused(kitchen: Path) -> None:
    """A probe is in one place at a time."""
    assert "say one of" in refused("place", "p1", "--unit", "Walk-in 1", "--batch", "L1", "--data", kitchen)
    assert "say one of" in refused("place", "p1", "--data", kitchen)


def test_place_in_an_unknown_unit_names_the_near_one(kitchen: Path) -> None:
    """A mistyped name is said back."""
    assert "did you mean 'Walk-in 1'?" in refused("place", "p1", "--unit", "Walkin 1", "--data", kitchen)


def test_batch_start_places_its_probe_at_the_same_instant(data: Path) -> None:
    """What the probe said before is not the batch's."""
    succeed("probe", "add", "p1", "--medium", "food", "--data", data)
    at = (to_datetime(now_ms()) - timedelta(hours=1)).isoformat()
    succeed(
        *("batch", "start", "--product", "Pastry cream", "--lot", "L7", "--vessels", 6, "--probe", "p1"),
        *("--slowest", "--at", at, "--data", data),
    )
    store = open_store(store_url(data, None))
    with store.read() as session:
        batch = batch_named(session, "L7")
        (placed,) = placements(session, batch_id=batch.id)
    store.close()
    assert batch.vessels == 6
    assert (placed.from_ms, placed.vessel, placed.slowest) == (batch.started_ms, 1, True)


def test_batch_note_reading_keeps_the_figure_and_who_took_it(kitchen: Path) -> None:
    """A reading by hand is kept in full precision."""
    succeed("batch", "note", "L1", "reading", "68F", "--by", "Ines", "--data", kitchen)
    store = open_store(store_url(kitchen, None))
    with store.read() as session:
        (event,) = [each for each in events(session) if each.kind == "reading"]
    store.close()
    assert event.celsius == 20.0
    assert (event.by, event.vessel) == ("Ines", 1)


def test_batch_note_reading_of_several_vessels_asks_which(data: Path) -> None:
    """A reading is never put down to a vessel that nobody named."""
    succeed("batch", "start", "--product", "Pastry cream", "--lot", "L7", "--vessels", 6, "--data", data)
    assert "which vessel" in refused("batch", "note", "L7", "reading", "68F", "--data", data)
    succeed("batch", "note", "L7", "reading", "68F", "--vessel", 3, "--data", data)
    refused("batch", "note", "L7", "reading", "68F", "--vessel", 7, "--data", data)


def test_batch_note_without_a_unit_of_temperature_is_refused(kitchen: Path) -> None:
    """Nobody guesses between °F and °C."""
    assert "68F or 20.5C" in refused("batch", "note", "L1", "reading", "68", "--data", kitchen)
    assert "needs its temperature" in refused("batch", "note", "L1", "reading", "--data", kitchen)
    assert "no temperature of food" in refused("batch", "note", "L1", "reading", "900F", "--data", kitchen)


def test_batch_note_ended_ends_the_batch(kitchen: Path) -> None:
    """Both ways of saying so mean the same."""
    succeed("batch", "note", "L1", "ended", "--data", kitchen)
    (row,) = printed("batch", "list", "--data", kitchen)
    assert row["ended_at"] is not None
    assert "already ended" in refused("batch", "end", "L1", "--data", kitchen)


def test_batch_list_tells_what_runs(kitchen: Path) -> None:
    """A batch that is not judged yet has no verdict."""
    (row,) = printed("batch", "list", "--running", "--data", kitchen)
    assert (row["lot"], row["product"], row["vessels"], row["verdict"]) == ("L1", "Pastry cream", 1, None)
    succeed("batch", "end", "L1", "--outcome", "discarded", "--data", kitchen)
    assert printed("batch", "list", "--running", "--data", kitchen) == []
    assert "discarded" in succeed("batch", "list", "--data", kitchen)


def test_findings_of_nothing_is_an_empty_list(kitchen: Path) -> None:
    """Whatever was found, the exit status is 0."""
    assert printed("findings", "--data", kitchen) == []
    assert succeed("findings", "--data", kitchen) == "Nothing was found.\n"


def test_unknown_command_names_the_near_one() -> None:
    """A mistyped command is said back."""
    result = holdwatch("fidnings")
    assert result.exit_code == 2
    assert "did you mean 'findings'?" in result.stderr


def test_version_tells_program_and_tables() -> None:
    """Which version this is, for a report."""
    assert set(printed("version")) == {"holdwatch", "tables"}


def test_batch_list_says_what_the_record_shows(kitchen: Path) -> None:
    """A program reads the verdict, a person the word that screens and papers use."""
    store = open_store(store_url(kitchen, None))
    with store.write() as session:
        batch = batch_named(session, "L1")
        for clause, verdict in (("3-501.14(A)(1)", "met"), ("3-501.14(A)(2)", "unproven")):
            save_clause(
                session,
                subject=f"batch:{batch.id}:1",
                clause=clause,
                verdict=verdict,
                facts={},
                judged_ms=now_ms(),
                batch_id=batch.id,
                vessel=1,
                process="cooling",
            )
    store.close()
    (row,) = printed("batch", "list", "--data", kitchen)
    assert row["verdict"] == "unproven"
    assert [each["verdict"] for each in row["clauses"]] == ["met", "unproven"]
    assert "not shown" in succeed("batch", "list", "--data", kitchen)


def test_batch_list_one_of_six_vessels_does_not_speak_for_all(kitchen: Path) -> None:
    """What one vessel kept is not shown of the others; with the slowest declared it is."""
    for lot, probe, options in (("L6", "p6", ()), ("L7", "p7", ("--slowest",))):
        succeed("probe", "add", probe, "--medium", "food", "--data", kitchen)
        start = ("batch", "start", "--product", "Flan", "--lot", lot, "--vessels", "6", "--probe", probe)
        succeed(*start, *options, "--data", kitchen)
        store = open_store(store_url(kitchen, None))
        with store.write() as session:
            batch = batch_named(session, lot)
            save_clause(
                session,
                subject=f"batch:{batch.id}:1",
                clause="3-501.14(A)(1)",
                verdict="met",
                facts={},
                judged_ms=now_ms(),
                batch_id=batch.id,
                vessel=1,
                process="cooling",
            )
        store.close()
    rows = {row["lot"]: row for row in printed("batch", "list", "--data", kitchen)}
    assert (rows["L6"]["verdict"], rows["L6"]["measured"]) == ("unproven", "1 of 6 vessels measured")
    assert rows["L7"]["verdict"] == "met"
    assert rows["L7"]["measured"] == "1 of 6 vessels measured, the slowest among them"


def test_findings_json_has_the_keys_that_programs_rely_on(kitchen: Path) -> None:
    """The exit status is 0 although something was found."""
    store = open_store(store_url(kitchen, None))
    with store.write() as session:
        batch = batch_named(session, "L1")
        finding = open_finding(
            session,
            key="batch:1:1 3-501.14(A)(1)",
            kind=FindingKind.DEVIATION,
            subject=f"batch:{batch.id}:1",
            title="Pastry cream L1",
            reason="still 95 °F at 12:05",
            since_ms=1_795_500_000_000,
            now_ms=1_795_500_060_000,
            clause="3-501.14(A)(1)",
            source="FDA Food Code 2022, 3-501.14(A)(1)",
            verdict="missed",
            batch_id=batch.id,
        )
        close_finding(session, finding, reason="the batch was discarded", now_ms=1_795_500_120_000)
    store.close()
    (row,) = printed("findings", "--data", kitchen)
    wanted = {
        "kind": "deviation",
        "subject": "Pastry cream L1",
        "clause": "3-501.14(A)(1)",
        "verdict": "missed",
        "opened_at": "2026-11-24T06:01:00Z",
        "closed_at": "2026-11-24T06:02:00Z",
        "reason": "still 95 °F at 12:05",
    }
    assert {key: row[key] for key in wanted} == wanted
    assert isinstance(row["id"], int)
    assert printed("findings", "--open", "--data", kitchen) == []
    assert [each["id"] for each in printed("findings", "--batch", "L1", "--data", kitchen)] == [row["id"]]
    assert "deviation: Pastry cream L1, 3-501.14(A)(1)" in succeed("findings", "--data", kitchen)
