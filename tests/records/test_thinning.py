"""Thinning a year-old walk-in: what goes, what stays, and that nobody can pass a loss off as one.

The figures follow from FDA Food Code 2022, 3-501.16(A)(2): 41 °F or less.
"""

# ruff: noqa: S608  every statement is written here

import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from sqlalchemy import text

from holdwatch.errors import ConfigError
from holdwatch.quantities import Scale, celsius_of_f
from holdwatch.records import check_record
from holdwatch.records.batch_pages import batch_pages
from holdwatch.records.gathering import Wanted, gather
from holdwatch.records.kinds import KINDS
from holdwatch.records.record import record_lines
from holdwatch.records.setting import Setting
from holdwatch.records.span import Span
from holdwatch.records.times import Times
from holdwatch.records.unit_pages import unit_pages
from holdwatch.records.verify import Verified, verify
from holdwatch.storage.engine import Store, open_store, store_url
from holdwatch.storage.handling import Signer
from holdwatch.storage.ids import id_of
from holdwatch.storage.people import add_person, person_named
from holdwatch.storage.placing import close_placement, placements
from holdwatch.storage.ranges import load_series
from holdwatch.storage.register import add_correction, add_probe, batch_named, end_batch, probe_named, unit_named
from holdwatch.storage.sealing import SECOND_VALUE, SETTLE_MS, day_of, first_ms_of, seal_next
from holdwatch.storage.tables import ReadingFlag
from holdwatch.storage.thinning import Thinner, Thinning, thin, thin_day, what_stays
from holdwatch.storage.writing import NewReading, write_readings
from holdwatch.trust.keys import key_in
from holdwatch.trust.merkle import PACKED
from holdwatch.watch.loop import Watch
from tests.published.record_form_1 import check_record as first_checker
from tests.watch.kitchen import DAY, HOUR, MIN, T0, Kitchen, Pair, cooling

ZERO = T0 - 8 * HOUR  # midnight in Denver
END = ZERO + 3 * DAY
LATER = T0 + 4 * 365 * DAY
RULE = Thinner(1096, LATER, "Ines Okafor")
WARM, HOLE = (ZERO + 30 * HOUR, ZERO + 32 * HOUR), (ZERO + 60 * HOUR, ZERO + 61 * HOUR)


def _walk_in() -> list[Pair]:
    """Three days at 38 °F, a reading every 30 s: two hours that go up to 46 °F, an hour of silence."""
    at = np.arange(ZERO, END, MIN // 2)
    warm = np.where((at > WARM[0]) & (at < WARM[1]), 8 * np.sin((at - WARM[0]) / (WARM[1] - WARM[0]) * np.pi), 0.0)
    fahrenheit = 38 + 0.7 * np.sin(at / HOUR * 9) + warm
    heard = (at < HOLE[0]) | (at > HOLE[1])
    return [(int(a), celsius_of_f(float(f))) for a, f in zip(at[heard], fahrenheit[heard], strict=True)]


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data directory of four years ago, judged, its days sealed and its batch over."""
    folder = tmp_path_factory.mktemp("filled")
    kitchen = Kitchen.on(store_url(folder, None), migrate=True)
    kitchen.probe("p1")
    kitchen.probe("p2")
    kitchen.unit("Walk-in 1", "walk-in", "p1", at_ms=ZERO)
    kitchen.batch("L1", "p2", at_ms=T0)
    kitchen.arrive("p2", cooling(400), T0 + 7 * HOUR)
    for until in (ZERO + 34 * HOUR, END):
        kitchen.arrive("p1", [pair for pair in _walk_in() if until - 38 * HOUR <= pair[0] < until], until)
        kitchen.rounds(until)
    with kitchen.store.write() as session:
        for placement in placements(session, open_only=True):
            close_placement(session, placement, at_ms=END, now_ms=END, by="test")
        add_person(session, "Ines Okafor", "IO", "manager", now_ms=ZERO, by="Ines Okafor")
        add_person(session, "Ben Ruiz", "BR", "cook", now_ms=ZERO, by="Ines Okafor")
    with kitchen.store.write() as session:
        end_batch(session, batch_named(session, "L1"), outcome="served", at_ms=END, now_ms=END, by="test")
    kitchen.rounds(END + HOUR)
    key = key_in(folder)
    while seal_next(kitchen.store, key, END + DAY + SETTLE_MS) is not None:
        pass
    kitchen.store.checkpoint()
    kitchen.store.close()
    return folder


@pytest.fixture
def old(filled: Path, tmp_path: Path) -> Iterator[Store]:
    """A store of its own that is just that."""
    yield from _copied(filled, tmp_path)


@pytest.fixture(scope="module")
def thinned_once(filled: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same after a manager had it thinned."""
    folder = tmp_path_factory.mktemp("thinned")
    for store in _copied(filled, folder):
        assert sum(each.taken for each in _thin(store)) > 5_000
        store.checkpoint()
    return folder / "kitchen"


@pytest.fixture
def thinned(thinned_once: Path, tmp_path: Path) -> Iterator[Store]:
    """A store of its own that was thinned."""
    yield from _copied(thinned_once, tmp_path)


def _copied(folder: Path, into: Path) -> Iterator[Store]:
    shutil.copytree(folder, into / "kitchen")
    opened = open_store(store_url(into / "kitchen", None))
    yield opened
    opened.close()


def _signer(store: Store, name: str = "Ines Okafor", *, signed: bool = True) -> Signer:
    with store.read() as session:
        person = person_named(session, name)
    return Signer(person.name, person, signed)


def _thin(store: Store) -> list[Thinning]:
    return list(thin(store, _signer(store), LATER))


def _said(found: Verified) -> list[str]:
    return [f"{each.kind} {each.where}: {each.what}" for each in found.problems]


def _sql(store: Store, statement: str) -> None:
    with store.write() as session:
        session.connection().execute(text(statement))


def _verdicts(store: Store) -> list[tuple[object, ...]]:
    with store.read() as session:
        rows = session.connection().execute(text("SELECT subject, day, clause, verdict, facts FROM clause_state"))
        return sorted(tuple(row) for row in rows)


def _found(store: Store) -> list[tuple[object, ...]]:
    with store.read() as session:
        rows = session.connection().execute(text("SELECT id, kind, verdict, reason, version, closed_ms FROM finding"))
        return [*rows, *session.connection().execute(text("SELECT COUNT(*) FROM alert"))]


def test_a_thinned_store_is_whole_and_says_what_was_thinned(thinned: Store) -> None:
    """Each day by its probe, how many are gone and how many left, by whose word; and thinning again takes nothing."""
    found = verify(thinned)
    assert _said(found) == []
    days = [(each.probe, each.day, each.by) for each in found.thinned]
    assert days == [("p1", day_of(ZERO + n * DAY), "Ines Okafor") for n in range(4)]
    assert sum(each.taken + each.left for each in found.thinned) == len(_walk_in())
    assert [each.taken for each in _thin(thinned)] == [0]  # of the batch's probe nothing may go


def test_every_extreme_crossing_and_gap_stays(old: Store) -> None:
    """Of each five minutes the coldest and the warmest; round the warm spell, its finding and the hole every reading."""
    with old.read() as session:
        before = load_series(session, 1, ZERO, END)
    _thin(old)
    with old.read() as session:
        after = load_series(session, 1, ZERO, END)
        batch = load_series(session, 2, ZERO, END)
        rolled = session.connection().execute(text("SELECT SUM(count) FROM rollup_5m WHERE probe_id = 1")).scalar_one()
    assert len(batch) == 401
    assert rolled == len(before)
    for series in (before, after):
        assert series.at_ms[0] == ZERO
    buckets, kept = before.at_ms // (5 * MIN), after.at_ms // (5 * MIN)
    for bucket in np.unique(buckets):
        was, is_now = before.celsius[buckets == bucket], after.celsius[kept == bucket]
        assert (was.min(), was.max(), was[0], was[-1]) == (is_now.min(), is_now.max(), is_now[0], is_now[-1])
    beyond = [series.at_ms[series.celsius > 5.0] for series in (before, after)]  # 41 °F
    assert beyond[0].tolist() == beyond[1].tolist()
    assert max(np.diff(before.at_ms)) == max(np.diff(after.at_ms))


HIDDEN = {
    "a reading that was left, taken out": (f"DELETE FROM reading WHERE at_ms = {ZERO}", "missing", "left by"),
    "a whole thinned day": (
        f"DELETE FROM reading WHERE at_ms < {first_ms_of(day_of(ZERO)) + DAY}",
        "missing",
        "its 456 sealed",
    ),
    "a reading that was left, changed": (f"UPDATE reading SET celsius = 1 WHERE at_ms = {ZERO}", "altered", "left by"),
    "a reading put in": (
        f"INSERT INTO reading (probe_id, at_ms, celsius, lag_ms, flags) VALUES (1, {ZERO + 1}, 3, 0, 0)",
        "added",
        "left by thinning",
    ),
    "that it was thinned": ("DELETE FROM thinned_day WHERE id = 2", "missing", "thinned_day 2"),
    "how many were taken": ("UPDATE thinned_day SET taken = taken + 1 WHERE id = 2", "altered", "thinned_day 2"),
    "a verdict of a thinned day": (
        "UPDATE clause_state SET verdict = 'met' WHERE day = '2026-11-25' AND verdict = 'missed'",
        "altered",
        "the verdicts of the day",
    ),
}


@pytest.mark.parametrize("name", HIDDEN)
def test_thinning_hides_nothing_else(thinned: Store, name: str) -> None:
    """What is changed on a thinned day is found as on any other; its verdicts too, since nobody can compute them again."""
    statement, kind, where = HIDDEN[name]
    _sql(thinned, statement)
    said = _said(verify(thinned))
    assert [each for each in said if each.startswith(kind) and where in each], said


def test_a_row_deleted_by_hand_is_still_missing(old: Store) -> None:
    """Before any thinning, and a day that lost one is not thinned: what it was must stay to be seen."""
    _sql(old, f"DELETE FROM reading WHERE at_ms = {ZERO + 40 * HOUR}")
    days = _thin(old)
    spoilt = day_of(ZERO + 40 * HOUR)
    assert [(each.day, "not as they were sealed" in each.why_not) for each in days if each.why_not] == [(spoilt, True)]
    said = _said(verify(old))
    assert [each for each in said if each.startswith("missing") and spoilt in each] == said


@pytest.mark.parametrize(
    ("before", "rule", "why"),
    [
        ("DELETE FROM seal WHERE probe_id = 1", RULE, "not sealed"),
        (
            f"INSERT INTO late_reading (probe_id, at_ms, celsius, flags) VALUES (1, {ZERO + 9}, 3, 0)",
            RULE,
            "late readings of the day wait",
        ),
        ("SELECT 1", Thinner(1096, ZERO + 1000 * DAY), "kept until 25 Nov 2029"),
        ("UPDATE finding SET closed_ms = NULL, since_ms = 0", RULE, "still open"),
    ],
    ids=["before its seal", "before a supplement", "too young", "something is open"],
)
def test_a_day_is_not_thinned(old: Store, before: str, rule: Thinner, why: str) -> None:
    """Whoever asks for it; and nothing is taken."""
    _sql(old, before)
    count = "SELECT COUNT(*) FROM reading"
    with old.read() as session:
        there = session.connection().execute(text(count)).scalar_one()
    with pytest.raises(ConfigError, match=why), old.write() as session:
        thin_day(session, 1, day_of(ZERO), rule)
    with old.read() as session:
        assert session.connection().execute(text(count)).scalar_one() == there


def test_only_a_manager_has_readings_thinned(old: Store) -> None:
    """With the PIN found right."""
    for signer, why in (
        (_signer(old, signed=False), "signed with the PIN"),
        (Signer("console user ana"), "signed with the PIN"),
        (_signer(old, "Ben Ruiz"), "Ben Ruiz is cook"),
    ):
        with pytest.raises(ConfigError, match=why):
            list(thin(old, signer, LATER))


def test_what_was_found_of_a_thinned_day_stands(thinned: Store) -> None:
    """However the watch is told to look again: nothing becomes kept, nothing alerts, nothing closes."""
    verdicts, found = _verdicts(thinned), _found(thinned)
    assert "missed" in {row[3] for row in verdicts}
    _sql(
        thinned,
        "INSERT INTO watch_state (subject, next_ms, facts) VALUES ('batch:1:1', 1, '{}') ON CONFLICT DO NOTHING",
    )
    _sql(
        thinned,
        "INSERT INTO arrival (kind, probe_id, batch_id, first_ms, last_ms, count, at_ms) VALUES "
        f"('correction', 1, NULL, {ZERO}, {END}, 1, {LATER}), ('event', NULL, 1, {ZERO}, {END}, 1, {LATER})",
    )
    _sql(thinned, "UPDATE reading SET celsius = 1")  # if it were judged again, all would be kept
    report = Watch(thinned, pause_ms=0).catch_up(LATER)
    assert (report.arrivals, report.trouble) == (2, "")
    assert _verdicts(thinned) == verdicts
    assert _found(thinned) == found


def test_a_thinned_day_is_not_corrected(thinned: Store) -> None:
    """Its verdicts would stand beside other figures; a later day is corrected as ever."""
    shared = {"to_ms": None, "offset_c": 3.0, "by": "Ines Okafor", "why": "ice point", "now_ms": LATER}
    with thinned.write() as session:
        probe = probe_named(session, "p1")
        with pytest.raises(ConfigError, match="were thinned, and cannot be judged again"):
            add_correction(session, probe, from_ms=ZERO, **shared)
        assert add_correction(session, probe, from_ms=END + DAY, **shared).id == 1


def _papers(store: Store) -> list[object]:
    """Return what is printed of the day of the warm spell, but for where the chain stands."""
    span = Span(ZERO + DAY, ZERO + 2 * DAY - 1)
    pieces = dict(gather(store, span, LATER, Wanted(KINDS["day"]), lambda _: None))
    del pieces[0]["head"]
    setting = Setting(span, LATER, "America/Denver", Scale.F, Times("America/Denver", span))
    with store.read() as session:
        unit = unit_pages(session, unit_named(session, "Walk-in 1"), setting, charts=False)
        batch = batch_pages(session, batch_named(session, "L1"), setting, charts=False)
    return [pieces, unit, batch]


def test_papers_of_thinned_days_say_the_same(old: Store) -> None:
    """Word by word and figure by figure: how many readings there were, the coldest, the mean, the longest gap."""
    before = _papers(old)
    _thin(old)
    assert _papers(old) == before
    assert "'2,880', '30 s'" in str(before)


def _lines(store: Store) -> list[str]:
    return [line.rstrip("\n") for line in record_lines(store)]


def test_the_file_for_a_technician_says_it_too(thinned: Store) -> None:
    """Today's checker reads it; the first one says that it is of a later form, and never that something is missing."""
    lines = _lines(thinned)
    found = check_record.check(iter(lines), [])
    assert (found.wrong, len(found.thinned)) == ([], 4)
    assert first_checker.check(iter(lines), []).wrong == [
        "line 1: this is no record of the form {'form': 'holdwatch record', 'version': 1}"
    ]
    first = next(at for at, line in enumerate(lines) if '"readings"' in line)
    changed = [*lines[:first], lines[first].replace("3.", "2.", 1), *lines[first + 1 :]]
    assert "that were left" in check_record.check(iter(changed), []).wrong[0]
    without = [*lines[:first], *lines[first + 1 :]]
    assert "its 0 readings" in check_record.check(iter(without), []).wrong[0]


def test_what_was_never_judged_or_came_second_stays() -> None:
    """And a second value's first one."""
    flags = [0, 0, 0, ReadingFlag.UNKNOWN_INSTANT, 0, 0, SECOND_VALUE]
    readings = np.array(
        [(n, 4.0, 0, int(flag)) for n, flag in enumerate(flags[:-1])] + [(2, 9.0, 0, 256)], dtype=PACKED
    )
    stays = what_stays(readings, readings["celsius"].astype(float), [], [])
    assert stays.tolist() == [True, False, True, True, False, True, True]
    assert what_stays(readings, readings["celsius"].astype(float), [4.5], []).all()
    assert what_stays(readings, readings["celsius"].astype(float), [], [(0, 4)]).all()
    assert what_stays(readings[:0], np.empty(0), [4.5], []).tolist() == []


def test_a_reading_that_comes_after_the_thinning_is_sealed_beside_it(thinned: Store, filled: Path) -> None:
    """Its supplement is checked as ever, and what was left is still what was left."""
    with thinned.write() as session:
        write_readings(session, [NewReading(1, ZERO + 7, 3.0, LATER)], LATER)
    assert verify(thinned).whole
    assert seal_next(thinned, key_in(filled), LATER) is not None
    assert _said(verify(thinned)) == []
    assert check_record.check(iter(_lines(thinned)), []).wrong == []


def test_either_database_thins(either_store: Store, tmp_path: Path) -> None:
    """Four times five minutes, by hand: 3, 4, 3 and 4 are left of 10 each, first or last being an extreme in two."""
    with either_store.write() as session:
        probe = id_of(add_probe(session, "p1", medium="food", now_ms=ZERO, by="Ines Okafor"))
        write_readings(session, [NewReading(probe, ZERO + n * MIN // 2, 3 + n % 7, ZERO) for n in range(40)], ZERO)
    assert seal_next(either_store, key_in(tmp_path), LATER) is not None
    with either_store.write() as session:
        assert thin_day(session, probe, day_of(ZERO), RULE).taken == 26
    found = verify(either_store)
    assert (_said(found), found.sealed, len(found.thinned)) == ([], 14, 1)
