"""An officer's visit, and food that they detain."""

import pytest

from holdwatch.errors import ConfigError, UnknownNameError
from holdwatch.storage.detained import detained
from holdwatch.storage.engine import Store
from holdwatch.storage.parts import add_part, divide_batch
from holdwatch.storage.register import batch_named, end_batch, start_batch
from holdwatch.storage.visits import detain, officer_reading, record_visit, release, visit_numbered, visits
from tests.storage.kitchen import BY, NOW, open_kitchen

AT = {"at_ms": NOW, "now_ms": NOW, "by": BY}
ORTIZ = ("J. Ortiz", "Denver Public Health")


def test_a_visit_keeps_samples_notice_and_the_next_one(store: Store) -> None:
    """And is found by its number."""
    with store.write() as session:
        visit = record_visit(
            session, *ORTIZ, samples=["custard, 200 g", " "], notice="N-7", next_visit="2026-12-01", **AT
        )
        assert visit.facts["samples"] == ["custard, 200 g"]
        assert [each.id for each in visits(session, NOW, NOW)] == [visit.id]
        assert visit_numbered(session, visit.id or 0).facts["next_visit"] == "2026-12-01"
        with pytest.raises(UnknownNameError):
            visit_numbered(session, 999)
        with pytest.raises(ConfigError, match="is no day"):
            record_visit(session, *ORTIZ, next_visit="soon", **AT)
        with pytest.raises(ConfigError, match="is no authority"):
            record_visit(session, "J. Ortiz", " ", **AT)


def test_detained_food_goes_nowhere_until_its_release_is_recorded(store: Store) -> None:
    """Neither served nor thrown away, neither divided nor put into something."""
    with store.write() as session:
        batch = open_kitchen(session).batch
        cake = start_batch(session, product="Cake", lot="C1", at_ms=NOW, now_ms=NOW, by=BY)
        visit = record_visit(session, *ORTIZ, **AT)
        detain(session, visit, batch, text="until the sample is back", **AT)
        with pytest.raises(ConfigError, match="detained already"):
            detain(session, visit, batch, **AT)
        for outcome in ("served", "discarded"):
            with pytest.raises(ConfigError, match=r"detained by J\. Ortiz: record its release first"):
                end_batch(session, batch, outcome=outcome, **AT)
        with pytest.raises(ConfigError, match="record its release first"):
            add_part(session, cake, batch, **AT)
        with pytest.raises(ConfigError, match="say who released it"):
            release(session, batch, " ", **AT)
        release(session, batch, "J. Ortiz, by letter", **AT)
        assert detained(session, batch.id or 0) is None
        with pytest.raises(ConfigError, match="is not detained"):
            release(session, batch, "again", **AT)
        divide_batch(session, batch, lot="L1-B", **AT)
        end_batch(session, batch, outcome="served", **AT)
        with pytest.raises(ConfigError, match="has ended"):
            detain(session, visit, batch, **AT)


def test_an_officers_reading_is_of_one_thing(store: Store) -> None:
    """A batch or a unit, a vessel that it has, a temperature that can be."""
    with store.write() as session:
        kitchen = open_kitchen(session)
        visit = record_visit(session, *ORTIZ, **AT)
        kept = officer_reading(session, visit, 5.0, batch=batch_named(session, "L1"), vessel=2, **AT)
        assert (kept.celsius, kept.vessel, kept.facts["visit"]) == (5.0, 2, visit.id)
        with pytest.raises(ConfigError, match="one thing"):
            officer_reading(session, visit, 5.0, **AT)
        with pytest.raises(ConfigError, match="no vessel 3"):
            officer_reading(session, visit, 5.0, batch=kitchen.batch, vessel=3, **AT)
        with pytest.raises(ConfigError, match="no temperature"):
            officer_reading(session, visit, 900.0, unit=kitchen.walk_in, **AT)
