"""The kinds of papers that are printed of the record: what each is called, and its sections in their order."""

from dataclasses import dataclass
from itertools import takewhile

from holdwatch.language import N_, _

__all__ = ["BATCH", "BODY", "CHECKS", "DAY", "FINDINGS", "KINDS", "LOG", "Kind"]


BODY = ("units", "batches", "findings")
"""The sections that have pages a subject; they stand together, and a long paper is set in pieces of them."""


@dataclass(frozen=True)
class Kind:
    """A kind of paper."""

    heading: str
    this: str
    """What it calls itself in a sentence."""
    parts: tuple[str, ...]
    """Its sections, by their names in ``sections.typ``."""
    on_first_page: int | None = None
    """How many findings stand in the list of what went wrong; the rest is counted. ``None`` for all."""

    @property
    def name(self) -> str:
        """How the heads of its pages name it."""
        heading = _(self.heading)
        return f"{heading[:1].lower()}{heading[1:]}"

    @property
    def before(self) -> tuple[str, ...]:
        """Its sections up to those that have pages a subject."""
        return tuple(takewhile(lambda part: part not in BODY, self.parts))

    @property
    def body(self) -> tuple[str, ...]:
        """Those of its sections that have pages a subject."""
        return tuple(part for part in self.parts if part in BODY)

    @property
    def after(self) -> tuple[str, ...]:
        """Its sections behind them."""
        return tuple(part for part in self.parts if part not in {*self.before, *self.body})

    def has(self, *parts: str) -> bool:
        """Tell whether it has any of these sections."""
        return not set(parts).isdisjoint(self.parts)


_END = ("verification", "trust")
LOG = Kind(
    N_("Inspection log"),
    N_("this log"),
    (
        *("first", "summary", "attention", "limits", "uncovered", "probes", "nothing"),
        *("units", "batches", "findings", "gaps", "visits", "deliveries", "round", "checks"),
        *_END,
    ),
    on_first_page=8,
)
BATCH = Kind(
    N_("Batch record"), N_("this record"), ("first", "batches", "findings", "gaps", "limits", "uncovered", *_END)
)
DAY = Kind(
    N_("Daily sheet"),
    N_("this sheet"),
    (
        "first",
        "summary",
        "attention",
        "unit-lines",
        "batch-lines",
        "gaps",
        "visits",
        "deliveries",
        "round",
        "checks",
        *_END,
    ),
)
FINDINGS = Kind(
    N_("Findings and actions"),
    N_("this paper"),
    ("first", "summary", "attention", "findings", "uncovered", *_END),
    on_first_page=40,
)
CHECKS = Kind(N_("Calibration log"), N_("this log"), ("first", "probes", "checks-due", *_END))
KINDS = {"log": LOG, "batch": BATCH, "day": DAY, "findings": FINDINGS, "checks": CHECKS}
"""Every kind by a short name."""
