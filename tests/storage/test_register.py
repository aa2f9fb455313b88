"""The register: names, placements, batches, notes."""

from collections.abc import Callable
from typing import Any

import pytest
from sqlmodel import Session, select

from holdwatch.errors import ConfigError, HoldwatchError, LimitsError, NameTakenError, StorageError, UnknownNameError
from holdwatch.storage.batching import batches_near, latest_batches
from holdwatch.storage.engine import Store
from holdwatch.storage.ids import id_of
from holdwatch.storage.parts import divide_batch
from holdwatch.storage.register import (
    add_correction,
    add_probe,
    add_unit,
    batch_named,
    batches,
    end_batch,
    events,
    note,
    note_unit,
    place,
    placements,
    probe_named,
    probes,
    set_site,
    site_at,
    start_batch,
    take_out,
    unit_named,
    units,
)
from holdwatch.storage.spoken import on_site_clock
from holdwatch.storage.tables import Arrival, EventKind, Placement
from tests.storage.kitchen import BY, NOW, Kitchen, open_kitchen

MINUTE, HOUR = 60_000, 3_600_000
SITE = {"name": "Linden Street Patisserie", "timezone": "America/Denver", "limits": "us-food-code-2022", "unit": "F"}


def _spans(rows: list[Placement]) -> list[tuple[int | None, int, int | None]]:
    """Write placements as (batch or none, hours before now, end likewise)."""
    return [
        (row.batch_id and row.vessel, (NOW - row.from_ms) // HOUR, row.to_ms and (NOW - row.to_ms) // HOUR)
        for row in rows
    ]


def test_site_at_gives_the_version_in_force(store: Store) -> None:
    """A change holds from its instant on; what was before is judged by what held then."""
    with store.write() as session:
        set_site(session, **SITE, from_ms=NOW - 10 * HOUR, now_ms=NOW, by=BY)
        set_site(session, **{**SITE, "unit": "C"}, from_ms=NOW - 2 * HOUR, now_ms=NOW, by=BY)
        assert [site_at(session, at).unit for at in (0, NOW - 3 * HOUR, NOW - 2 * HOUR, None)] == ["F", "F", "C", "C"]
        assert [event.kind for event in events(session)] == ["site-set", "site-set"]


def test_batches_are_looked_for_without_capitals_and_accents(store: Store) -> None:
    """Typed on a keyboard without accents, a product is found; the newest come first, and no more than are asked for."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        for n, product in enumerate(("Crème brûlée", "Pâte à choux", "CRÈME ANGLAISE")):
            start_batch(session, product=product, lot=f"Ü-{n}", at_ms=NOW - HOUR + n, now_ms=NOW, by=BY)

        def found(wanted: str, count: int = 9) -> list[str]:
            return [batch.lot for batch in latest_batches(session, count, wanted)]

        assert (found("creme"), found("creme", 1), found("crÈme b")) == (["Ü-2", "Ü-0"], ["Ü-2"], ["Ü-0"])
        assert (found("ü-1"), found("u-1"), found("strudel"), found("%")) == (["Ü-1"], ["Ü-1"], [], [])
        assert found("") == ["Ü-2", "Ü-1", "Ü-0", kitchen.batch.lot]

        def near(wanted: str) -> list[str]:
            return [batch.lot for batch in batches_near(session, 9, wanted)]

        assert (near("creme brulle"), near("pate a shoux"), near("u-11"), near("strudel")) == (
            ["Ü-0"],
            ["Ü-1"],
            ["Ü-1"],
            [],
        )


@pytest.mark.parametrize("zone", [None, "America/Denvr"])
def test_an_instant_is_told_in_utc_where_no_zone_is_known(store: Store, zone: str | None) -> None:
    """Before there is a site, and where its zone was spoilt behind the program's back."""
    with store.write() as session:
        if zone is not None:
            set_site(session, **SITE, from_ms=NOW, now_ms=NOW, by=BY).timezone = zone
        assert on_site_clock(session, NOW) == "Thu 28 May 2026 00:00 UTC"


def test_site_at_without_a_site_says_what_to_do(store: Store) -> None:
    """A store without a site is not set up yet."""
    with pytest.raises(StorageError, match="holdwatch init"), store.read() as session:
        site_at(session, None)


BAD: dict[str, tuple[type[HoldwatchError], str, Callable[[Session, Kitchen], object]]] = {
    "zone": (
        ConfigError,
        "did you mean 'America/Denver'",
        lambda s, _k: set_site(s, **{**SITE, "timezone": "America/Denvr"}, from_ms=NOW, now_ms=NOW, by=BY),
    ),
    "zone that is a path": (
        ConfigError,
        "no time zone",
        lambda s, _k: set_site(s, **{**SITE, "timezone": "../etc/passwd"}, from_ms=NOW, now_ms=NOW, by=BY),
    ),
    "limits": (
        LimitsError,
        "us-food-code-2022",
        lambda s, _k: set_site(s, **{**SITE, "limits": "atlantis"}, from_ms=NOW, now_ms=NOW, by=BY),
    ),
    "unit of temperature": (
        ConfigError,
        "F, C",
        lambda s, _k: set_site(s, **{**SITE, "unit": "K"}, from_ms=NOW, now_ms=NOW, by=BY),
    ),
    "unit twice": (
        NameTakenError,
        "'Walk-in 1'",
        lambda s, _k: add_unit(s, "walk-in 1 ", "freezer", now_ms=NOW, by=BY),
    ),
    "kind of unit": (ConfigError, "walk-in, reach-in", lambda s, _k: add_unit(s, "Shelf", "shelf", now_ms=NOW, by=BY)),
    "empty name": (ConfigError, "printable", lambda s, _k: add_unit(s, " ", "freezer", now_ms=NOW, by=BY)),
    "unknown unit": (UnknownNameError, "did you mean 'Walk-in 1'", lambda s, _k: unit_named(s, "walk in 1")),
    "unknown probe": (UnknownNameError, "there are a1, p1, p2", lambda s, _k: probe_named(s, "zzz")),
    "unknown batch": (UnknownNameError, "did you mean 'L1'", lambda s, _k: batch_named(s, "L11")),
    "probe twice": (NameTakenError, "'p1'", lambda s, _k: add_probe(s, "p1", medium="food", now_ms=NOW, by=BY)),
    "topic twice": (
        NameTakenError,
        "probe 'p1' already publishes",
        lambda s, _k: add_probe(s, "p9", medium="food", topic="holdwatch/p1", now_ms=NOW, by=BY),
    ),
    "wildcard topic": (
        ConfigError,
        r"no \+ or #",
        lambda s, _k: add_probe(s, "p9", medium="food", topic="a/#", now_ms=NOW, by=BY),
    ),
    "probe code": (ConfigError, "probe code", lambda s, _k: add_probe(s, "-p", medium="food", now_ms=NOW, by=BY)),
    "medium": (ConfigError, "food, air, product", lambda s, _k: add_probe(s, "p9", medium="oil", now_ms=NOW, by=BY)),
    "payload": (
        ConfigError,
        "senml, number, json",
        lambda s, _k: add_probe(s, "p9", medium="food", payload="xml", now_ms=NOW, by=BY),
    ),
    "pointer": (
        ConfigError,
        "JSON Pointer",
        lambda s, _k: add_probe(s, "p9", medium="food", pointer="a.b", now_ms=NOW, by=BY),
    ),
    "lot twice": (
        NameTakenError,
        "another lot",
        lambda s, _k: start_batch(s, product="Tart", lot="L1", at_ms=NOW, now_ms=NOW, by=BY),
    ),
    "vessels": (
        ConfigError,
        "vessels",
        lambda s, _k: start_batch(s, product="Tart", lot="L2", vessels=0, at_ms=NOW, now_ms=NOW, by=BY),
    ),
    "step": (
        ConfigError,
        "cook, cool, hold",
        lambda s, _k: start_batch(s, product="Tart", lot="L2", step="fry", at_ms=NOW, now_ms=NOW, by=BY),
    ),
    "future": (
        ConfigError,
        r"cannot be at Wed 27 May 2026 18:02 MDT: that is in the future \(it is Wed 27 May 2026 18:00 MDT here\)",
        lambda s, _k: start_batch(s, product="Tart", lot="L2", at_ms=NOW + 120_001, now_ms=NOW, by=BY),
    ),
    "vessel of none": (
        ConfigError,
        "from 1 to 2",
        lambda s, k: place(s, k.food, batch=k.batch, vessel=3, at_ms=NOW, now_ms=NOW, by=BY),
    ),
    "take out of nothing": (StorageError, "not placed", lambda s, k: take_out(s, k.food, at_ms=NOW, now_ms=NOW, by=BY)),
    "end before start": (
        ConfigError,
        "started at Wed 27 May 2026 17:00 MDT: it cannot have ended before that",
        lambda s, k: end_batch(s, k.batch, outcome="", at_ms=NOW - 2 * HOUR, now_ms=NOW, by=BY),
    ),
    "reading without a temperature": (
        ConfigError,
        "needs its temperature",
        lambda s, k: note(s, k.batch, EventKind.READING, vessel=1, at_ms=NOW, now_ms=NOW, by=BY),
    ),
    "reading of no vessel": (
        ConfigError,
        "which vessel",
        lambda s, k: note(s, k.batch, EventKind.READING, celsius=4.0, at_ms=NOW, now_ms=NOW, by=BY),
    ),
    "reading of the sun": (
        ConfigError,
        "no temperature of food",
        lambda s, k: note(s, k.batch, EventKind.READING, vessel=1, celsius=5500.0, at_ms=NOW, now_ms=NOW, by=BY),
    ),
    "reading of last week": (
        ConfigError,
        "Wed 20 May 2026 17:00 MDT is more than a day older than the batch, .* check the day",
        lambda s, k: note(
            s, k.batch, EventKind.READING, vessel=1, celsius=4.0, at_ms=NOW - 169 * HOUR, now_ms=NOW, by=BY
        ),
    ),
    "kind of note": (
        ConfigError,
        "cannot be noted",
        lambda s, k: note(s, k.batch, EventKind.SITE_SET, at_ms=NOW, now_ms=NOW, by=BY),
    ),
    "replaced note": (
        StorageError,
        "no note 999",
        lambda s, k: note(s, k.batch, EventKind.NOTE, replaces_id=999, at_ms=NOW, now_ms=NOW, by=BY),
    ),
    "correction backwards": (
        ConfigError,
        "before it begins",
        lambda s, k: add_correction(s, k.food, from_ms=NOW, to_ms=NOW - 1, offset_c=1.0, by=BY, why="", now_ms=NOW),
    ),
    "note of a unit": (
        ConfigError,
        "of a unit",
        lambda s, k: note_unit(s, k.walk_in, EventKind.MOVED, at_ms=NOW, now_ms=NOW, by=BY),
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_register_refuses_what_cannot_be_in_one_line(store: Store, case: str) -> None:
    """What cannot be is refused with one line that names it, and nothing of it is kept."""
    error, words, act = BAD[case]
    with store.write() as session:
        kitchen = open_kitchen(session)
    with store.read() as session:
        before = len(events(session))
    with pytest.raises(error, match=words) as caught, store.write() as session:
        act(session, kitchen)
    assert "\n" not in str(caught.value)
    with store.read() as session:
        assert len(events(session)) == before


def test_register_lists_what_was_added(store: Store) -> None:
    """Units, probes and batches come back in order, each with its event."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        assert [unit.name for unit in units(session)] == ["Walk-in 1"]
        assert [probe.code for probe in probes(session)] == ["p1", "p2", "a1"]
        assert probe_named(session, "p1").topic == "holdwatch/p1"
        assert batches(session, running_only=True) == [kitchen.batch]
        kinds = {event.kind for event in events(session)}
        assert kinds == {"site-set", "unit-added", "probe-added", "batch-started"}


def test_place_ends_the_placement_before(store: Store) -> None:
    """A probe watches one thing at a time; each placing is recorded and the watch told of both."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        place(session, kitchen.food, unit=kitchen.walk_in, at_ms=NOW - 5 * HOUR, now_ms=NOW, by=BY)
        place(session, kitchen.food, batch=kitchen.batch, at_ms=NOW - HOUR, now_ms=NOW, by=BY)
        found = placements(session, probe_id=id_of(kitchen.food))
        assert _spans(found) == [(None, 5, 1), (1, 1, None)]
        arrivals = session.exec(select(Arrival).where(Arrival.kind == "placement")).all()
        assert {(a.unit_id, a.batch_id) for a in arrivals} == {
            (id_of(kitchen.walk_in), None),
            (None, id_of(kitchen.batch)),
        }


def test_place_earlier_sets_the_start_back(store: Store) -> None:
    """The same thing placed at an earlier instant: one placement, and the batch began then too."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        place(session, kitchen.food, unit=kitchen.walk_in, at_ms=NOW - 9 * HOUR, now_ms=NOW, by=BY)
        place(session, kitchen.food, batch=kitchen.batch, at_ms=NOW - HOUR, now_ms=NOW, by=BY)
        place(session, kitchen.food, batch=kitchen.batch, at_ms=NOW - 3 * HOUR, now_ms=NOW, by=BY)
        assert _spans(placements(session, probe_id=id_of(kitchen.food))) == [(None, 9, 3), (1, 3, None)]
        assert kitchen.batch.started_ms == NOW - 3 * HOUR


def test_place_in_front_of_another_stops_there(store: Store) -> None:
    """A placement recorded late lasts until the next one that is known."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        place(session, kitchen.food, batch=kitchen.batch, at_ms=NOW - HOUR, now_ms=NOW, by=BY)
        place(session, kitchen.food, unit=kitchen.walk_in, at_ms=NOW - 4 * HOUR, now_ms=NOW, by=BY)
        assert _spans(placements(session, probe_id=id_of(kitchen.food))) == [(None, 4, 1), (1, 1, None)]


def test_place_at_the_same_instant_takes_the_span_of_a_mistake(store: Store) -> None:
    """The right thing placed at the instant of the wrong one: that one is void."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        place(session, kitchen.food, unit=kitchen.walk_in, at_ms=NOW - HOUR, now_ms=NOW, by=BY)
        place(session, kitchen.food, batch=kitchen.batch, at_ms=NOW - HOUR, now_ms=NOW, by=BY)
        assert _spans(placements(session, probe_id=id_of(kitchen.food))) == [(None, 1, 1), (1, 1, None)]


def test_place_without_a_vessel_takes_the_first_free_one(store: Store) -> None:
    """Two probes of one batch stand in two vessels; a third one finds none."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        first = place(session, kitchen.food, batch=kitchen.batch, at_ms=NOW - HOUR, now_ms=NOW, by=BY)
        second = place(session, kitchen.second, batch=kitchen.batch, at_ms=NOW - HOUR, now_ms=NOW, by=BY)
        assert (first.vessel, second.vessel) == (1, 2)
        with pytest.raises(NameTakenError, match="each of its 2 vessels"):
            place(session, kitchen.air, batch=kitchen.batch, at_ms=NOW, now_ms=NOW, by=BY)
        with pytest.raises(NameTakenError, match="already has probe 'p1'"):
            place(session, kitchen.air, batch=kitchen.batch, vessel=1, at_ms=NOW, now_ms=NOW, by=BY)


def test_end_batch_frees_its_probes_once(store: Store) -> None:
    """An ended batch has its outcome, its placements end with it, and it cannot end twice."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        place(session, kitchen.food, batch=kitchen.batch, at_ms=NOW - HOUR, now_ms=NOW, by=BY)
        end_batch(session, kitchen.batch, outcome="served", at_ms=NOW, now_ms=NOW, by=BY)
        assert (kitchen.batch.ended_ms, kitchen.batch.outcome) == (NOW, "served")
        assert placements(session, open_only=True) == []
        assert batches(session, running_only=True) == []
        assert batches(session, since_ms=NOW + 1) == []
        with pytest.raises(StorageError, match="already ended"):
            note(session, kitchen.batch, EventKind.ENDED, at_ms=NOW, now_ms=NOW, by=BY)


def test_note_replacing_an_end_opens_the_batch_again(store: Store) -> None:
    """An end noted by mistake is replaced, never rewritten: the batch runs again and is watched again."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        place(session, kitchen.food, batch=kitchen.batch, at_ms=NOW - HOUR, now_ms=NOW, by=BY)
        end_batch(session, kitchen.batch, outcome="served", at_ms=NOW, now_ms=NOW, by=BY)
        mistake = events(session, kinds=[EventKind.ENDED])[0]
        note(
            session,
            kitchen.batch,
            EventKind.NOTE,
            at_ms=NOW,
            now_ms=NOW,
            by=BY,
            text="wrong batch",
            replaces_id=mistake.id,
        )
        assert kitchen.batch.ended_ms is None
        assert _spans(placements(session)) == [(1, 1, None)]
        assert events(session, kinds=[EventKind.ENDED]) == []
        assert len(events(session, kinds=[EventKind.ENDED], all_versions=True)) == 1


def test_end_is_of_the_whole_batch(store: Store) -> None:
    """Where one vessel is gone the others stand on: what is gone is divided off first."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        with pytest.raises(ConfigError, match="divide off first"):
            note(session, kitchen.batch, EventKind.ENDED, vessel=2, at_ms=NOW, now_ms=NOW, by=BY, text="served")
        assert kitchen.batch.ended_ms is None


@pytest.mark.parametrize(
    ("kind", "more"),
    [
        (EventKind.READING, {"celsius": 21.0, "vessel": 1}),
        (EventKind.REMOVED, {}),
        (EventKind.STEP, {"text": "display"}),
        (EventKind.HANDED_OVER, {"text": "to Ines"}),
    ],
)
def test_note_and_end_of_food_do_not_contradict_each_other(store: Store, kind: EventKind, more: dict[str, Any]) -> None:
    """Food that is read or handled had not ended before: whoever says so corrects the one or the other."""
    at: dict[str, Any] = {"now_ms": NOW, "by": BY}
    with store.write() as session:
        kitchen = open_kitchen(session)
        end_batch(session, kitchen.batch, outcome="sold", at_ms=NOW - 2 * MINUTE, **at)
        with pytest.raises(ConfigError, match="correct its end first"):
            note(session, kitchen.batch, kind, at_ms=NOW - MINUTE, **more, **at)
        for said in (EventKind.NOTE, EventKind.ACTION, EventKind.ALLERGENS, EventKind.PROBE_OUT_OF_FOOD):
            note(session, kitchen.batch, said, at_ms=NOW, text="eggs", **at)
        note(session, kitchen.batch, kind, at_ms=NOW - 2 * MINUTE, **more, **at)  # at its very end it was there
        (end,) = events(session, kinds=[EventKind.ENDED])
        note(session, kitchen.batch, EventKind.NOTE, at_ms=NOW, text="not yet", replaces_id=end.id, **at)
        note(session, kitchen.batch, kind, at_ms=NOW - MINUTE, **more, **at)
        with pytest.raises(ConfigError, match="was still there"):
            end_batch(session, kitchen.batch, outcome="sold", at_ms=NOW - MINUTE - 1, **at)


def test_batch_has_not_ended_before_a_part_of_it_was_divided_off(store: Store) -> None:
    """What was put into another batch was there until then."""
    at: dict[str, Any] = {"now_ms": NOW, "by": BY}
    with store.write() as session:
        kitchen = open_kitchen(session)
        divide_batch(session, kitchen.batch, lot="L1-b", at_ms=NOW - MINUTE, **at)
    with pytest.raises(ConfigError, match="was still there"), store.write() as session:
        end_batch(session, batch_named(session, "L1"), outcome="used", at_ms=NOW - 2 * MINUTE, **at)
    with store.write() as session:
        end_batch(session, batch_named(session, "L1"), outcome="used", at_ms=NOW - MINUTE, **at)


def test_note_probe_out_of_food_ends_its_placement(store: Store) -> None:
    """What a probe says after somebody saw it out of the food is not the food's."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        place(session, kitchen.food, batch=kitchen.batch, at_ms=NOW - 3 * HOUR, now_ms=NOW, by=BY)
        note(session, kitchen.batch, EventKind.PROBE_OUT_OF_FOOD, vessel=1, at_ms=NOW - HOUR, now_ms=NOW, by=BY)
        assert _spans(placements(session)) == [(1, 3, 1)]


def test_note_probe_out_of_food_ends_a_placement_that_is_over_by_then(store: Store) -> None:
    """Whoever says so once the batch ended, or the probe went elsewhere, says it of the time before."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        place(session, kitchen.food, batch=kitchen.batch, vessel=1, at_ms=NOW - 3 * HOUR, now_ms=NOW, by=BY)
        place(session, kitchen.second, batch=kitchen.batch, vessel=2, at_ms=NOW - 3 * HOUR, now_ms=NOW, by=BY)
        end_batch(session, kitchen.batch, outcome="sold", at_ms=NOW, now_ms=NOW, by=BY)
        note(session, kitchen.batch, EventKind.PROBE_OUT_OF_FOOD, vessel=1, at_ms=NOW - HOUR, now_ms=NOW, by=BY)
        assert [row.to_ms for row in placements(session)] == [NOW - HOUR, NOW]
        note(session, kitchen.batch, EventKind.PROBE_OUT_OF_FOOD, vessel=2, at_ms=NOW, now_ms=NOW, by=BY)
        assert [row.to_ms for row in placements(session)] == [NOW - HOUR, NOW]


def test_note_queues_an_arrival_from_its_instant(store: Store) -> None:
    """The watch looks at the batch again from the noted instant on, or from the replaced one."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        first = note(session, kitchen.batch, EventKind.LEFT_HEAT, at_ms=NOW - HOUR, now_ms=NOW, by=BY)
        note(session, kitchen.batch, EventKind.LEFT_HEAT, at_ms=NOW - 1, now_ms=NOW, by=BY, replaces_id=first.id)
        rows = session.exec(select(Arrival).where(Arrival.kind == "event")).all()
        assert [(r.batch_id, r.first_ms, r.last_ms) for r in rows] == [(id_of(kitchen.batch), NOW - HOUR, NOW)] * 2
        with pytest.raises(StorageError, match="already replaced"):
            note(session, kitchen.batch, EventKind.NOTE, at_ms=NOW, now_ms=NOW, by=BY, replaces_id=first.id)


def test_note_step_changes_the_batch(store: Store) -> None:
    """A batch that goes on display is then held against the display's limits."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        note(session, kitchen.batch, EventKind.STEP, at_ms=NOW, now_ms=NOW, by=BY, text="display")
        assert kitchen.batch.step == "display"
