"""Asking for a PIN on a console: typed unseen, or one line of standard input; never an argument."""

import getpass
import sys

from holdwatch.errors import ConfigError

__all__ = ["asked_pin", "new_pin"]


def asked_pin(name: str) -> str:
    """Return the PIN that somebody types to sign."""
    if not sys.stdin.isatty():
        return sys.stdin.readline()
    return getpass.getpass(f"PIN of {name}: ")


def new_pin(name: str) -> str:
    """Return a new PIN, typed twice.

    Raises
    ------
    ConfigError
        If the two differ.
    """
    pin = asked_pin(name)
    if sys.stdin.isatty() and getpass.getpass("Once more: ").strip() != pin.strip():
        raise ConfigError("the two are not the same: nothing was changed, try again")
    return pin
