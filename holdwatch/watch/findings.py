"""What the record shows now against the findings that stand: which to open, change, merge or withdraw.

Pure: the findings of one subject go in as they are stored and as they are wanted, the changes come out. A finding's
identity does not depend on the order in which readings came:

* ``ONE``: the family has a single finding for ever (the cooling clause of a vessel).
* ``SPELL``: a spell takes the row of the oldest finding that it overlaps, whatever became of that one since; others it
  overlaps are merged into it. The key names the first reading of the spell as it is known now.
* ``RUNNING``: at most one at a time, what is over stays history (a silence, a fault of the system).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from holdwatch.storage.tables import FindingKind

__all__ = ["Change", "Gone", "Match", "Stored", "Wanted", "reconcile"]


class Match(StrEnum):
    """By what a finding is known again."""

    ONE = "one"
    SPELL = "spell"
    RUNNING = "running"


@dataclass(frozen=True)
class Wanted:
    """A finding that the record calls for."""

    family: str
    """Subject and clause, the part of the identity that no reading can change."""
    match: Match
    kind: FindingKind
    subject: str
    title: str
    reason: str
    since_ms: int
    clause: str = ""
    source: str = ""
    verdict: str = ""
    first_ms: int = 0
    last_ms: int = 0
    """First and last reading of a spell; unused by the other kinds of identity."""
    over_ms: int | None = None
    over_reason: str = ""
    batch_id: int | None = None
    unit_id: int | None = None
    probe_id: int | None = None
    facts: Mapping[str, Any] = field(default_factory=dict)

    @property
    def key(self) -> str:
        """The identity, made of the data alone."""
        if self.match is Match.ONE:
            return self.family
        return f"{self.family}@{self.first_ms if self.match is Match.SPELL else self.since_ms}"


@dataclass(frozen=True)
class Stored:
    """A finding as it stands in the store, reduced to its identity."""

    id: int
    family: str
    first_ms: int
    last_ms: int
    is_open: bool
    stands: bool = True
    """Whether the record still calls for it: what is over by itself stands, what vanished does not."""
    merged: bool = False


@dataclass(frozen=True)
class Gone:
    """Why a finding is no longer called for, and what the record shows instead."""

    reason: str
    verdict: str = ""


@dataclass(frozen=True)
class Change:
    """One thing to do: open (`stored_id` is ``None``), change, merge (`into` is a key) or close (`wanted` is ``None``)."""

    stored_id: int | None
    wanted: Wanted | None
    into: str | None = None


def reconcile(stored: Sequence[Stored], wanted: Sequence[Wanted]) -> list[Change]:
    """Return what has to change for the stored findings to be the wanted ones.

    Parameters
    ----------
    stored : the findings of the families and the span that were judged, those that are over included; of running ones
        only those that are open.
    wanted : all that the record calls for there.
    """
    changes: list[Change] = []
    claimed: set[int] = set()
    in_order = sorted(wanted, key=lambda w: (w.family, w.first_ms, w.since_ms))
    for one in in_order:
        candidates = [s for s in stored if s.id not in claimed and _is_same(s, one)]
        oldest = min(candidates, key=lambda s: s.id, default=None)
        if oldest is not None:
            claimed.add(oldest.id)
        changes.append(Change(oldest.id if oldest is not None else None, one))
    for left in sorted(stored, key=lambda s: s.id):
        if left.id in claimed or left.merged or not (left.is_open or left.stands):
            continue
        into = next((one for one in in_order if _is_same(left, one)), None)
        changes.append(Change(left.id, None, into=into.key if into is not None else None))
    return changes


def _is_same(stored: Stored, wanted: Wanted) -> bool:
    """Tell whether a stored finding is about the same thing."""
    if stored.family != wanted.family or stored.merged:
        return False
    if wanted.match is Match.RUNNING:
        return stored.is_open
    return wanted.match is Match.ONE or (stored.first_ms <= wanted.last_ms and wanted.first_ms <= stored.last_ms)
