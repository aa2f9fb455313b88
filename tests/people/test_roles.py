"""What a role may do."""

import pytest

from holdwatch.people.roles import NEEDS_PIN, RIGHTS, PersonRole, Right, may

# Right → who has it, whether it takes the person's own PIN.
TABLE = {
    Right.LOOK: ({PersonRole.VIEWER, PersonRole.COOK, PersonRole.MANAGER}, False),
    Right.RECORD: ({PersonRole.COOK, PersonRole.MANAGER}, False),
    Right.DISPOSE: ({PersonRole.COOK, PersonRole.MANAGER}, True),
    Right.CORRECT: ({PersonRole.COOK, PersonRole.MANAGER}, True),
    Right.KEEP: ({PersonRole.MANAGER}, True),
    Right.VERIFY: ({PersonRole.MANAGER}, True),
    Right.SET_UP: ({PersonRole.MANAGER}, True),
}


def test_the_table_names_every_right() -> None:
    """The table names every right."""
    assert set(TABLE) == set(Right)
    assert set(RIGHTS) == set(PersonRole)


@pytest.mark.parametrize("role", PersonRole)
@pytest.mark.parametrize("right", Right)
def test_rights_are_as_written(role: PersonRole, right: Right) -> None:
    """Rights are as written."""
    who, pin = TABLE[right]
    assert may(role, right) == (role in who)
    assert (right in NEEDS_PIN) == pin
