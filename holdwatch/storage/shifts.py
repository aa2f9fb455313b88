"""Who is on shift at which screen. A shift's sign-in is enough to start, move and read, at that screen alone."""

from dataclasses import dataclass

from sqlmodel import Session, col, select

from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.errors import RefusedError
from holdwatch.language import _
from holdwatch.people.roles import PersonRole, Right, may
from holdwatch.storage.ids import id_of
from holdwatch.storage.people_tables import Person, Screen, Shift

__all__ = [
    "IDLE_LASTS_MS",
    "SHIFT_LASTS_MS",
    "OnShift",
    "ScreenNow",
    "begin_shift",
    "close_screen",
    "leave_shift",
    "open_screen",
    "open_screens",
    "touch_screen",
]

SHIFT_LASTS_MS = 12 * MS_PER_HOUR
"""When a shift ends by itself. [ms]"""

IDLE_LASTS_MS = 30 * MS_PER_MINUTE
"""How long a person's own browser stays signed in untouched; the kitchen's screen never ends. [ms]"""


@dataclass(frozen=True)
class OnShift:
    """Somebody who is signed in at a screen."""

    person: int
    name: str
    initials: str
    role: PersonRole
    from_ms: int
    until_ms: int


@dataclass(frozen=True)
class ScreenNow:
    """A screen that is signed in, and who is on shift there."""

    id: int
    kitchen: bool
    seen_ms: int
    on_shift: tuple[OnShift, ...]

    def at(self, now_ms: int) -> "ScreenNow | None":
        """Return the screen as it is at an instant; ``None`` where it was left idle, or nobody's shift runs there."""
        here = tuple(each for each in self.on_shift if now_ms < each.until_ms)
        if not self.kitchen and (not here or now_ms - self.seen_ms >= IDLE_LASTS_MS):
            return None
        return ScreenNow(self.id, self.kitchen, self.seen_ms, here)


def open_screen(session: Session, person: Person, *, kitchen: bool, now_ms: int) -> Screen:
    """Sign a browser in, once the PIN was found right: as the person's own, on shift at once, or as the kitchen's.

    Raises
    ------
    RefusedError
        If somebody who is no manager signs the kitchen's screen in.
    """
    if kitchen and not may(PersonRole(person.role), Right.SET_UP):
        raise RefusedError(
            _("the kitchen's own screen is signed in by a manager; sign in without the tick"),
            who=person.name,
            what="sign in the kitchen's screen",
        )
    screen = Screen(kitchen=kitchen, person_id=id_of(person), opened_ms=now_ms, seen_ms=now_ms)
    session.add(screen)
    session.flush()
    if not kitchen:
        _begin(session, screen, person, now_ms)
    return screen


def begin_shift(session: Session, screen_id: int, person: Person, *, now_ms: int) -> None:
    """Put somebody on shift at the kitchen's screen, once the PIN was found right; again, it lasts from now on.

    Raises
    ------
    RefusedError
        If they record nothing, or the screen is not the kitchen's.
    """
    screen = session.get(Screen, screen_id)
    who, what = person.name, "begin a shift"
    if screen is None or screen.ended_ms is not None or not screen.kitchen:
        raise RefusedError(_("this is not the kitchen's screen: a manager signs it in first"), who=who, what=what)
    if not may(PersonRole(person.role), Right.RECORD):
        raise RefusedError(
            _("{name} looks and prints: that needs no shift").format(name=person.name), who=who, what=what
        )
    leave_shift(session, screen_id, id_of(person), now_ms=now_ms)
    _begin(session, screen, person, now_ms)


def leave_shift(session: Session, screen_id: int, person_id: int, *, now_ms: int) -> None:
    """End somebody's shift at a screen."""
    query = select(Shift).where(
        Shift.screen_id == screen_id, Shift.person_id == person_id, col(Shift.ended_ms).is_(None)
    )
    for shift in session.exec(query):
        shift.ended_ms = min(now_ms, shift.until_ms)
        session.add(shift)
    session.flush()


def close_screen(session: Session, screen_id: int, *, now_ms: int) -> None:
    """Sign a browser out, and end every shift there."""
    screen = session.get(Screen, screen_id)
    if screen is None or screen.ended_ms is not None:
        return
    for shift in session.exec(select(Shift).where(Shift.screen_id == screen_id, col(Shift.ended_ms).is_(None))):
        shift.ended_ms = min(now_ms, shift.until_ms)
        session.add(shift)
    screen.ended_ms = now_ms
    session.add(screen)


def touch_screen(session: Session, screen_id: int, *, now_ms: int) -> None:
    """Keep that somebody touched a screen."""
    screen = session.get(Screen, screen_id)
    if screen is not None:
        screen.seen_ms = max(now_ms, screen.seen_ms)
        session.add(screen)


def open_screens(session: Session) -> dict[int, ScreenNow]:
    """Return every screen that was not signed out, by its number; `ScreenNow.at` tells whether it still holds.

    Whoever works here no more, or no longer records on the kitchen's screen, is on no shift.
    """
    query = (
        select(Shift, Person)
        .join(Person, col(Shift.person_id) == col(Person.id))
        .where(col(Shift.ended_ms).is_(None), col(Person.ended_ms).is_(None))
        .order_by(col(Person.name))
    )
    here: dict[int, list[OnShift]] = {}
    for shift, person in session.exec(query):
        here.setdefault(shift.screen_id, []).append(
            OnShift(
                id_of(person),
                person.name,
                person.initials,
                PersonRole(person.role),
                shift.from_ms,
                shift.until_ms,
            )
        )
    found = {}
    for screen in session.exec(select(Screen).where(col(Screen.ended_ms).is_(None))):
        on_shift = here.get(id_of(screen), [])
        if screen.kitchen:
            on_shift = [each for each in on_shift if may(each.role, Right.RECORD)]
        found[id_of(screen)] = ScreenNow(id_of(screen), screen.kitchen, screen.seen_ms, tuple(on_shift))
    return found


def _begin(session: Session, screen: Screen, person: Person, now_ms: int) -> None:
    session.add(
        Shift(screen_id=id_of(screen), person_id=id_of(person), from_ms=now_ms, until_ms=now_ms + SHIFT_LASTS_MS)
    )
    session.flush()
