"""What the Set-up page asks of the people, and what it records; like `data`, for one part of a page."""

from dataclasses import dataclass

from dashboards import data
from holdwatch.clock import MS_PER_DAY
from holdwatch.errors import ConfigError
from holdwatch.language import _
from holdwatch.people.pins import check_new_pin, hash_pin
from holdwatch.people.roles import PersonRole, Right
from holdwatch.storage.people import add_person, change_role, end_person, keep_pin, people, person_named, set_sso
from holdwatch.storage.signing import require_pin
from holdwatch.views.tries import RefusedTry, refused_tries

__all__ = ["Entered", "add", "change", "entered", "new_pin", "refused", "single_sign_on"]

_LOOK_BACK_MS = 30 * MS_PER_DAY


@dataclass(frozen=True)
class Entered:
    """Somebody who works here."""

    name: str
    initials: str
    role: str
    has_pin: bool


def entered() -> list[Entered]:
    """Return who works here, by name."""
    with data.store().read() as session:
        return [Entered(each.name, each.initials, each.role, bool(each.pin_hash)) for each in people(session)]


def refused() -> list[RefusedTry]:
    """Return the tries of the last thirty days that were refused, the newest first; for managers."""
    with data.store().read() as session:
        return refused_tries(session, since_ms=data.now_ms() - _LOOK_BACK_MS)


@data.told
def add(*, name: str, initials: str, role: str, new: str, by: str, pin: str) -> bool:
    """Add somebody with a PIN; the first one is a manager, whom nobody can vouch for but themselves."""
    now = data.now_ms()
    first = not entered()
    if first and role != PersonRole.MANAGER:
        raise ConfigError(_("the first one is a manager: without one nobody could add the others"))
    kept = hash_pin(check_new_pin(new))
    who = name if first else _manager(by, pin)
    with data.store().write() as session:
        if first and people(session):
            raise ConfigError(_("somebody was entered meanwhile: draw the page again"))
        person = add_person(session, name, initials, role, now_ms=now, by=who)
        keep_pin(session, person, kept, now_ms=now, by=who)
    return True


@data.told
def new_pin(*, name: str, new: str, by: str, pin: str) -> bool:
    """Set a new PIN: one's own with the old one, or somebody's as a manager."""
    now, kept = data.now_ms(), hash_pin(check_new_pin(new))
    who = _checked(by, pin, None) if by == name else _manager(by, pin)
    with data.store().write() as session:
        keep_pin(session, person_named(session, name), kept, now_ms=now, by=who)
    return True


@data.told
def change(*, name: str, role: str | None, by: str, pin: str) -> bool:
    """Give somebody another role, or with ``None`` let them sign no more; a manager's."""
    who, now = _manager(by, pin), data.now_ms()
    with data.store().write() as session:
        person = person_named(session, name)
        if role is None:
            end_person(session, person, now_ms=now, by=who)
        else:
            change_role(session, person, role, now_ms=now, by=who)
    return True


@data.told
def single_sign_on(*, name: str, account: str, by: str, pin: str) -> bool:
    """Let somebody sign in with an account of the group's, or with nothing no more; a manager's."""
    who, now = _manager(by, pin), data.now_ms()
    with data.store().write() as session:
        set_sso(session, person_named(session, name), account, now_ms=now, by=who)
    return True


def _manager(by: str, pin: str) -> str:
    return _checked(by, pin, Right.SET_UP)


def _checked(by: str, pin: str, right: Right | None) -> str:
    """Return the name of whose PIN is right.

    Raises
    ------
    ConfigError
        If it is not, or the role does not allow it; the try is kept.
    """
    if not by or not pin:
        raise ConfigError(_("say who you are, with your PIN"))
    with data.store().read() as session:
        person = person_named(session, by)
    return require_pin(data.store(), person, pin, right, place="screen", now_ms=data.now_ms()).name
