"""How slowly the food in a unit follows its air: set or learned, kept with its instant, and looked up as of an instant."""

from dataclasses import dataclass

from sqlmodel import Session, col, select

from holdwatch.errors import ConfigError, OutOfRangeError
from holdwatch.language import _
from holdwatch.readings import Medium, Series
from holdwatch.science.foodlag import LONGEST_LAG_MIN, SHORTEST_LAG_MIN, USUAL_LAG_MIN
from holdwatch.science.lag_learning import FoodLag, learn_lag
from holdwatch.storage.arrivals import ArrivalKind, queue
from holdwatch.storage.events import record_event
from holdwatch.storage.ids import id_of
from holdwatch.storage.placing import placements
from holdwatch.storage.ranges import load_series
from holdwatch.storage.tables import Event, EventKind, Probe, Unit

__all__ = ["LearnedLag", "UnitLag", "food_lag", "learned_lag", "set_food_lag"]

THINNED_MS = 2 * 60_000
"""Ours: what is learned from is read no closer than this: food is slow, and a week of seconds is long to fit."""


@dataclass(frozen=True)
class UnitLag:
    """The lag of the food in a unit, as it stood at an instant."""

    lag_min: float
    how: str
    """Where it is from, in words."""
    since_ms: int | None = None
    by: str = ""


@dataclass(frozen=True)
class LearnedLag:
    """What one food probe of a unit teaches about its air."""

    air: str
    food: str
    made: FoodLag


def food_lag(session: Session, unit_id: int, at_ms: int) -> UnitLag:
    """Return the lag that was in force for a unit at an instant; the usual one where nobody set any."""
    query = (
        select(Event)
        .where(col(Event.kind) == EventKind.UNIT_LAG.value, col(Event.unit_id) == unit_id, col(Event.at_ms) <= at_ms)
        .order_by(col(Event.at_ms).desc(), col(Event.id).desc())
    )
    event = session.exec(query.limit(1)).first()
    if event is None or event.facts.get("lag_min") is None:
        return UnitLag(USUAL_LAG_MIN, _("the usual of a small covered pan; nobody set it"))
    return UnitLag(float(event.facts["lag_min"]), event.text, event.at_ms, event.by)


def set_food_lag(session: Session, unit: Unit, lag_min: float | None, *, how: str, now_ms: int, by: str) -> None:
    """Set a unit's lag from now on, ``None`` for the usual one; what was judged before keeps what held then.

    Raises
    ------
    OutOfRangeError
        If the lag is not from 1 min to a day.
    """
    if lag_min is not None and not SHORTEST_LAG_MIN <= lag_min <= LONGEST_LAG_MIN:
        raise OutOfRangeError(_("the lag"), lag_min, SHORTEST_LAG_MIN, LONGEST_LAG_MIN, "min")
    record_event(
        session,
        EventKind.UNIT_LAG,
        at_ms=now_ms,
        now_ms=now_ms,
        by=by,
        unit_id=unit.id,
        text=how,
        facts={"lag_min": lag_min},
    )
    queue(session, ArrivalKind.EVENT, first_ms=now_ms, last_ms=now_ms, now_ms=now_ms, unit_id=unit.id)


def learned_lag(session: Session, unit: Unit, first_ms: int, last_ms: int) -> LearnedLag:
    """Learn a unit's lag from the probes in its air and its food; of several foods the quickest speaks.

    Raises
    ------
    ConfigError
        If the unit had no probe in its air, or none in food, over the span.
    """
    said: dict[Medium, dict[str, Series]] = {Medium.AIR: {}, Medium.FOOD: {}}
    for placed in placements(session, unit_id=id_of(unit)):
        begin, end = max(first_ms, placed.from_ms), min(last_ms, placed.to_ms if placed.to_ms is not None else last_ms)
        probe = session.get_one(Probe, placed.probe_id)
        if placed.batch_id is None and end > begin and probe.medium in said:
            said[Medium(probe.medium)][probe.code] = _thinned(load_series(session, id_of(probe), begin, end))
    for medium, found in said.items():
        if not found:
            raise ConfigError(
                _("{name} had no {medium} probe in that time: place one in its air and one in food, for a day").format(
                    name=unit.name, medium=_(medium.value)
                )
            )
    pairs = [
        LearnedLag(air, food, learn_lag(air_said, food_said))
        for air, air_said in said[Medium.AIR].items()
        for food, food_said in said[Medium.FOOD].items()
    ]
    return min(pairs, key=lambda pair: pair.made.lag_min if pair.made.lag_min is not None else LONGEST_LAG_MIN + 1)


def _thinned(series: Series) -> Series:
    """Keep the first reading of every two minutes."""
    if not len(series):
        return series
    slots = series.at_ms // THINNED_MS
    first = [0, *(n for n in range(1, len(slots)) if slots[n] != slots[n - 1])]
    return Series(series.at_ms[first], series.celsius[first])
