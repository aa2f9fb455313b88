"""The question of a recall: everything that contains a lot, and everything that stood in a unit between two instants.

Where a batch's moves were recorded they say where it stood. Where they were not, nobody can say that it did not stand
there: it *may have stood* in any unit, and is listed so. That is more than was there, and never less.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from sqlmodel import Session

from holdwatch.language import N_, _
from holdwatch.storage.batching import batches
from holdwatch.storage.events import events
from holdwatch.storage.ids import id_of
from holdwatch.storage.parts import parts_of, put_into
from holdwatch.storage.products import product_at
from holdwatch.storage.site import site_at
from holdwatch.storage.standing import WHEREABOUTS, stays
from holdwatch.storage.tables import Batch, Unit
from holdwatch.views.inherited import allergens_of
from holdwatch.views.words import clock_words, outcome_words

__all__ = ["Held", "RecallRow", "Recalled", "containing", "recall_rows", "stood_in"]


class Held(StrEnum):
    """Why a batch is on the list."""

    ITSELF = N_("itself")
    CONTAINS = N_("contains it")
    STOOD = N_("stood there")
    MAY_HAVE = N_("may have stood there")


@dataclass(frozen=True)
class Recalled:
    """A batch on the list, and why."""

    batch: Batch
    why: Held
    from_ms: int | None = None
    """From when it stood there, or may have; ``None`` where the question is of a lot. [ms]"""
    to_ms: int | None = None
    """Until when; ``None`` where it stands there still. [ms]"""
    through: tuple[str, ...] = ()
    """The lots by way of which it is concerned."""
    confirmed: bool = False
    """Whether somebody confirmed it with the code on the unit's door."""
    usual: bool = False
    """Whether a step of its product has that unit as its usual place: by the plan, nobody has said that it was there."""

    @property
    def words(self) -> str:
        """Say why, and by what."""
        if self.confirmed:
            return _("{why}, confirmed at the door").format(why=_(self.why.value))
        return _("{why}, its usual place").format(why=_(self.why.value)) if self.usual else _(self.why.value)


@dataclass(frozen=True)
class RecallRow:
    """A batch on the list, in words."""

    batch_id: int
    lot: str
    product: str
    why: str
    when: str
    """From when to when it stood there, or may have; empty where the question is of a lot."""
    outcome: str
    allergens: str


def recall_rows(session: Session, found: Sequence[Recalled]) -> list[RecallRow]:
    """Return a list as screen and console tell it."""
    site = site_at(session, None)
    us_words = site.limits.startswith("us-")
    return [
        RecallRow(
            batch_id=id_of(each.batch),
            lot=each.batch.lot,
            product=each.batch.product,
            why=_(", by way of ").join(filter(None, (each.words, ", ".join(each.through)))),
            when=_when(each, site.timezone),
            outcome=outcome_words(each.batch.outcome or "running"),
            allergens=allergens_of(session, each.batch, us_words=us_words).words,
        )
        for each in found
    ]


def _when(each: Recalled, zone: str) -> str:
    if each.from_ms is None:
        return ""
    until = _("now") if each.to_ms is None else clock_words(each.to_ms, zone)
    return _("{first} to {last}").format(first=clock_words(each.from_ms, zone), last=until)


def containing(session: Session, batch: Batch) -> list[Recalled]:
    """Return a batch and every batch that some of it went into, at once or by way of others."""
    numbers = put_into(session, id_of(batch))
    found = [Recalled(batch, Held.ITSELF)]
    for number in numbers:
        within = set(parts_of(session, number))
        through = [session.get_one(Batch, each).lot for each in numbers if each in within]
        found.append(Recalled(session.get_one(Batch, number), Held.CONTAINS, through=tuple(through)))
    return found


def stood_in(session: Session, unit: Unit, first_ms: int, last_ms: int) -> list[Recalled]:
    """Return every batch that stood in a unit between two instants, or may have, and what some of it went into since.

    Parameters
    ----------
    first_ms, last_ms
        The span, both ends included. [ms]
    """
    direct = [
        recalled
        for batch in batches(session)
        if batch.started_ms <= last_ms and (batch.ended_ms is None or batch.ended_ms >= first_ms)
        for recalled in [_stood(session, batch, unit, first_ms, last_ms)]
        if recalled is not None
    ]
    known = {id_of(each.batch) for each in direct}
    further: dict[int, Recalled] = {}
    for each in direct:
        for number in put_into(session, id_of(each.batch)):
            if number not in known:
                before = further.get(number)
                through = (*(before.through if before else ()), each.batch.lot)
                further[number] = Recalled(session.get_one(Batch, number), Held.CONTAINS, through=through)
    return [*direct, *further.values()]


def _stood(session: Session, batch: Batch, unit: Unit, first_ms: int, last_ms: int) -> Recalled | None:
    """Return when a batch stood in a unit within a span, or may have; ``None`` where its moves say it did not."""
    moves = events(session, batch_id=id_of(batch), until_ms=last_ms, kinds=WHEREABOUTS)
    end_ms = min(last_ms, batch.ended_ms if batch.ended_ms is not None else last_ms)
    may_have: tuple[int, int | None] | None = None
    usual = _is_usual(session, batch, unit)
    for place, begun_ms, over_ms, confirmed in stays(batch, moves):
        from_ms, to_ms = max(begun_ms, first_ms), min(over_ms if over_ms is not None else end_ms, end_ms)
        if from_ms > to_ms:
            continue
        if place == unit.id:
            return Recalled(batch, Held.STOOD, begun_ms, over_ms, confirmed=confirmed)
        if place is None and may_have is None:
            may_have = (begun_ms, over_ms)
    return None if may_have is None else Recalled(batch, Held.MAY_HAVE, *may_have, usual=usual)


def _is_usual(session: Session, batch: Batch, unit: Unit) -> bool:
    """Tell whether a step of its product stands in that unit, by the plan of its day."""
    product = product_at(session, batch.product, batch.started_ms)
    return product is not None and any(step.place.casefold() == unit.name.casefold() for step in product.steps)
