"""A change of limits holds from then on: what was judged before stays judged by the text that governed it."""

from pathlib import Path

import pytest

from holdwatch.limits import load_limits
from holdwatch.quantities import celsius_of_f
from holdwatch.storage.register import set_site
from holdwatch.storage.tables import EventKind
from tests.watch.kitchen import DAY, HOUR, MIN, T0, Kitchen, Pair, cooling

MIDNIGHT = T0 + 16 * HOUR
PLAN = """
id = "house"
title = "House plan"
authority = "us"
edition = "{edition}"
caution = "Ours."
base = "us-food-code-2022"

[cold-holding]
clause = "P1"
source = "House plan, P1"
requires = "held at {level} or less"
level = "{level}"
confidence = "seen"
read_on = 2026-11-25
read_at = ["the wall"]
"""


def _at_44(first_ms: int, last_ms: int) -> list[Pair]:
    """Readings of 44 °F: within 8 °C, above 41 °F."""
    return [(at, celsius_of_f(44)) for at in range(first_ms, last_ms, 10 * MIN)]


def _use(kitchen: Kitchen, limits: str, at_ms: int) -> None:
    with kitchen.store.write() as session:
        set_site(session, from_ms=at_ms, now_ms=at_ms, by="test", limits=limits)


def _days(kitchen: Kitchen) -> dict[str, tuple[str, str]]:
    """Return the verdict of each day, and which text of the limits it was judged by."""
    return {row.day: (row.verdict, row.facts["limits_text"]) for row in kitchen.clauses() if row.unit_id}


def test_day_that_has_begun_keeps_the_limits_of_its_beginning(kitchen: Kitchen) -> None:
    """Late readings of before, and the rest of the day, are judged by what governed; the next day by the new limits."""
    kitchen.limits("england-wales-ni")
    kitchen.probe("f1")
    kitchen.unit("Walk-in 1", "walk-in", "f1")
    changed = MIDNIGHT + 10 * HOUR
    kitchen.arrive("f1", _at_44(T0 + HOUR, changed), changed)
    kitchen.rounds(changed)
    _use(kitchen, "us-food-code-2022", changed)
    end = MIDNIGHT + 2 * DAY - HOUR
    kitchen.arrive("f1", _at_44(changed, end), end)
    kitchen.arrive("f1", _at_44(T0, T0 + HOUR), end)  # late
    kitchen.rounds(end)
    british, american = load_limits("england-wales-ni").digest, load_limits("us-food-code-2022").digest
    assert _days(kitchen) == {
        "2026-11-24": ("met", british),
        "2026-11-25": ("met", british),
        "2026-11-26": ("missed", american),
    }


def test_batch_that_has_started_keeps_the_limits_of_its_start(kitchen: Kitchen) -> None:
    """Two batches cool side by side, each under what governed when it began."""
    kitchen.limits("australia")
    kitchen.probe("p1")
    kitchen.probe("p2")
    kitchen.batch("L1", "p1")
    kitchen.arrive("p1", cooling(200), T0 + 200 * MIN)
    _use(kitchen, "us-food-code-2022", T0 + HOUR)
    kitchen.batch("L2", "p2", at_ms=T0 + 2 * HOUR)
    kitchen.arrive("p2", cooling(60, start_ms=T0 + 2 * HOUR), T0 + 200 * MIN)
    kitchen.rounds(T0 + 200 * MIN)
    by_subject: dict[str, set[str]] = {}
    for row in kitchen.clauses():
        by_subject.setdefault(row.subject.split(":")[1], set()).add(row.facts["limits_text"])
    assert list(by_subject.values()) == [
        {load_limits("australia").digest},
        {load_limits("us-food-code-2022").digest},
    ]


@pytest.mark.parametrize(
    ("susceptible", "food", "verdict"),
    [
        ("yes", ["raw-egg"], "missed"),
        ("yes", ["pasteurised-egg"], "met"),
        ("yes", [], "unproven"),
        ("no", ["raw-egg"], None),
    ],
)
def test_kitchen_that_serves_highly_susceptible_people_puts_no_raw_egg_under_time_control(
    kitchen: Kitchen, susceptible: str, food: list[str], verdict: str | None
) -> None:
    """Food Code 3-801.11(E): the answer of set-up counts for every batch, with what is declared of the batch."""
    with kitchen.store.write() as session:
        set_site(session, from_ms=T0 - DAY, now_ms=T0 - DAY, by="test", susceptible=susceptible)
    kitchen.probe("p1")
    batch = kitchen.batch("L1", "p1", step="store", food=food)
    kitchen.arrive("p1", [(at, celsius_of_f(39)) for at in range(T0, T0 + HOUR, 5 * MIN)], T0 + HOUR)
    kitchen.note(batch, EventKind.REMOVED, T0 + 30 * MIN, facts={"under": "time-control-4h"})
    kitchen.rounds(T0 + HOUR)
    said = [row.verdict for row in kitchen.clauses() if row.clause == "3-801.11(E)"]
    assert said == ([verdict] if verdict else [])


def test_edited_plan_judges_nothing_again_until_it_is_taken_into_force(kitchen: Kitchen, tmp_path: Path) -> None:
    """Whoever edits the file, or deletes it, changes no verdict, whatever arrives late."""
    plan = tmp_path / "house.toml"
    plan.write_text(PLAN.format(edition="1", level="41 °F"), encoding="utf-8")
    _use(kitchen, str(plan), T0 - DAY)
    kitchen.probe("f1")
    kitchen.unit("Walk-in 1", "walk-in", "f1")
    cold = [(at, celsius_of_f(40)) for at in range(T0, MIDNIGHT, 10 * MIN)]
    kitchen.arrive("f1", cold[::2], MIDNIGHT)
    kitchen.rounds(MIDNIGHT)
    before = _days(kitchen)["2026-11-24"]
    plan.write_text(PLAN.format(edition="2", level="39 °F"), encoding="utf-8")
    kitchen.restart()
    kitchen.arrive("f1", cold[1::2], MIDNIGHT + HOUR)
    kitchen.rounds(MIDNIGHT + HOUR)
    assert before[0] == "met"
    assert _days(kitchen)["2026-11-24"] == before
    plan.unlink()
    kitchen.arrive("f1", [(T0 + MIN, celsius_of_f(40))], MIDNIGHT + 2 * HOUR)
    kitchen.rounds(MIDNIGHT + 2 * HOUR)
    assert _days(kitchen)["2026-11-24"] == before
