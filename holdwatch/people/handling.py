"""The life of a finding among people: from unseen to verified, as one table.

::

    unseen ─seen─▶ seen ─action─▶ handled ─verified─▶ verified
                    │  ▲             ▲  │                 │
                    │  └─ reopened ──┼──┴─────────────────┘
                    │                │
                    └─ promise ─▶ promised ─ check kept ─▶ handled
                                     └────── check failed ─▶ seen

An action may be recorded before anybody said to have seen it; at two in the morning that is how it goes.
*Held* is between: a cook has set the food apart for the manager, who has not decided yet. The watch has one word in
it: *again*, when the finding got worse or came back after somebody had dealt with it.

What people did is never changed: the stage is computed from all of it, in the order in which it was recorded.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from holdwatch.language import N_, _
from holdwatch.people.roles import Right

__all__ = [
    "REFUSALS",
    "RIGHT_OF",
    "TABLE",
    "Act",
    "Deed",
    "Disposition",
    "Handling",
    "Stage",
    "handling_of",
    "refusal",
]


class Stage(StrEnum):
    """Where a finding stands."""

    UNSEEN = N_("unseen")
    SEEN = N_("seen")
    HELD = N_("held for the manager")
    PROMISED = N_("check promised")
    HANDLED = N_("handled")
    VERIFIED = N_("verified")


class Act(StrEnum):
    """What can happen to a finding."""

    SEEN = "seen"
    ACTION = "action"  # done, and nothing more is promised
    PROMISE = "promise"  # done, and a check is promised
    HOLD = "hold"  # set apart until the manager decides
    CHECK_KEPT = "check-kept"
    CHECK_FAILED = "check-failed"
    MISTAKEN = "mistaken"  # there was nothing the matter: the probe fell out
    VERIFIED = "verified"
    REOPENED = "reopened"
    AGAIN = "again"  # the watch: worse, or once more
    CORRECTION = "correction"  # another entry takes the place of one


class Disposition(StrEnum):
    """What becomes of the food."""

    KEEP = N_("keep")
    RE_CHILL = N_("re-chill")
    REHEAT = N_("reheat")
    DISCARD = N_("discard")
    HOLD = N_("hold")


RIGHT_OF: Mapping[Act, Right] = MappingProxyType(
    {
        Act.SEEN: Right.RECORD,
        Act.ACTION: Right.DISPOSE,
        Act.PROMISE: Right.DISPOSE,
        Act.HOLD: Right.DISPOSE,
        Act.CHECK_KEPT: Right.DISPOSE,
        Act.CHECK_FAILED: Right.DISPOSE,
        Act.MISTAKEN: Right.CORRECT,
        Act.VERIFIED: Right.VERIFY,
        Act.REOPENED: Right.VERIFY,
        Act.CORRECTION: Right.CORRECT,
    }
)
"""What somebody needs for an act; *keep* needs `Right.KEEP` besides, and the watch needs nothing."""

_TO_DO = (Stage.UNSEEN, Stage.SEEN, Stage.HELD, Stage.PROMISED)

TABLE: Mapping[tuple[Stage, Act], Stage] = MappingProxyType(
    {
        (Stage.UNSEEN, Act.SEEN): Stage.SEEN,
        **{(stage, Act.SEEN): stage for stage in Stage if stage is not Stage.UNSEEN},
        **{(stage, Act.ACTION): Stage.HANDLED for stage in (*_TO_DO, Stage.HANDLED)},
        **{(stage, Act.PROMISE): Stage.PROMISED for stage in (*_TO_DO, Stage.HANDLED)},
        **{(stage, Act.HOLD): Stage.HELD for stage in (*_TO_DO, Stage.HANDLED)},
        (Stage.PROMISED, Act.CHECK_KEPT): Stage.HANDLED,
        (Stage.PROMISED, Act.CHECK_FAILED): Stage.SEEN,
        **{(stage, Act.MISTAKEN): Stage.HANDLED for stage in (*_TO_DO, Stage.HANDLED)},
        (Stage.HANDLED, Act.VERIFIED): Stage.VERIFIED,
        (Stage.HANDLED, Act.REOPENED): Stage.SEEN,
        (Stage.VERIFIED, Act.REOPENED): Stage.SEEN,
        **{(stage, Act.AGAIN): Stage.UNSEEN for stage in Stage},
        # A corrected entry was not what somebody verified.
        (Stage.VERIFIED, Act.CORRECTION): Stage.HANDLED,
        **{(stage, Act.CORRECTION): stage for stage in (Stage.HELD, Stage.PROMISED, Stage.HANDLED, Stage.SEEN)},
    }
)
"""(Stage, act) → the stage after it. What is not here is refused, with the words of `REFUSALS`."""

REFUSALS: Mapping[tuple[Stage, Act], str] = MappingProxyType(
    {
        **{
            (Stage.VERIFIED, act): N_("it has been verified: a manager reopens it first")
            for act in (Act.ACTION, Act.PROMISE, Act.HOLD, Act.MISTAKEN)
        },
        **{
            (stage, act): N_("no check was promised: record what was done instead")
            for stage in Stage
            if stage is not Stage.PROMISED
            for act in (Act.CHECK_KEPT, Act.CHECK_FAILED)
        },
        (Stage.UNSEEN, Act.VERIFIED): N_("nobody has recorded what was done about it: that comes first"),
        (Stage.SEEN, Act.VERIFIED): N_("nobody has recorded what was done about it: that comes first"),
        (Stage.HELD, Act.VERIFIED): N_("the food is held for the manager: decide what becomes of it first"),
        (Stage.PROMISED, Act.VERIFIED): N_("a check was promised and is not recorded yet: that comes first"),
        (Stage.VERIFIED, Act.VERIFIED): N_("it has been verified already"),
        **{(stage, Act.REOPENED): N_("it is still open: record what is done about it") for stage in _TO_DO},
        (Stage.UNSEEN, Act.CORRECTION): N_("there is no entry to correct yet"),
    }
)
"""(Stage, act) → why it is refused, and what to do instead."""


@dataclass(frozen=True)
class Deed:
    """Something that happened to a finding, as it was recorded."""

    act: Act
    by: str
    at_ms: int
    signed: bool = False
    disposition: Disposition | None = None
    text: str = ""
    check_ms: int | None = None
    """When the promised check is due. [ms]"""


@dataclass(frozen=True)
class Handling:
    """Where a finding stands among people, and who brought it there."""

    stage: Stage = Stage.UNSEEN
    seen_by: str = ""
    handled_by: tuple[str, ...] = ()
    """Everybody who decided something since it was last open; none of them verifies it."""
    verified_by: str = ""
    disposition: Disposition | None = None
    check_ms: int | None = None
    """When the promised check is due; ``None`` where none is promised. [ms]"""
    unsigned: int = 0
    """How many decisions wait for a signature."""

    @property
    def settled(self) -> bool:
        """Whether nobody has to do anything about the food any more."""
        return self.stage in {Stage.HANDLED, Stage.VERIFIED}


def handling_of(deeds: Iterable[Deed]) -> Handling:
    """Return where a finding stands after everything that was recorded, in that order.

    A deed that the table does not know leaves the stage as it was: what was recorded by two people in the same moment
    stands, and the one that came second changes nothing that it could not have changed.
    """
    now = Handling()
    for deed in deeds:
        stage = TABLE.get((now.stage, deed.act))
        if stage is not None:
            now = _after(now, deed, stage)
    return now


def refusal(now: Handling, act: Act, by: str, disposition: Disposition | None = None) -> str:
    """Return why an act is refused, empty where it is not; who may do it by role is asked apart."""
    if (now.stage, act) not in TABLE:
        return _(REFUSALS[now.stage, act])
    if act is Act.VERIFIED and by.casefold() in {each.casefold() for each in now.handled_by}:
        return _("{by} decided it: somebody else verifies").format(by=by)
    if act in {Act.ACTION, Act.PROMISE} and disposition is Disposition.HOLD:
        return _("food that is held for the manager is not decided yet: record it as held")
    if disposition is Disposition.REHEAT and now.disposition is Disposition.REHEAT:
        return _("it was reheated once already: food is reheated once; discard it, or hold it for the manager")
    return ""


_DECISIONS = frozenset(
    {Act.ACTION, Act.PROMISE, Act.HOLD, Act.CHECK_KEPT, Act.CHECK_FAILED, Act.MISTAKEN, Act.CORRECTION}
)


def _after(now: Handling, deed: Deed, stage: Stage) -> Handling:
    opened = deed.act in {Act.AGAIN, Act.REOPENED}
    decided = deed.act in _DECISIONS
    handled_by = now.handled_by
    if opened:
        handled_by = ()
    elif decided and deed.by not in handled_by:
        handled_by = (*handled_by, deed.by)
    promised = deed.check_ms if deed.act is Act.PROMISE else now.check_ms
    return Handling(
        stage=stage,
        seen_by="" if deed.act is Act.AGAIN else now.seen_by or deed.by,
        handled_by=handled_by,
        verified_by=deed.by if deed.act is Act.VERIFIED else now.verified_by if stage is Stage.VERIFIED else "",
        disposition=deed.disposition or now.disposition,
        check_ms=promised if stage is Stage.PROMISED else None,
        unsigned=now.unsigned + (1 if decided and not deed.signed else 0),
    )
