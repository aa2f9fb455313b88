"""What travels with parts: allergens, and findings that nobody has dealt with."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from holdwatch.errors import ConfigError
from holdwatch.plan.answering import answered
from holdwatch.plan.model import Asked
from holdwatch.plan.starters import starter
from holdwatch.storage.engine import store_url
from holdwatch.storage.parts import add_part, divide_batch
from holdwatch.storage.products import set_product
from holdwatch.storage.register import end_batch
from holdwatch.storage.tables import Batch, EventKind
from holdwatch.views.batches import batch_view
from holdwatch.views.inherited import allergens_of
from holdwatch.views.model import Allergens
from tests.watch.kitchen import DAY, HOUR, MIN, T0, Kitchen, cooling


@pytest.fixture
def kitchen(tmp_path: Path) -> Iterator[Kitchen]:
    """A kitchen with nothing in it."""
    found = Kitchen.on(store_url(tmp_path, None), migrate=True)
    yield found
    found.store.close()


def _of(kitchen: Kitchen, batch: Batch, *, us_words: bool = True) -> Allergens:
    with kitchen.store.read() as session:
        return allergens_of(session, session.merge(batch), us_words=us_words)


def _into(kitchen: Kitchen, part: Batch, batch: Batch, at_ms: int = T0 + MIN) -> None:
    with kitchen.store.write() as session:
        add_part(session, session.merge(batch), session.merge(part), at_ms=at_ms, now_ms=at_ms, by="test")


def test_unknown_is_never_none(kitchen: Kitchen) -> None:
    """Nobody said anything of it, and the plan has no such product."""
    batch = kitchen.batch("L1")
    assert _of(kitchen, batch).words == "not declared of Pastry cream L1"
    kitchen.note(batch, EventKind.ALLERGENS, T0, text="none")
    assert _of(kitchen, batch).words == "none of the listed allergens declared"


def test_allergens_travel_with_every_part(kitchen: Kitchen) -> None:
    """Cream into a filling into a cake: the cake has what all three have, and says which one nobody declared."""
    cream, filling, cake = (kitchen.batch(lot) for lot in ("C", "F", "K"))
    kitchen.note(cream, EventKind.ALLERGENS, T0, text="milk, eggs")
    kitchen.note(cake, EventKind.ALLERGENS, T0, text="gluten (wheat), nuts (almond)")
    _into(kitchen, cream, filling)
    _into(kitchen, filling, cake)
    found = _of(kitchen, cake)
    assert found.contains == "wheat, egg, milk, tree nuts (almond)"  # 21 U.S.C. 321(qq)
    assert found.not_declared == ("Pastry cream F",)
    assert found.words.endswith("; not declared of Pastry cream F")
    # Annex II of Regulation (EU) No 1169/2011
    assert _of(kitchen, cake, us_words=False).contains == "cereals containing gluten (wheat), eggs, milk, nuts (almond)"


def test_part_divided_off_is_declared_where_the_batch_is(kitchen: Kitchen) -> None:
    """It is the same food; there is nothing more to be said of it."""
    batch = kitchen.batch("L1")
    kitchen.note(batch, EventKind.ALLERGENS, T0, text="milk")
    with kitchen.store.write() as session:
        part = divide_batch(session, session.merge(batch), lot="L1-b", at_ms=T0 + MIN, now_ms=T0 + MIN, by="test")
    assert _of(kitchen, part) == Allergens("milk", ())


def test_what_law_of_the_place_does_not_name_is_still_told(kitchen: Kitchen) -> None:
    """Celery is none of the nine of the U.S.; whoever declared it wants it known."""
    batch = kitchen.batch("L1")
    kitchen.note(batch, EventKind.ALLERGENS, T0, text="milk, celery")
    assert _of(kitchen, batch).contains == "milk, celery"


def test_plan_speaks_once_its_allergens_are_confirmed(kitchen: Kitchen) -> None:
    """A starter's allergens are told and said not to be declared; after the answer they are the kitchen's own."""
    product = starter("pastry-cream")
    with kitchen.store.write() as session:
        set_product(session, product, from_ms=T0 - DAY, now_ms=T0 - DAY, by="test", why="ours")
    before = kitchen.batch("L1", at_ms=T0 - HOUR)
    found = _of(kitchen, before)
    assert "milk" in found.contains
    assert found.not_declared == ("Pastry cream L1",)
    own = answered(replace(product), Asked.ALLERGENS, "milk", by="test", at_ms=T0)
    with kitchen.store.write() as session:
        set_product(session, own, from_ms=T0, now_ms=T0, by="test", why="ours")
    assert _of(kitchen, kitchen.batch("L2", at_ms=T0)) == Allergens("milk", ())


def test_word_that_is_no_allergen_is_refused(kitchen: Kitchen) -> None:
    """It says which there are."""
    batch = kitchen.batch("L1")
    with pytest.raises(ConfigError, match="write none, or some of"):
        kitchen.note(batch, EventKind.ALLERGENS, T0, text="dairy")


def test_deviation_of_a_part_stands_on_what_it_went_into(kitchen: Kitchen) -> None:
    """Also once the pan itself is used up: nobody has dealt with it."""
    kitchen.probe("p1")
    cream = kitchen.batch("L1", "p1")
    kitchen.note(cream, EventKind.LEFT_HEAT, T0)
    kitchen.arrive("p1", cooling(200, half_min=200), T0 + 200 * MIN)
    kitchen.rounds(T0 + 200 * MIN)
    cake = kitchen.batch("K1", at_ms=T0 + 200 * MIN, processes=["cold-holding"])
    _into(kitchen, cream, cake, T0 + 201 * MIN)
    with kitchen.store.write() as session:
        at_ms = T0 + 202 * MIN
        end_batch(session, session.merge(cream), outcome="used", at_ms=at_ms, now_ms=at_ms, by="test")
    kitchen.rounds(T0 + 203 * MIN)
    with kitchen.store.read() as session:
        view = batch_view(session, cake.id or 0, T0 + 203 * MIN)
        own = batch_view(session, cream.id or 0, T0 + 203 * MIN)
    assert view is not None
    assert own is not None
    assert [found.title for found in view.found_in_parts] == ["Pastry cream L1"]
    assert own.found_in_parts == ()
