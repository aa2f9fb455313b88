"""The written plan in the store: versions that are appended, and what held at an instant."""

from dataclasses import replace

import pytest

from holdwatch.errors import ConfigError, UnknownNameError
from holdwatch.plan.starters import starter
from holdwatch.storage.engine import Store
from holdwatch.storage.products import (
    product_at,
    product_history,
    product_named,
    products_in_force,
    retire_product,
    set_product,
)
from holdwatch.storage.register import events
from holdwatch.storage.tables import EventKind
from tests.storage.kitchen import BY, NOW

CREAM = starter("pastry-cream")
HOUR = 3_600_000


def test_a_replay_of_an_instant_uses_the_plan_of_that_instant(store: Store) -> None:
    """A new version holds from its own instant on; the one before is what it was."""
    later = replace(CREAM, discard="At closing.")
    with store.write() as session:
        set_product(session, CREAM, from_ms=NOW - HOUR, now_ms=NOW, by=BY, why="first plan")
        set_product(session, later, from_ms=NOW, now_ms=NOW, by=BY, why="bags at closing")
    with store.read() as session:
        assert product_at(session, "pastry  CREAM", NOW - HOUR - 1) is None
        assert product_at(session, "pastry  CREAM", NOW - 1) == CREAM
        assert product_at(session, "Pastry cream", NOW) == later
        assert [(each.by, each.why) for each in product_history(session, "Pastry cream")] == [
            (BY, "first plan"),
            (BY, "bags at closing"),
        ]


def test_a_retired_product_is_in_the_plan_no_more_and_in_its_history(store: Store) -> None:
    """It can be taken up again."""
    with store.write() as session:
        set_product(session, replace(CREAM, name="Zabaione"), from_ms=NOW - HOUR, now_ms=NOW, by=BY, why="new")
        set_product(session, CREAM, from_ms=NOW - HOUR, now_ms=NOW, by=BY, why="new")
        retire_product(session, "pastry cream", from_ms=NOW, now_ms=NOW, by=BY, why="bought in now")
    with store.write() as session:
        assert [each.name for each in products_in_force(session, NOW)] == ["Zabaione"]
        assert [each.name for each in products_in_force(session, NOW - 1)] == ["Pastry cream", "Zabaione"]
        said = "no product of the plan is called 'Pastry cream': there are Zabaione"
        with pytest.raises(UnknownNameError, match=said):
            product_named(session, "Pastry cream", NOW)
        with pytest.raises(UnknownNameError):
            retire_product(session, "Pastry cream", from_ms=NOW, now_ms=NOW, by=BY, why="again")
        set_product(session, CREAM, from_ms=NOW + 1, now_ms=NOW + 1, by=BY, why="made here again")
        assert [each.retired for each in product_history(session, "Pastry cream")] == [False, True, False]
        assert product_named(session, "Pastry cream", NOW + 1) == CREAM


def test_every_change_is_an_entry_of_the_record(store: Store) -> None:
    """With what the plan said then, so that the chain of entries holds the plan too."""
    with store.write() as session:
        version = set_product(session, CREAM, from_ms=NOW, now_ms=NOW, by=BY, why="first plan")
        retire_product(session, CREAM.name, from_ms=NOW, now_ms=NOW, by=BY, why="a mistake")
        first, second = events(session, kinds=[EventKind.PRODUCT_SET, EventKind.PRODUCT_RETIRED])
    assert (first.id, first.text, first.facts["plan"]) == (version.event_id, "Pastry cream: first plan", version.plan)
    assert (second.kind, second.text) == ("product-retired", "Pastry cream: a mistake")


def test_a_change_without_a_reason_ahead_or_before_another_is_refused(store: Store) -> None:
    """The past of a plan is never changed."""
    with store.write() as session:
        set_product(session, CREAM, from_ms=NOW, now_ms=NOW, by=BY, why="first plan")
    for from_ms, why, words in (
        (NOW, "  ", "needs its reason: say why"),
        (NOW + HOUR, "later", "is in the future"),
        (NOW - 1, "earlier", "as it is since Thu 28 May 2026 00:00 UTC: a change cannot come before that"),
    ):
        with pytest.raises(ConfigError, match=words), store.write() as session:
            set_product(session, CREAM, from_ms=from_ms, now_ms=NOW, by=BY, why=why)
    with store.read() as session:
        assert len(product_history(session, CREAM.name)) == 1
        with pytest.raises(UnknownNameError, match="did you mean 'Pastry cream'"):
            product_history(session, "Pastry crem")
