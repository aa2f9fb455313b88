"""What the demonstration makes and remembers."""

from pathlib import Path

import numpy as np
import pytest

from holdwatch.clock import MS_PER_DAY, MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.demo.batches import BatchPlan, clock_starts_ms, pan_readings
from holdwatch.demo.plan import NEXT_SET_AFTER_MS, SET_AHEAD_MS, DemoPlan
from holdwatch.errors import ConfigError
from tests.demo.conftest import T0

PLAN = DemoPlan(7, (T0,), 40_000)


def at_of(plan: BatchPlan, at_ms: int) -> float:
    """Return what a batch's probe last read before an instant."""
    asked = np.arange(plan.placed_ms, at_ms, MS_PER_MINUTE, dtype=np.int64)
    return float(pan_readings(plan, PLAN.rooms, asked, PLAN.seed)[1][-1])


def test_plan_saved_is_loaded_again(tmp_path: Path) -> None:
    """Seed, sets and port come back; where nothing was saved there is no plan."""
    assert DemoPlan.load(tmp_path) is None
    PLAN.save(tmp_path)
    assert DemoPlan.load(tmp_path) == PLAN


@pytest.mark.parametrize("text", ["", "{}", '{"seed": 1, "sets_ms": 3, "inbox_port": 1}', "[1]"])
def test_plan_damaged_is_told_in_one_line(tmp_path: Path, text: str) -> None:
    """A damaged file says what to do."""
    (tmp_path / "demo.json").write_text(text, encoding="utf-8")
    with pytest.raises(ConfigError, match="is damaged: remove the directory"):
        DemoPlan.load(tmp_path)


def test_plan_next_set_comes_when_the_last_has_had_its_time() -> None:
    """Until then nothing changes; a start brings it at once, a running demonstration lays it ahead."""
    early, late = T0 + NEXT_SET_AFTER_MS - 1, T0 + NEXT_SET_AFTER_MS
    assert PLAN.with_next_set(early, ahead=False) is PLAN
    assert PLAN.with_next_set(late, ahead=False).sets_ms == (T0, late)
    assert PLAN.with_next_set(late, ahead=True).sets_ms == (T0, late + SET_AHEAD_MS)


@pytest.mark.parametrize("ahead", [True, False])
@pytest.mark.parametrize("later_h", [6.5, 9, 30])
def test_plan_sets_never_need_one_probe_twice(later_h: float, *, ahead: bool) -> None:
    """Two batches in one probe at a time cannot be, whenever the next set is laid out."""
    plan = PLAN.with_next_set(T0 + round(later_h * MS_PER_HOUR), ahead=ahead)
    assert len(plan.live()) == 8
    by_device: dict[str, int] = {}
    for batch in [*plan.history(), *plan.live()]:
        assert batch.start_ms >= by_device.get(batch.device, 0), batch.lot
        by_device[batch.device] = batch.end_ms


def test_plan_ahead_begins_all_its_batches_later() -> None:
    """A set that is laid ahead has no past that would have to be made up."""
    now = T0 + NEXT_SET_AFTER_MS
    fresh = PLAN.with_next_set(now, ahead=True).live()[4:]
    assert min(batch.start_ms for batch in fresh) > now


def test_history_is_two_weeks_of_several_batches_a_day() -> None:
    """Each lot once, none reaching into the live ones."""
    batches = PLAN.history()
    assert len({batch.lot for batch in [*batches, *PLAN.live()]}) == len(batches) + 4
    assert len(batches) > 65
    assert min(batch.start_ms for batch in batches) < T0 - 13 * MS_PER_DAY
    assert max(batch.end_ms for batch in batches) < T0


def test_history_goes_wrong_twice_and_says_what_was_done() -> None:
    """Two batches were thrown away, each with what was done about it."""
    wrong = [batch for batch in PLAN.history() if batch.outcome == "discarded"]
    assert [batch.product.name for batch in wrong] == ["Crème anglaise", "Lemon curd"]
    assert all(batch.action.startswith("Thrown away") for batch in wrong)


def test_history_ordinary_batches_keep_both_limits() -> None:
    """All others are at 70 °F within 2 h and at 41 °F within 6 h of 135 °F, and stay there."""
    for batch in PLAN.history():
        if batch.outcome != "used":
            continue
        asked = np.arange(batch.placed_ms, batch.end_ms, MS_PER_MINUTE, dtype=np.int64)
        at, celsius = pan_readings(batch, PLAN.rooms, asked, PLAN.seed)
        start = clock_starts_ms(batch, PLAN.rooms, PLAN.seed)
        reached = at[np.argmax(celsius <= 5.0)]
        assert at[np.argmax(celsius <= 21.1)] - start < 1.8 * MS_PER_HOUR, batch.lot
        assert reached - start < 5.5 * MS_PER_HOUR, batch.lot
        assert celsius[at > reached + 40 * MS_PER_MINUTE].max() <= 5.0, batch.lot
        assert np.diff(at).max() <= 15 * MS_PER_MINUTE, batch.lot


def test_live_batches_show_what_they_are_meant_to() -> None:
    """One forgotten for just over two hours, one cold, one too deep, one that will be in time."""
    forgotten, cold, deep, well = PLAN.live()
    clock = {batch.lot: clock_starts_ms(batch, PLAN.rooms, PLAN.seed) for batch in PLAN.live()}
    assert clock[forgotten.lot] == pytest.approx(T0 - 2 * MS_PER_HOUR - 3 * MS_PER_MINUTE, abs=2 * MS_PER_MINUTE)
    assert at_of(forgotten, T0) > 35
    assert at_of(cold, T0) < 5
    assert at_of(deep, clock[deep.lot] + 2 * MS_PER_HOUR - 20 * MS_PER_MINUTE) > 30
    assert at_of(well, T0) < 27
    assert at_of(well, clock[well.lot] + 2 * MS_PER_HOUR) < 20


def test_plan_same_seed_gives_the_same_readings() -> None:
    """Everything follows from seed and beginning."""
    again = DemoPlan(7, (T0,), 40_000)
    asked = np.arange(T0 - MS_PER_HOUR, T0, 30_000, dtype=np.int64)
    for first, second in zip(PLAN.live(), again.live(), strict=True):
        assert first == second
        told, retold = (pan_readings(batch, PLAN.rooms, asked, PLAN.seed) for batch in (first, second))
        assert (told[1] == retold[1]).all()
