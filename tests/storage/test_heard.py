"""What speaks and was not added: one row a topic, the last ones heard, and nothing of it in the chain."""

import pytest

from holdwatch.storage.chain import head
from holdwatch.storage.engine import Store
from holdwatch.storage.heard import KEPT, LONGEST_TOPIC, forget, heard, keep_heard
from holdwatch.storage.register import add_probe
from tests.storage.kitchen import NOW
from tests.support.heard import heard_now


def test_a_topic_has_one_row_that_counts_on(store: Store) -> None:
    """First heard stays, last heard and value follow; a battery told now and then is not forgotten in between."""
    for step, battery in enumerate(("87 %", "")):
        with store.write() as session:
            row = heard_now("holdwatch/x", at_ms=NOW + step, messages=2, battery=battery, celsius=float(step))
            keep_heard(session, [row])
    with store.read() as session:
        (row,) = heard(session)
    assert (row.first_ms, row.last_ms, row.messages, row.celsius, row.battery) == (NOW, NOW + 1, 4, 1.0, "87 %")


def test_a_noisy_broker_fills_nothing(store: Store) -> None:
    """The topics heard last are held; an overlong topic, or one that no screen could show, is not."""
    with store.write() as session:
        keep_heard(session, [heard_now("holdwatch/first", at_ms=NOW - 1)])
    for part in range(3):
        with store.write() as session:
            keep_heard(session, [heard_now(f"holdwatch/{part}-{n}", at_ms=NOW + part) for n in range(KEPT // 2)])
    with store.write() as session:
        keep_heard(
            session,
            [heard_now("holdwatch/" + "x" * LONGEST_TOPIC, at_ms=NOW), heard_now("holdwatch/\x1b[2J", at_ms=NOW)],
        )
    with store.read() as session:
        rows = heard(session)
    assert len(rows) == KEPT
    assert {row.topic.split("-")[0] for row in rows} == {"holdwatch/1", "holdwatch/2"}


@pytest.mark.parametrize("way", ["added", "forgotten"])
def test_what_was_added_is_not_among_what_is_not(store: Store, way: str) -> None:
    """A topic on which a probe speaks now is no question any more; what was only heard is no part of the chain."""
    with store.write() as session:
        before = head(session)
        keep_heard(session, [heard_now("holdwatch/x", at_ms=NOW)])
    with store.write() as session:
        assert head(session) == before
        if way == "added":
            add_probe(session, "x", medium="food", now_ms=NOW, by="test")
        else:
            forget(session, "holdwatch/x")
    with store.read() as session:
        assert heard(session) == []
