"""How long what is kept: the floor of the law, a shorter time only signed, every word of it kept."""

import pytest

from holdwatch.errors import ConfigError
from holdwatch.storage.engine import Store
from holdwatch.storage.events import events
from holdwatch.storage.handling import Signer
from holdwatch.storage.ids import id_of
from holdwatch.storage.keeping import (
    KEPT,
    Kind,
    keeping_history,
    keeping_of,
    parse_period,
    period_words,
    set_keeping,
    years,
)
from holdwatch.storage.people import add_person
from holdwatch.storage.signing import signatures
from holdwatch.storage.tables import EventKind
from tests.storage.kitchen import NOW

WHY = "the owner wants the disk small"


@pytest.fixture
def people(sqlite_store: Store) -> dict[str, Signer]:
    """A manager and a cook whose PINs were just found right, and a name that was only said."""
    with sqlite_store.write() as session:
        manager = add_person(session, "Ines Okafor", "IO", "manager", now_ms=NOW, by="Ines Okafor")
        cook = add_person(session, "Ben Ruiz", "BR", "cook", now_ms=NOW, by="Ines Okafor")
    return {
        "manager": Signer(manager.name, manager, signed=True),
        "unsigned": Signer(manager.name, manager),
        "cook": Signer(cook.name, cook, signed=True),
        "said": Signer("console user ana"),
    }


def _set(store: Store, days: int | None, signer: Signer, why: str = WHY, kind: Kind = Kind.READINGS) -> None:
    with store.write() as session:
        set_keeping(session, kind, days, signer, why=why, now_ms=NOW)


REFUSED = {
    "below the floor by a day": ("manager", 730, WHY, Kind.READINGS, r"for 2 years at least \(21 CFR 117\.315"),
    "nothing at all": ("manager", 0, WHY, Kind.READINGS, "for 2 years at least"),
    "shorter, without a PIN": ("unsigned", 1095, WHY, Kind.READINGS, "manager's PIN"),
    "shorter, by a name that was said": ("said", 1095, WHY, Kind.READINGS, "manager's PIN"),
    "shorter, by a cook": ("cook", 731, WHY, Kind.READINGS, "Ben Ruiz is cook"),
    "without a reason": ("manager", 800, "  ", Kind.READINGS, "say why"),
    "what is for good": ("manager", 800, WHY, Kind.DEEDS, "for good"),
    "beyond a lifetime": ("manager", years(100) + 1, WHY, Kind.READINGS, "longer than anybody"),
}


def test_nothing_is_undercut_by_accident(sqlite_store: Store, people: dict[str, Signer]) -> None:
    """Each refusal says why; nothing is recorded, and the longest law that was read goes on.

    21 CFR 114.100: 3 years, which have 1,096 days at most; the floor is 21 CFR 117.315: 2 years.
    """
    for who, days, why, kind, said in REFUSED.values():
        with pytest.raises(ConfigError, match=said):
            _set(sqlite_store, days, people[who], why, kind)
    with sqlite_store.read() as session:
        found = keeping_of(session, Kind.READINGS)
        assert (found.days, KEPT[Kind.READINGS].floor_days, found.by) == (1096, 731, "")
        assert keeping_history(session) == []
    assert all(holds.laws for holds in KEPT.values())
    _set(sqlite_store, None, people["said"])  # longer needs no PIN; going back is shorter
    with pytest.raises(ConfigError, match="manager's PIN"):
        _set(sqlite_store, years(50), people["said"])


def test_every_period_is_kept_with_who_and_why(sqlite_store: Store, people: dict[str, Signer]) -> None:
    """And which of them was signed; the last one counts."""
    _set(sqlite_store, 1500, people["said"], "the insurer asks for it")
    _set(sqlite_store, 731, people["manager"])
    with sqlite_store.read() as session:
        said = [(each.days, each.by, each.why, each.signed) for each in keeping_history(session)]
        assert keeping_of(session, Kind.READINGS).days == 731
        entries = events(session, kinds=[EventKind.KEEPING_SET])
        assert list(signatures(session, [id_of(each) for each in entries])) == [id_of(entries[-1])]
    assert said == [
        (1500, "console user ana", "the insurer asks for it", False),
        (731, "Ines Okafor", WHY, True),
    ]


@pytest.mark.parametrize(
    ("text", "days", "words"),
    [
        ("2y", 731, "2 years"),
        ("1y", 366, "1 year"),
        ("4y", 1461, "4 years"),
        ("730d", 730, "730 days"),
        ("1d", 1, "1 day"),
        (" ALWAYS ", None, "for good"),
    ],
)
def test_periods_are_read_and_said(text: str, days: int | None, words: str) -> None:
    """A year counts with the leap day that may fall into it."""
    assert (parse_period(text), period_words(days)) == (days, words)


@pytest.mark.parametrize("text", ["", "y", "2", "-2y", "2w", "two years", "1.5y"])
def test_what_is_no_period_is_refused(text: str) -> None:
    """With how to write one."""
    with pytest.raises(ConfigError, match="write 3y"):
        parse_period(text)
