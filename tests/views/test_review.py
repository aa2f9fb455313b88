"""A manager's review of a finding: how much worse it may have got, and when that is not to be seen."""

import numpy as np
import pytest

from holdwatch.errors import ConfigError
from holdwatch.people.handling import Act, Disposition
from holdwatch.quantities import celsius_of_f
from holdwatch.science.growth import salmonella_egg_rate, salmonella_yolk_rate
from holdwatch.storage.findings import findings
from holdwatch.storage.handling import Signer, record_act
from holdwatch.views.review import growth_review
from tests.watch.conftest import kitchen
from tests.watch.kitchen import HOUR, MIN, T0, Kitchen

__all__ = ["kitchen"]


def _warm_walk_in(kitchen: Kitchen, medium: str = "food", *, until_ms: int = T0 + 10 * HOUR) -> None:
    """Let a walk-in's probe read 38 °F, rise within an hour to 68 °F for four hours, and come back within two."""
    kitchen.probe("f1", medium)
    kitchen.unit("Walk-in 1", "walk-in", "f1")
    told = [
        (at, celsius_of_f(float(np.interp((at - T0) / HOUR, [0, 1, 2, 6, 8], [38, 38, 68, 68, 38]))))
        for at in range(T0, until_ms, 5 * MIN)
    ]
    kitchen.arrive("f1", told, until_ms)
    kitchen.rounds(until_ms)


def _review(kitchen: Kitchen) -> dict[str, float]:
    with kitchen.store.read() as session:
        (found,) = findings(session)
        return {made["model"]: made["log10_steps"] for made in growth_review(session, found).data["growth"]}


def _deal_with(kitchen: Kitchen, disposition: Disposition) -> None:
    with kitchen.store.write() as session:
        (found,) = findings(session)
        act = Act.HOLD if disposition is Disposition.HOLD else Act.ACTION
        signer = Signer("Ines Okafor")
        record_act(
            session,
            found,
            act,
            signer,
            at_ms=T0 + 11 * HOUR,
            now_ms=T0 + 11 * HOUR,
            disposition=disposition,
            text="done",
        )


def test_review_tells_the_fastest_model_first(kitchen: Kitchen) -> None:
    """Four hours at 20 °C, by the published rates at 20 °C, and what the way there and back adds; the caution under them."""
    _warm_walk_in(kitchen)
    _deal_with(kitchen, Disposition.DISCARD)
    steps = _review(kitchen)
    assert next(iter(steps)) == "salmonella-yolk"
    for name, rate in (("salmonella-yolk", salmonella_yolk_rate), ("salmonella-egg", salmonella_egg_rate)):
        assert 4 * float(rate(20.0)) < steps[name] < 5.5 * float(rate(20.0))
    with kitchen.store.read() as session:
        answer = growth_review(session, findings(session)[0])
    assert "no permission to keep food" in answer.caution
    assert "McWhorter" in answer.basis.source


def test_open_finding_is_never_reviewed(kitchen: Kitchen) -> None:
    """Beside an open finding there is no figure, whatever was recorded."""
    _warm_walk_in(kitchen, until_ms=T0 + 4 * HOUR)
    with pytest.raises(ConfigError, match="is open: deal with it first"):
        _review(kitchen)


@pytest.mark.parametrize("held", [False, True])
def test_review_comes_after_the_disposition(kitchen: Kitchen, *, held: bool) -> None:
    """Over, but nobody has said what became of the food, or it waits for the manager: no figure to lean on."""
    _warm_walk_in(kitchen)
    if held:
        _deal_with(kitchen, Disposition.HOLD)
    with pytest.raises(ConfigError, match="nobody has recorded what became of the food"):
        _review(kitchen)
