"""PINs: what may be one, and how one is kept.

A PIN is kept as an Argon2id hash (RFC 9106) with the library's present parameters, never as itself. A hash alone does
not protect four digits from somebody who holds the store: ten thousand guesses take minutes. The store is protected by
its file rights; what stops guessing through the screens is `holdwatch.people.tries`.
"""

from typing import TYPE_CHECKING

from holdwatch.errors import ConfigError
from holdwatch.language import _

if TYPE_CHECKING:
    from argon2 import PasswordHasher

__all__ = ["LONGEST", "SHORTEST", "check_new_pin", "hash_pin", "is_pin", "outdated"]

SHORTEST, LONGEST = 4, 12
_UP = "01234567890123456789"


def check_new_pin(pin: str) -> str:
    """Return the PIN if it may be one.

    Raises
    ------
    ConfigError
        If it is not of 4 to 12 digits, or is one that everybody tries first: one digit over and over, or a run.
    """
    pin = pin.strip()
    if not pin:
        raise ConfigError(_("say the new PIN"))
    if not (pin.isascii() and pin.isdigit()):
        raise ConfigError(_("a PIN is made of digits alone"))
    if not SHORTEST <= len(pin) <= LONGEST:
        raise ConfigError(
            _("a PIN has {shortest} to {longest} digits; this one has {count}").format(
                shortest=SHORTEST, longest=LONGEST, count=len(pin)
            )
        )
    if len(set(pin)) == 1 or pin in _UP or pin in _UP[::-1]:
        raise ConfigError(_("this PIN is one that is tried first: take one without a run, and of more than one digit"))
    return pin


def hash_pin(pin: str) -> str:
    """Return what is kept of a PIN; it takes tens of milliseconds, so never call it inside a transaction."""
    return _hasher().hash(pin)


def is_pin(kept: str, pin: str) -> bool:
    """Return whether the PIN is the one that was kept; as slow as `hash_pin`."""
    from argon2.exceptions import InvalidHashError, VerificationError

    try:
        return _hasher().verify(kept, pin.strip())
    except (VerificationError, InvalidHashError):
        return False


def outdated(kept: str) -> bool:
    """Return whether a PIN should be hashed again, because the library has stronger parameters by now."""
    return _hasher().check_needs_rehash(kept)


def _hasher() -> "PasswordHasher":
    from argon2 import PasswordHasher  # only where a PIN is at hand, so that commands start at once

    return PasswordHasher()
