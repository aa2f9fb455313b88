"""What travels with parts beside clocks and date marks: allergens, and findings that nobody has dealt with.

What nobody declared is said as *not declared*; it is never *none*.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlmodel import Session

from holdwatch.plan.allergens import US_WORDS, Contains, read_contains, told, told_us
from holdwatch.plan.model import Asked
from holdwatch.storage.events import events
from holdwatch.storage.ids import id_of
from holdwatch.storage.parts import parts_of
from holdwatch.storage.products import product_at
from holdwatch.storage.tables import Batch, Event, EventKind, FindingKind
from holdwatch.views.findings import finding_views
from holdwatch.views.model import Allergens, FindingView

__all__ = ["allergens_of", "findings_of_parts"]

_TRAVELS = frozenset({FindingKind.DEVIATION, FindingKind.NOT_SHOWN})


@dataclass(frozen=True)
class _Declared:
    """What was declared of one batch's own food."""

    contains: tuple[Contains, ...]
    confirmed: bool


def allergens_of(session: Session, batch: Batch, *, us_words: bool) -> Allergens:
    """Return the allergens in a batch and in all that ever came into it, in the words of the law of the place."""
    found: list[Contains] = []
    unknown: list[str] = []
    told = _told(session, batch)
    parts = parts_of(session, id_of(batch)) if any(event.kind == EventKind.ADDED for event in told) else []
    in_it = [(batch, told)]
    in_it += [(each, _told(session, each)) for each in (session.get_one(Batch, number) for number in parts)]
    for each, said in in_it:
        if _is_part(session, each, said):
            continue  # it is food of the batch that it was divided off from, which is in the list
        own = _own(session, each, said)
        found += own.contains
        if not own.confirmed:
            unknown.append(f"{each.product} {each.lot}")
    return Allergens(_words(found, us_words=us_words), tuple(unknown))


def _told(session: Session, batch: Batch) -> list[Event]:
    return events(session, batch_id=id_of(batch), kinds=[EventKind.ADDED, EventKind.ALLERGENS])


def findings_of_parts(session: Session, batch: Batch) -> tuple[FindingView, ...]:
    """Return what was found of the batches that are in this one, and that is open or waits for somebody."""
    return tuple(
        found
        for number in parts_of(session, id_of(batch))
        for found in finding_views(session, open_only=False, batch_id=number)
        if found.kind in _TRAVELS and (found.closed_ms is None or found.wants_somebody)
    )


def _own(session: Session, batch: Batch, told: Sequence[Event]) -> _Declared:
    """Return what was said of this batch, else what its product says in the plan."""
    said = [event for event in told if event.kind == EventKind.ALLERGENS]
    if said:
        return _Declared(read_contains(said[-1].text), confirmed=True)
    product = product_at(session, batch.product, batch.started_ms)
    if product is None:
        return _Declared((), confirmed=False)
    return _Declared(product.contains, confirmed=product.said(Asked.ALLERGENS) is not None)


def _is_part(session: Session, batch: Batch, told: Sequence[Event]) -> bool:
    """Tell whether a batch is nothing but a part of another of the same product."""
    first = [event for event in told if event.at_ms <= batch.started_ms]
    if any(event.kind == EventKind.ALLERGENS for event in first):
        return False
    return any(session.get_one(Batch, int(event.facts["batch"])).product == batch.product for event in first)


def _words(contains: Iterable[Contains], *, us_words: bool) -> str:
    merged: dict[str, dict[str, None]] = {}
    for each in contains:
        named = merged.setdefault(each.allergen.value, {})
        named.update(dict.fromkeys(part.strip() for part in each.named.split(",") if part.strip()))
    whole = read_contains(", ".join(f"{word} ({', '.join(n)})" if n else word for word, n in merged.items()) or "none")
    if not whole:
        return ""
    if not us_words:
        return told(whole)
    beyond = [each for each in whole if each.allergen not in US_WORDS]
    major = told_us(whole)
    parts = [major if major != "none" else "", told(beyond) if beyond else ""]
    return ", ".join(part for part in parts if part) or told(whole)
