"""Signing on the command line: who records, and whether the PIN was found right."""

from typing import TYPE_CHECKING, Annotated

import typer

from holdwatch import clock
from holdwatch.cli.common import recorded_by
from holdwatch.cli.pins import asked_pin
from holdwatch.errors import ConfigError

if TYPE_CHECKING:
    from holdwatch.storage.engine import Store
    from holdwatch.storage.handling import Signer

__all__ = ["SignOption", "signer_for"]

SignOption = Annotated[
    bool, typer.Option("--sign", help="Sign it: the PIN of --by is asked for, or read as one line of standard input.")
]


def signer_for(store: "Store", by: str, sign: bool) -> "Signer":
    """Return who records; with `sign` after the PIN was found right."""
    from holdwatch.errors import UnknownNameError
    from holdwatch.storage.handling import Signer
    from holdwatch.storage.people import person_named
    from holdwatch.storage.signing import require_pin

    person = None
    with store.read() as session:
        try:
            person = person_named(session, by) if by else None
        except UnknownNameError:
            if sign:
                raise
    if not sign:
        return Signer(recorded_by(by) if person is None else person.name, person)
    if person is None:
        raise ConfigError("--sign needs to know whose PIN it is: name them with --by")
    pin = asked_pin(person.name)
    person = require_pin(store, person, pin, None, place="console", now_ms=clock.now_ms())
    return Signer(person.name, person, signed=True)
