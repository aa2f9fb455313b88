"""Who is on shift at which screen."""

from dataclasses import dataclass

import pytest

from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.errors import RefusedError
from holdwatch.storage.engine import Store
from holdwatch.storage.ids import id_of
from holdwatch.storage.people import add_person, change_role, end_person, person_named
from holdwatch.storage.refusals import keep_refusal, refusals
from holdwatch.storage.shifts import (
    IDLE_LASTS_MS,
    SHIFT_LASTS_MS,
    begin_shift,
    close_screen,
    leave_shift,
    open_screen,
    open_screens,
    touch_screen,
)
from tests.storage.kitchen import BY, NOW


@dataclass
class Kitchen:
    """A store with two cooks, a manager and a viewer, and the number of the kitchen's screen."""

    store: Store
    screen: int = 0

    def begin(self, who: str, now_ms: int = NOW) -> None:
        """Begin a shift at the kitchen's screen."""
        with self.store.write() as session:
            begin_shift(session, self.screen, person_named(session, who), now_ms=now_ms)

    def own(self, who: str) -> int:
        """Sign somebody's own browser in."""
        with self.store.write() as session:
            return id_of(open_screen(session, person_named(session, who), kitchen=False, now_ms=NOW))

    def on_shift(self, now_ms: int, screen: int | None = None) -> list[str] | None:
        """Return who is on shift; ``None`` where the screen is signed out."""
        with self.store.read() as session:
            found = open_screens(session).get(screen or self.screen)
        now = None if found is None else found.at(now_ms)
        return None if now is None else [each.initials for each in now.on_shift]


@pytest.fixture
def kitchen(store: Store) -> Kitchen:
    """The kitchen's own screen, signed in by its manager."""
    with store.write() as session:
        for name, initials, role in (
            ("Tomas Ek", "TE", "cook"),
            ("Bo Lind", "BL", "cook"),
            ("Ines Okafor", "IO", "manager"),
            ("Dr Falk", "DF", "viewer"),
        ):
            add_person(session, name, initials, role, now_ms=NOW, by=BY)
        screen = open_screen(session, person_named(session, "IO"), kitchen=True, now_ms=NOW)
        return Kitchen(store, id_of(screen))


def test_several_are_on_shift_at_one_screen(kitchen: Kitchen) -> None:
    """Whoever signed the kitchen's screen in is not, until they begin their shift; leaving ends it at once."""
    assert kitchen.on_shift(NOW) == []
    kitchen.begin("TE")
    kitchen.begin("BL")
    assert kitchen.on_shift(NOW + 1) == ["BL", "TE"]
    with kitchen.store.write() as session:
        leave_shift(session, kitchen.screen, id_of(person_named(session, "BL")), now_ms=NOW + 2)
    assert kitchen.on_shift(NOW + 3) == ["TE"]


def test_a_shift_ends_by_itself_and_the_kitchens_screen_never(kitchen: Kitchen) -> None:
    """Twelve hours after the PIN, to the millisecond; beginning again counts from then on, and is one shift."""
    kitchen.begin("TE")
    assert SHIFT_LASTS_MS == 12 * MS_PER_HOUR
    assert kitchen.on_shift(NOW + SHIFT_LASTS_MS - 1) == ["TE"]
    assert kitchen.on_shift(NOW + SHIFT_LASTS_MS) == []
    kitchen.begin("TE", NOW + MS_PER_HOUR)
    assert kitchen.on_shift(NOW + SHIFT_LASTS_MS) == ["TE"]
    assert kitchen.on_shift(NOW + 400 * 24 * MS_PER_HOUR) == []


def test_a_persons_own_browser_ends_when_it_is_left_idle(kitchen: Kitchen) -> None:
    """Half an hour after the last touch; a touch before that keeps it, until the shift is over."""
    own = kitchen.own("TE")
    assert IDLE_LASTS_MS == 30 * MS_PER_MINUTE
    assert kitchen.on_shift(NOW + IDLE_LASTS_MS - 1, own) == ["TE"]
    assert kitchen.on_shift(NOW + IDLE_LASTS_MS, own) is None
    with kitchen.store.write() as session:
        touch_screen(session, own, now_ms=NOW + SHIFT_LASTS_MS - 1)
    assert kitchen.on_shift(NOW + SHIFT_LASTS_MS - 1, own) == ["TE"]
    assert kitchen.on_shift(NOW + SHIFT_LASTS_MS, own) is None


def test_signing_out_ends_every_shift_there(kitchen: Kitchen) -> None:
    """And nowhere else."""
    own = kitchen.own("BL")
    kitchen.begin("TE")
    with kitchen.store.write() as session:
        close_screen(session, kitchen.screen, now_ms=NOW + 1)
    assert kitchen.on_shift(NOW + 2) is None
    assert kitchen.on_shift(NOW + 2, own) == ["BL"]
    with pytest.raises(RefusedError, match="not the kitchen's screen"):
        kitchen.begin("TE", NOW + 3)


@pytest.mark.parametrize(("who", "words"), [("DF", "looks and prints"), ("TE", "not the kitchen's screen")])
def test_who_begins_no_shift(kitchen: Kitchen, who: str, words: str) -> None:
    """A viewer anywhere; another person on somebody's own browser."""
    if who == "TE":
        kitchen.screen = kitchen.own("BL")
    with pytest.raises(RefusedError, match=words):
        kitchen.begin(who)


def test_a_cook_signs_no_kitchen_screen_in(kitchen: Kitchen) -> None:
    """A manager does."""
    with pytest.raises(RefusedError, match="by a manager"), kitchen.store.write() as session:
        open_screen(session, person_named(session, "TE"), kitchen=True, now_ms=NOW)


def test_whoever_left_or_only_looks_now_is_on_no_shift(kitchen: Kitchen) -> None:
    """At once."""
    own = kitchen.own("BL")
    for who in ("TE", "BL"):
        kitchen.begin(who)
    with kitchen.store.write() as session:
        end_person(session, person_named(session, "BL"), now_ms=NOW, by=BY)
        change_role(session, person_named(session, "TE"), "viewer", now_ms=NOW, by=BY)
    assert kitchen.on_shift(NOW + 1) == []
    assert kitchen.on_shift(NOW + 1, own) is None


def test_a_refused_try_is_kept_and_the_same_one_only_counts(store: Store) -> None:
    """Within an hour; another one, or a later one, has its own row."""
    for after_min, why in ((0, "too old"), (1, "too old"), (59, "too old"), (59, "another"), (60, "too old")):
        keep_refusal(store, who="", what="open a link", place="phone", why=why, now_ms=NOW + after_min * MS_PER_MINUTE)
    with store.read() as session:
        assert [(each.why, each.times) for each in refusals(session)] == [
            ("too old", 3),
            ("another", 1),
            ("too old", 1),
        ]
