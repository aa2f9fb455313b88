"""The code on a unit's door: whoever can write it down, or has scanned it, stands in front of that unit.

It confirms where a batch was put. It is no secret, and signs nothing; it only cannot be known by heart of every unit.
"""

from hashlib import sha256
from typing import Any

from sqlmodel import Session

from holdwatch.errors import ConfigError
from holdwatch.language import _
from holdwatch.storage.ids import id_of
from holdwatch.storage.site import site_at, units
from holdwatch.storage.tables import Unit

__all__ = ["AT_THE_DOOR", "door_code", "unit_at_door"]

_LETTERS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
"""None that is taken for another on a wet sheet."""
_LENGTH = 5
AT_THE_DOOR: dict[str, Any] = {"confirmed": True}
"""What a move says that was confirmed by the code of the door."""


def door_code(session: Session, unit: Unit) -> str:
    """Return the code of a unit, such as ``K7M2Q``; it never changes."""
    first = site_at(session, 0)
    digest = int.from_bytes(sha256(f"{first.from_ms} {id_of(unit)} {unit.name}".encode()).digest())
    return "".join(_LETTERS[digest // len(_LETTERS) ** place % len(_LETTERS)] for place in range(_LENGTH))


def unit_at_door(session: Session, code: str) -> Unit:
    """Return the unit on whose door a code stands; small letters and spaces do not matter.

    Raises
    ------
    ConfigError
        If it stands on no door.
    """
    said = "".join(code.split()).upper()
    found = next((unit for unit in units(session) if door_code(session, unit) == said), None)
    if found is None:
        raise ConfigError(
            _("{code!r} stands on no door here: look at the code once more, or choose the unit by its name").format(
                code=code
            )
        )
    return found
