"""What to do: a line for every process that something can be found of, and none that says food is good."""

import pytest

from holdwatch.alerts.advice import advice
from holdwatch.rules.verdicts import Matter, Process
from holdwatch.storage.tables import FindingKind

FALLBACK = advice(FindingKind.DEVIATION, "nothing known", "batch:1:1")


@pytest.mark.parametrize("process", [*Process, *Matter])
def test_deviation_of_every_process_has_advice_of_its_own(process: Process | Matter) -> None:
    """Nobody is left with a general word where something particular has gone wrong."""
    if process is Process.COOK_EGGS_TO_ORDER:  # eaten at once: what is left is to tell the person in charge
        assert advice(FindingKind.DEVIATION, process.value, "batch:1:1") == FALLBACK
        return
    told = advice(FindingKind.DEVIATION, process.value, "batch:1:1")
    assert told != FALLBACK
    assert "safe" not in told


@pytest.mark.parametrize("process", ["time-control-4h", "time-control-6h", "time-control-from-room"])
def test_food_whose_time_is_up_gets_no_new_time(process: str) -> None:
    """Food Code 3-501.19: what is over its time is discarded; back in the fridge is no end."""
    assert "gives it no new time" in advice(FindingKind.NOT_SHOWN, process, "batch:1:1")
    assert "discard" in advice(FindingKind.SOON, process, "batch:1:1")
