"""What the page Shift asks and records; like `data`, for one page."""

from dashboards import data, signedin
from holdwatch.errors import ConfigError, UnknownNameError
from holdwatch.language import _
from holdwatch.people.roles import Right
from holdwatch.storage.alone import declare_alone, end_alone, lone_spans, record_review
from holdwatch.storage.people import person_named
from holdwatch.storage.secrets import REVIEW, link_token
from holdwatch.storage.shifts import begin_shift, leave_shift
from holdwatch.storage.signing import require_pin
from holdwatch.storage.unsigned import sign_entries
from holdwatch.views.alone import LoneView, lone_views
from holdwatch.views.unsigned import Unsigned, unsigned

__all__ = [
    "alone",
    "alone_no_more",
    "begin",
    "done_alone",
    "leave",
    "review",
    "review_link",
    "reviewed",
    "sign",
    "to_be_signed",
]


@data.told
def begin(*, by: str, pin: str) -> bool:
    """Put somebody on shift at this screen, with their PIN."""
    if not by or not pin:
        raise ConfigError(_("choose your name and type your PIN"))
    now, store = data.now_ms(), data.store()
    with store.read() as session:
        person = person_named(session, by)
    person = require_pin(store, person, pin, Right.RECORD, place="screen", now_ms=now)
    with store.write() as session:
        begin_shift(session, _screen(), person, now_ms=now)
        if any(span.runs(now) and span.person != person.id for span in lone_spans(session)):
            end_alone(session, now_ms=now, by=person.name)
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


@data.told
def alone(*, by: str) -> bool:
    """Declare that somebody who is on shift here works alone from now on."""
    now = data.now_ms()
    with data.store().write() as session:
        declare_alone(session, person_named(session, by), now_ms=now, by=by)
    return True


@data.told
def alone_no_more(*, by: str) -> bool:
    """End working alone."""
    with data.store().write() as session:
        end_alone(session, now_ms=data.now_ms(), by=by)
    return True


def done_alone() -> list[LoneView]:
    """Return what was done alone, the newest first."""
    with data.store().read() as session:
        return lone_views(session, data.now_ms())


def review_link(number: int) -> str:
    """Return the link by which a manager outside reviews it."""
    with data.store().write() as session:
        token = link_token(session, number, now_ms=data.now_ms(), purpose=REVIEW)
    return f"{data.settings().base_url}/r/{token}"


def reviewed(number: int, *, by: str, pin: str, text: str, place: str = "screen") -> bool:
    """Record the review of what was done alone, with a manager's PIN.

    Raises
    ------
    HoldwatchError
        If it is refused; the message says why.
    """
    if not by or not pin:
        raise ConfigError(_("say who you are, with your PIN"))
    now, store = data.now_ms(), data.store()
    with store.read() as session:
        person = person_named(session, by)
    person = require_pin(store, person, pin, Right.VERIFY, place=place, now_ms=now)
    with store.write() as session:
        record_review(session, number, person, text=text, now_ms=now)
    return True


review = data.told(reviewed)
"""The same, with a refusal shown where it was made."""


def to_be_signed() -> list[Unsigned]:
    """Return what waits for a signature, the oldest first."""
    with data.store().read() as session:
        return unsigned(session)


@data.told
def sign(numbers: list[int], *, by: str, pin: str) -> bool:
    """Sign several entries of one's own with one PIN."""
    if not pin:
        raise ConfigError(_("type the PIN of {by}").format(by=by))
    now, store = data.now_ms(), data.store()
    with store.read() as session:
        person = person_named(session, by)
    person = require_pin(store, person, pin, None, place="screen", now_ms=now)
    with store.write() as session:
        sign_entries(session, person, numbers, now_ms=now)
    return True


def _screen() -> int:
    signed = signedin.here()
    return 0 if signed is None else signed.screen


def _number(name: str) -> int:
    signed = signedin.here()
    for each in () if signed is None else signed.on_shift:
        if each.name == name:
            return each.person
    raise UnknownNameError(_("{name} is not on shift at this screen").format(name=name))
