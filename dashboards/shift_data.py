"""What the page Shift asks and records; like `data`, for one page."""

from dashboards import data, signedin
from holdwatch.errors import ConfigError, UnknownNameError
from holdwatch.people.roles import Right
from holdwatch.storage.people import person_named
from holdwatch.storage.shifts import begin_shift, leave_shift
from holdwatch.storage.signing import require_pin

__all__ = ["begin", "leave"]


@data.told
def begin(*, by: str, pin: str) -> bool:
    """Put somebody on shift at this screen, with their PIN."""
    if not by or not pin:
        raise ConfigError("choose your name and type your PIN")
    now, store = data.now_ms(), data.store()
    with store.read() as session:
        person = person_named(session, by)
    person = require_pin(store, person, pin, Right.RECORD, place="screen", now_ms=now)
    with store.write() as session:
        begin_shift(session, _screen(), person, now_ms=now)
    signedin.forget()
    return True


@data.told
def leave(*, by: str) -> bool:
    """End somebody's shift at this screen."""
    now = data.now_ms()
    with data.store().write() as session:
        leave_shift(session, _screen(), _number(by), now_ms=now)
    signedin.forget()
    return True


def _screen() -> int:
    signed = signedin.here()
    return 0 if signed is None else signed.screen


def _number(name: str) -> int:
    signed = signedin.here()
    for each in () if signed is None else signed.on_shift:
        if each.name == name:
            return each.person
    raise UnknownNameError(f"{name} is not on shift at this screen")
