"""A small kitchen to put into a store."""

from dataclasses import dataclass

from sqlmodel import Session

from holdwatch.storage.register import add_probe, add_unit, set_site, start_batch
from holdwatch.storage.tables import Batch, Probe, Unit

__all__ = ["BY", "NOW", "Kitchen", "open_kitchen"]

NOW = 1_780_000_000_000 - 1_780_000_000_000 % 86_400_000
BY = "Mara"


@dataclass(frozen=True)
class Kitchen:
    """What the kitchen holds."""

    walk_in: Unit
    food: Probe
    second: Probe
    air: Probe
    batch: Batch


def open_kitchen(session: Session) -> Kitchen:
    """Set up Linden Street Patisserie: a walk-in, three probes and a batch in two vessels, started an hour ago."""
    set_site(
        session,
        name="Linden Street Patisserie",
        timezone="America/Denver",
        limits="us-food-code-2022",
        unit="F",
        from_ms=NOW - 86_400_000,
        now_ms=NOW,
        by=BY,
    )
    return Kitchen(
        walk_in=add_unit(session, "Walk-in 1", "walk-in", now_ms=NOW, by=BY),
        food=add_probe(session, "p1", medium="food", now_ms=NOW, by=BY),
        second=add_probe(session, "p2", medium="food", now_ms=NOW, by=BY),
        air=add_probe(session, "a1", medium="air", now_ms=NOW, by=BY),
        batch=start_batch(
            session, product="Pastry cream", lot="L1", vessels=2, at_ms=NOW - 3_600_000, now_ms=NOW, by=BY
        ),
    )
