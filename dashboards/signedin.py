"""Who has signed in on a browser: a signed cookie, and the person it names as they are now."""

from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from time import monotonic

import streamlit as st
from itsdangerous import BadData

from dashboards import data
from holdwatch.errors import ConfigError
from holdwatch.people.roles import PersonRole
from holdwatch.storage.people import people, person_named
from holdwatch.storage.secrets import SIGN_IN, key_of, known_key, serializer
from holdwatch.storage.signing import require_pin

__all__ = [
    "COOKIE",
    "KITCHEN_LASTS_S",
    "SHIFT_LASTS_S",
    "SignedIn",
    "from_header",
    "here",
    "names",
    "nobody_entered",
    "sign_in",
    "who",
]

COOKIE = "holdwatch"
SHIFT_LASTS_S = 12 * 3600
KITCHEN_LASTS_S = 400 * 24 * 3600  # what browsers keep at most; a tablet in use is signed in again before that
_FRESH_S = 2.0


@dataclass(frozen=True)
class SignedIn:
    """Who has signed in; the kitchen's own screen is nobody in particular."""

    name: str
    role: PersonRole
    kitchen: bool = False


@dataclass
class _Known:
    """What was read of the store a moment ago: asking it for every request of a page would cost more than the page."""

    url: str = ""
    read_at: float = float("-inf")
    people: tuple[tuple[int, str, PersonRole], ...] = ()
    key: str = ""


_known = _Known()


def nobody_entered() -> bool:
    """Return whether no person has been entered yet."""
    return not _now().people


def names() -> list[str]:
    """Return who may sign in."""
    return [name for _, name, _ in _now().people]


def who(cookie: str) -> SignedIn | None:
    """Return who a cookie names; ``None`` where it is not ours, too old, or of somebody who has left."""
    known = _now()
    if not cookie or not known.key:
        return None
    try:
        said, made = serializer(known.key, SIGN_IN).loads(cookie, max_age=KITCHEN_LASTS_S, return_timestamp=True)
    except BadData:
        return None
    if not isinstance(said, dict):
        return None
    if said.get("kitchen"):
        return SignedIn("", PersonRole.COOK, kitchen=True)
    age_s = data.now_ms() / 1000 - made.timestamp()
    for number, name, role in known.people:
        if number == said.get("person") and age_s < SHIFT_LASTS_S:
            return SignedIn(name, role)
    return None


def here() -> SignedIn | None:
    """Return who has signed in on the browser of the page that is being drawn."""
    return who(st.context.cookies.get(COOKIE, ""))


def sign_in(name: str, pin: str, *, kitchen: bool) -> str:
    """Check a PIN and return the cookie.

    Raises
    ------
    ConfigError
        If the PIN is wrong, or somebody who is no manager signs the kitchen's screen in; the try is kept.
    """
    store, now_ms = data.store(), data.now_ms()
    if not name or not pin:
        raise ConfigError("choose your name and type your PIN")
    with store.read() as session:
        person = person_named(session, name)
    person = require_pin(store, person, pin, None, place="screen", now_ms=now_ms)
    if kitchen and person.role != PersonRole.MANAGER:
        raise ConfigError("the kitchen's own screen is signed in by a manager; sign in without the tick")
    with store.write() as session:
        key = key_of(session, SIGN_IN, now_ms=now_ms)
    _known.read_at = float("-inf")
    said = {"kitchen": True} if kitchen else {"person": person.id}
    return str(serializer(key, SIGN_IN).dumps(said))


def from_header(cookies: str) -> str:
    """Return our cookie out of a request's header."""
    try:
        found = SimpleCookie(cookies).get(COOKIE)
    except CookieError:
        return ""
    return found.value if found is not None else ""


def _now() -> _Known:
    store = data.store()
    if _known.url != store.url or monotonic() - _known.read_at > _FRESH_S:
        with store.read() as session:
            _known.people = tuple((each.id or 0, each.name, PersonRole(each.role)) for each in people(session))
            _known.key = known_key(session, SIGN_IN)
        _known.url, _known.read_at = store.url, monotonic()
    return _known
