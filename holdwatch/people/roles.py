"""What a person may do, by role; and for which of it the shift's sign-in is not enough."""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

from holdwatch.language import N_

__all__ = ["NEEDS_PIN", "RIGHTS", "PersonRole", "Right", "may"]


class PersonRole(StrEnum):
    """What a person is in the kitchen."""

    COOK = N_("cook")
    MANAGER = N_("manager")
    VIEWER = N_("viewer")  # an inspector, an owner: looks and prints, records nothing


class Right(StrEnum):
    """What can be done with the record."""

    LOOK = "look"
    RECORD = "record"  # start, move, read by hand, declare an instant, end
    DISPOSE = "dispose"  # say what becomes of food after a finding: re-chill, reheat once, discard, hold
    KEEP = "keep"  # say that food is kept after a deviation
    CORRECT = "correct"  # put another entry in the place of one
    VERIFY = "verify"  # check what somebody else recorded, and sign the day
    SET_UP = "set-up"  # limits, units, probes, people, plan


_COOK = frozenset({Right.LOOK, Right.RECORD, Right.DISPOSE, Right.CORRECT})

RIGHTS: Mapping[PersonRole, frozenset[Right]] = MappingProxyType(
    {
        PersonRole.VIEWER: frozenset({Right.LOOK}),
        PersonRole.COOK: _COOK,
        PersonRole.MANAGER: frozenset(Right),
    }
)
"""What each role may do. *Keep* after a deviation is a manager's alone."""

NEEDS_PIN = frozenset({Right.DISPOSE, Right.KEEP, Right.CORRECT, Right.VERIFY, Right.SET_UP})
"""What carries a person's own PIN; the rest is done under the shift's sign-in."""


def may(role: PersonRole, right: Right) -> bool:
    """Return whether somebody of that role may do it."""
    return right in RIGHTS[role]
