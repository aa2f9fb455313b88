"""What is offered about a finding: the plan's own words first, and nothing that no longer helps."""

from dataclasses import replace

import pytest

from holdwatch.alerts.decide import Reason
from holdwatch.alerts.message import compose
from holdwatch.alerts.offers import NO_WAY_BACK, advised, no_way_back, offered, to_do
from holdwatch.people.handling import Disposition
from holdwatch.plan.changing import taken, with_step
from holdwatch.storage.engine import Store
from holdwatch.storage.products import retire_product, set_product
from holdwatch.storage.register import site_at
from holdwatch.storage.tables import Finding, FindingKind
from tests.storage.kitchen import BY, NOW, open_kitchen

DUE = NOW + 600_000
DAY = 86_400_000


def _finding(kind: FindingKind, process: str = "cooling", batch_id: int | None = None) -> Finding:
    return Finding(
        id=1,
        key="k",
        kind=kind.value,
        subject="batch:1:1",
        title="Custard L1",
        reason="not yet at 70 °F",
        batch_id=batch_id,
        since_ms=NOW,
        opened_ms=NOW,
        facts={"process": process, "due_ms": DUE},
    )


def _planned(store: Store) -> int:
    """The kitchen with its batch's product in the plan since before the batch was started; return the batch."""
    with store.write() as session:
        batch = open_kitchen(session).batch
        product = replace(
            with_step(taken("pastry-cream"), 2, {"in_time": "Into the snow tub.", "action": "Bin it, and tell Mara."}),
            name=batch.product,
        )
        set_product(session, product, from_ms=NOW - DAY, now_ms=NOW, by=BY, why="first plan")
        assert batch.id is not None
        return batch.id


def test_the_plans_words_come_first_and_those_of_in_time_only_in_time(sqlite_store: Store) -> None:
    """The ice bath before the deadline, the discard after it; the usual advice stands beside it, of the same hour."""
    batch_id = _planned(sqlite_store)
    with sqlite_store.read() as session:
        soon = to_do(session, _finding(FindingKind.SOON, batch_id=batch_id), DUE)
        late = to_do(session, _finding(FindingKind.SOON, batch_id=batch_id), DUE + 1)
        missed = to_do(session, _finding(FindingKind.DEVIATION, batch_id=batch_id), NOW)
    assert soon.startswith("By the plan: Into the snow tub. Besides: Cool it faster now")
    assert "Bin it" not in soon
    assert late == missed
    assert missed.startswith("By the plan: Bin it, and tell Mara. Besides: Do not serve it.")
    assert "snow tub" not in missed
    assert "ice bath" not in missed
    assert "some toxins survive heat" in missed


def test_what_is_not_shown_is_not_thrown_away_as_long_as_it_can_be_kept(sqlite_store: Store) -> None:
    """A probe that fell silent in the middle of a cooling proves nothing; after the deadline a reading may still."""
    batch_id = _planned(sqlite_store)
    finding = _finding(FindingKind.NOT_SHOWN, batch_id=batch_id)
    with sqlite_store.read() as session:
        assert to_do(session, finding, DUE).startswith("By the plan: Into the snow tub. Besides: Take the temperature")
        late = to_do(session, finding, DUE + 1)
    assert late.startswith("By the plan, if nothing shows that the limit was kept: Bin it")
    assert "snow tub" not in late


def test_without_a_step_of_the_plan_the_usual_advice_stands_alone(sqlite_store: Store) -> None:
    """Of another process, of no batch, of a probe."""
    batch_id = _planned(sqlite_store)
    with sqlite_store.read() as session:
        for finding in (
            _finding(FindingKind.DEVIATION, "hot-holding", batch_id),
            _finding(FindingKind.DEVIATION, "cooling"),
            _finding(FindingKind.SYSTEM, "cooling", batch_id),
        ):
            assert "By the plan" not in to_do(session, finding, NOW)


def test_the_plan_of_the_batchs_beginning_is_what_counts(sqlite_store: Store) -> None:
    """A product that was retired since still says what is done with what was made of it."""
    batch_id = _planned(sqlite_store)
    with sqlite_store.write() as session:
        retire_product(session, "Pastry cream", from_ms=NOW, now_ms=NOW, by=BY, why="bought in")
        assert "snow tub" in to_do(session, _finding(FindingKind.SOON, batch_id=batch_id), NOW)


@pytest.mark.parametrize(
    "process", ["cooling", "ambient-cooling", "time-control-4h", "cumulative-time", "date-marking"]
)
def test_where_a_time_has_run_out_discard_stands_first_and_there_is_no_way_back(process: str) -> None:
    """What does not help may have been done all the same: it can be recorded, last."""
    missed = _finding(FindingKind.DEVIATION, process)
    assert offered(missed)[0] is Disposition.DISCARD
    assert offered(missed)[-1] is Disposition.RE_CHILL
    assert set(offered(missed)) == set(Disposition)
    assert no_way_back(missed) == NO_WAY_BACK
    soon = _finding(FindingKind.SOON, process)
    assert offered(soon, DUE)[0] is Disposition.RE_CHILL
    assert (no_way_back(soon, DUE), no_way_back(soon, DUE + 1)) == ("", NO_WAY_BACK)


def test_holding_is_not_over_by_a_clock() -> None:
    """Hot food is heated before it is cooled."""
    assert no_way_back(_finding(FindingKind.DEVIATION, "cold-holding")) == ""
    assert offered(_finding(FindingKind.DEVIATION, "cold-holding"))[0] is Disposition.RE_CHILL
    assert offered(_finding(FindingKind.DEVIATION, "hot-holding"))[0] is Disposition.REHEAT


@pytest.mark.parametrize(("subject", "some"), [("reminder:checks", False), ("system:clock", False), ("probe:3", True)])
def test_where_no_food_is_meant_nothing_is_asked_of_it(subject: str, some: bool) -> None:
    """Whoever is reminded to check the probes has nothing to cool, to reheat or to throw away; a faulty probe has."""
    finding = _finding(FindingKind.SYSTEM, "")
    finding.subject = subject
    assert bool(offered(finding)) is some


def test_a_message_says_what_the_plan_says(sqlite_store: Store) -> None:
    """In the line that says what to do."""
    batch_id = _planned(sqlite_store)
    finding = _finding(FindingKind.SOON, batch_id=batch_id)
    with sqlite_store.read() as session:
        do = to_do(session, finding, NOW)
        body = compose(finding, site_at(session, None), Reason.FIRST, NOW, "http://x", do=do).body
    assert "Do: By the plan: Into the snow tub." in body


def test_a_round_advises_on_a_batch_in_the_plans_own_words(sqlite_store: Store) -> None:
    """While it can be kept what helps in time, afterwards what is done then; without a step of the plan what is usual."""
    batch_id = _planned(sqlite_store)
    with sqlite_store.read() as session:
        soon = advised(session, batch_id, FindingKind.SOON, "cooling")
        missed = advised(session, batch_id, FindingKind.DEVIATION, "cooling")
        dated = advised(session, batch_id, FindingKind.SOON, "date-marking")
        other = advised(session, batch_id, FindingKind.SOON, "time-control-6h", "time-control-4h")
        usual = advised(session, batch_id, FindingKind.SOON, "hot-holding")
    assert soon.startswith("By the plan: Into the snow tub. Besides: Cool it faster now")
    assert missed.startswith("By the plan: Bin it, and tell Mara. Besides: Do not serve it.")
    assert dated.startswith("By the plan: Shut the door;")
    assert other.startswith("By the plan: Serve, sell or use it by the marked time. Besides: Serve")
    assert usual.startswith("Turn up and cover the hot holding.")
