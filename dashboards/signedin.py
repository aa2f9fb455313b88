"""Who has signed in on a browser: a signed cookie that names a screen, and who is on shift there now."""

from contextlib import suppress
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from time import monotonic

import streamlit as st
from itsdangerous import BadData

from dashboards import data
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.errors import ConfigError, RefusedError, StoreMissingError, UnknownNameError
from holdwatch.language import _
from holdwatch.people.roles import PersonRole, Right, may
from holdwatch.storage.people import people, person_named
from holdwatch.storage.people_tables import Person
from holdwatch.storage.refusals import keep_refusal
from holdwatch.storage.secrets import SIGN_IN, key_of, known_key, serializer
from holdwatch.storage.shifts import OnShift, ScreenNow, close_screen, open_screen, open_screens, touch_screen
from holdwatch.storage.signing import require_pin
from holdwatch.storage.site import site_at

__all__ = [
    "COOKIE",
    "KITCHEN_LASTS_S",
    "SignedIn",
    "allow",
    "alone",
    "forget",
    "from_header",
    "here",
    "language_of",
    "names",
    "nobody_entered",
    "opened",
    "scale_of",
    "sign_in",
    "sign_out",
    "touch",
    "who",
]

COOKIE = "holdwatch"
KITCHEN_LASTS_S = 400 * 24 * 3600  # what browsers keep at most; a tablet in use is signed in again before that
_FRESH_S = 2.0
_TOUCHED_MS = MS_PER_MINUTE


@dataclass(frozen=True)
class SignedIn:
    """Who has signed in; the kitchen's own screen is nobody in particular, and has people on shift."""

    name: str
    role: PersonRole
    kitchen: bool = False
    on_shift: tuple[OnShift, ...] = ()
    screen: int = 0
    seen_ms: int = 0

    @property
    def records(self) -> bool:
        """Whether anything may be recorded here."""
        return self.kitchen or may(self.role, Right.RECORD)


@dataclass
class _Known:
    """What was read of the store a moment ago: asking it for every request of a page would cost more than the page."""

    url: str = ""
    read_at: float = float("-inf")
    people: tuple[str, ...] = ()
    key: str = ""
    language: str = ""
    screens_of: dict[str, tuple[str, str]] = field(default_factory=dict)  # language and scale that a person chose
    screens: dict[int, ScreenNow] = field(default_factory=dict)


_known = _Known()


def nobody_entered() -> bool:
    """Return whether no person has been entered yet."""
    return not _now().people


def names() -> list[str]:
    """Return who may sign in."""
    return list(_now().people)


def who(cookie: str) -> SignedIn | None:
    """Return who a cookie names; ``None`` where it is not ours, was left idle, or is of somebody who has left."""
    known = _now()
    if not cookie or not known.key:
        return None
    try:
        number = serializer(known.key, SIGN_IN).loads(cookie, max_age=KITCHEN_LASTS_S)
    except BadData:
        return None
    screen = known.screens.get(number) if isinstance(number, int) else None
    screen = None if screen is None else screen.at(data.now_ms())
    if screen is None:
        return None
    if screen.kitchen:
        return SignedIn("", PersonRole.COOK, True, screen.on_shift, screen.id, screen.seen_ms)
    own = screen.on_shift[0]
    return SignedIn(own.name, own.role, False, screen.on_shift, screen.id, screen.seen_ms)


def here() -> SignedIn | None:
    """Return who has signed in on the browser of the page that is being drawn."""
    return who(st.context.cookies.get(COOKIE, ""))


def language_of(signed: SignedIn | None) -> str:
    """Return the language of whoever is alone before a screen; else, or where they chose none, the site's."""
    return _chosen(signed)[0] or _now().language


def scale_of(signed: SignedIn | None) -> str:
    """Return F or C where whoever is alone before a screen chose it; empty where the site's holds."""
    return _chosen(signed)[1]


def alone(signed: SignedIn | None) -> str:
    """Return the name of whoever is alone before a screen; empty where there is nobody, or more than one."""
    return signed.on_shift[0].name if signed is not None and len(signed.on_shift) == 1 else ""


def _chosen(signed: SignedIn | None) -> tuple[str, str]:
    return _now().screens_of.get(alone(signed), ("", ""))


def touch(signed: SignedIn | None) -> None:
    """Keep that somebody uses a screen, once a minute at most; the kitchen's never ends."""
    now = data.now_ms()
    if signed is None or signed.kitchen or not signed.screen or now - signed.seen_ms < _TOUCHED_MS:
        return
    with data.store().write() as session:
        touch_screen(session, signed.screen, now_ms=now)
    forget()


def sign_in(name: str, pin: str, *, kitchen: bool, before: str = "") -> str:
    """Check a PIN and return the cookie; the browser's sign-in of `before` ends.

    Raises
    ------
    ConfigError
        If the PIN is wrong, or somebody who is no manager signs the kitchen's screen in; the try is kept.
    """
    store, now_ms = data.store(), data.now_ms()
    if not name or not pin:
        raise ConfigError(_("choose your name and type your PIN"))
    try:
        with store.read() as session:
            person = person_named(session, name)
        person = require_pin(store, person, pin, None, place="screen", now_ms=now_ms)
        return opened(person, kitchen=kitchen, before=before)
    except (RefusedError, UnknownNameError) as exc:
        keep_refusal(store, who=name, what="sign in", place="screen", why=str(exc), now_ms=now_ms)
        raise


def opened(person: Person, *, kitchen: bool, before: str = "") -> str:
    """Sign a browser in for somebody who was found to be who they say, and return the cookie."""
    now_ms, earlier = data.now_ms(), who(before)
    with data.store().write() as session:
        if earlier is not None:
            close_screen(session, earlier.screen, now_ms=now_ms)
        screen = open_screen(session, person, kitchen=kitchen, now_ms=now_ms)
        key = key_of(session, SIGN_IN, now_ms=now_ms)
        number = screen.id
    forget()
    return str(serializer(key, SIGN_IN).dumps(number))


def sign_out(cookie: str) -> None:
    """End the sign-in of a browser, and every shift there."""
    signed = who(cookie)
    if signed is not None:
        with data.store().write() as session:
            close_screen(session, signed.screen, now_ms=data.now_ms())
        forget()


def allow(by: str | None, *, pin: str | None, unsigned: bool) -> None:
    """Refuse what may not be recorded on the browser of this page.

    Parameters
    ----------
    by
        In whose name; ``None`` where the entry names nobody.
    pin
        What was typed as PIN, which says by itself whose entry it is; ``None`` where none is asked for.
    unsigned
        Whether the entry is one that is taken without a PIN: throwing away must never wait.

    Raises
    ------
    RefusedError
        If it may not.
    """
    signed = here()
    if signed is None:
        if nobody_entered():
            return
        raise RefusedError(_("nobody is signed in here any more: sign in again"), who=by or "")
    if not signed.records:
        raise RefusedError(
            _("{signed} is signed in to look: whoever records signs in for that").format(signed=signed.name),
            who=signed.name,
        )
    if pin or by is None or by in {each.name for each in signed.on_shift}:
        return
    if not signed.kitchen:
        raise RefusedError(
            _("{signed} is signed in here: nothing is entered in another's name").format(signed=signed.name),
            who=f"{signed.name} as {by}",
        )
    if pin is None or not unsigned:
        said = _("{by} is not on shift at this screen").format(by=by) if by else _("say who you are")
        raise RefusedError(_("{said}: begin the shift first, on the page Shift").format(said=said), who=by)


def from_header(cookies: str) -> str:
    """Return our cookie out of a request's header."""
    try:
        found = SimpleCookie(cookies).get(COOKIE)
    except CookieError:
        return ""
    return found.value if found is not None else ""


def forget() -> None:
    """Let the next question see what was just recorded."""
    _known.read_at = float("-inf")


def _now() -> _Known:
    store = data.store()
    if _known.url != store.url or monotonic() - _known.read_at > _FRESH_S:
        with store.read() as session:
            here = people(session)
            _known.people = tuple(each.name for each in here)
            _known.screens_of = {each.name: (each.language, each.scale) for each in here}
            with suppress(StoreMissingError):
                _known.language = site_at(session, None).language
            _known.key = known_key(session, SIGN_IN)
            _known.screens = open_screens(session)
        _known.url, _known.read_at = store.url, monotonic()
    return _known
