"""What the watch finds in batches."""

from holdwatch.storage.tables import EventKind
from tests.watch.kitchen import HOUR, MIN, T0, Kitchen, cooling, minutes, straight

STAGE_1, STAGE_2, COLD = "3-501.14(A)(1)", "3-501.14(A)(2)", "3-501.16(A)(2)"


def test_batch_that_cools_in_time_gives_no_finding(kitchen: Kitchen) -> None:
    """Both stages kept, and cold afterwards: nothing is found."""
    kitchen.probe("p1")
    kitchen.batch("L1", "p1")
    curve = cooling(300)
    for at in range(0, len(curve), 20):
        now = curve[min(at + 19, len(curve) - 1)][0]
        kitchen.arrive("p1", curve[at : at + 20], now)
        kitchen.rounds(now)
    assert kitchen.found() == []
    assert set(kitchen.verdicts().values()) == {"met"}


def test_batch_that_misses_stage_1_gives_a_deviation_with_its_clause(kitchen: Kitchen) -> None:
    """A custard above 70 °F two hours after leaving 135 °F is a deviation of (A)(1)."""
    kitchen.probe("p1")
    batch = kitchen.batch("L1", "p1")
    curve = cooling(160, half_min=120)
    for reading in curve:
        kitchen.arrive("p1", [reading], reading[0])
        kitchen.rounds(reading[0])
    (found,) = [f for f in kitchen.found() if f.clause == STAGE_1]
    print(kitchen.found())
    assert (found.kind, found.clause, found.verdict, found.batch_id) == ("deviation", STAGE_1, "missed", batch.id)
    assert "Decide with the plan" in found.reason
