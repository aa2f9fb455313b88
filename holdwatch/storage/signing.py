"""Checking a PIN, and signing entries with it.

Argon2 is slow on purpose and a write transaction must be short, so a check has three steps: the try is written down
(or refused as too soon), the PIN is compared outside any transaction, the outcome is written. A try that is written
down and not yet compared counts as wrong, so many at once are no way round the waiting.
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from sqlmodel import Session, col, func, select

from holdwatch.errors import ConfigError
from holdwatch.language import _
from holdwatch.people.pins import hash_pin, is_pin, outdated
from holdwatch.people.roles import PersonRole, Right, may
from holdwatch.people.tries import waits_until_ms
from holdwatch.storage.engine import Store
from holdwatch.storage.ids import id_of
from holdwatch.storage.people_tables import Person, PinTry, Signature, TryOutcome
from holdwatch.storage.tables import Event

__all__ = ["Checked", "check_pin", "require_pin", "sign", "signatures", "signing", "tries"]

_MINUTE_S = 60


@dataclass(frozen=True)
class Checked:
    """Whether somebody may go on, and what to tell them if not."""

    outcome: TryOutcome
    person: Person
    waits_until_ms: int | None = None

    @property
    def right(self) -> bool:
        """Whether the PIN was right, and the role allows it."""
        return self.outcome is TryOutcome.RIGHT

    def words(self, now_ms: int) -> str:
        """Say why it was refused, and what to do."""
        if self.waits_until_ms is not None:
            wait_s = max(1, -(-(self.waits_until_ms - now_ms) // 1000))
            wait = f"{wait_s} s" if wait_s < _MINUTE_S else f"{-(-wait_s // _MINUTE_S)} min"
            return (
                _("too many wrong PINs: the next one is looked at in {wait}; a manager can set a new PIN")
                if self.outcome is TryOutcome.TOO_SOON
                else _(
                    "this PIN is wrong; too many wrong PINs: the next one is looked at in {wait}; a manager can set a "
                    "new PIN"
                )
            ).format(wait=wait)
        return {
            TryOutcome.WRONG: _("this is not the PIN of {name}"),
            TryOutcome.NO_PIN: _("{name} has no PIN yet: a manager sets one"),
            TryOutcome.NOT_ALLOWED: _("{name} ({role}) may not do this: a manager does"),
        }.get(self.outcome, "").format(name=self.person.name, role=_(self.person.role))


def check_pin(store: Store, person_id: int, pin: str, right: Right | None, *, place: str, now_ms: int) -> Checked:
    """Check a PIN for one act; every try is kept.

    Parameters
    ----------
    store
        The store; no transaction of it may be open in this thread.
    person_id
        Who says to be signing.
    pin
        What was typed; it is kept nowhere.
    right
        What is to be done; ``None`` where that is asked apart.
    place
        Where it was typed: ``screen``, ``phone`` or ``console``.
    now_ms
        The present instant.
    """
    with store.write() as session:
        person = session.get_one(Person, person_id)
        until_ms = waits_until_ms(_wrong_in_a_row(session, person), now_ms)
        early = _refused_early(person, right, until_ms)
        try_id = _write_down(session, person_id, right, place, early, now_ms)
    if early is not None:
        return Checked(early, person, until_ms if early is TryOutcome.TOO_SOON else None)
    outcome = TryOutcome.RIGHT if is_pin(person.pin_hash, pin) else TryOutcome.WRONG
    stronger = hash_pin(pin.strip()) if outcome is TryOutcome.RIGHT and outdated(person.pin_hash) else ""
    with store.write() as session:
        session.get_one(PinTry, try_id).outcome = outcome.value
        session.flush()
        present = session.get_one(Person, person_id)
        if stronger and present.pin_hash == person.pin_hash:
            present.pin_hash = stronger
        until_ms = waits_until_ms(_wrong_in_a_row(session, present), now_ms)
    return Checked(outcome, present, until_ms)


def require_pin(store: Store, person: Person, pin: str, right: Right | None, *, place: str, now_ms: int) -> Person:
    """Return the person as they are now if the PIN is theirs and the role allows it; what is given is as for `check_pin`.

    Raises
    ------
    ConfigError
        If not; the message says why and what to do, and the try is kept.
    """
    checked = check_pin(store, id_of(person), pin, right, place=place, now_ms=now_ms)
    if not checked.right:
        raise ConfigError(checked.words(now_ms))
    return checked.person


def tries(session: Session, *, since_ms: int = 0) -> list[PinTry]:
    """Return the tries since an instant, in order."""
    return list(session.exec(select(PinTry).where(PinTry.at_ms >= since_ms).order_by(col(PinTry.id))))


def sign(session: Session, event_ids: Iterable[int], person: Person, *, now_ms: int) -> None:
    """Sign entries in the name of somebody whose PIN was just found right; in the transaction that writes them."""
    for event_id in event_ids:
        session.add(
            Signature(
                event_id=event_id, person_id=id_of(person), name=person.name, initials=person.initials, at_ms=now_ms
            )
        )


@contextmanager
def signing(session: Session, person: Person | None, *, now_ms: int) -> Iterator[None]:
    """Sign every entry that is recorded meanwhile, in one transaction; with nobody, none."""
    before = session.exec(select(func.max(Event.id))).one() or 0
    yield
    if person is not None:  # writers take turns, so no entry since is of somebody else
        made = session.exec(select(Event).where(col(Event.id) > before).order_by(col(Event.id)))
        sign(session, [id_of(event) for event in made], person, now_ms=now_ms)


def signatures(session: Session, event_ids: Iterable[int]) -> dict[int, Signature]:
    """Return the first signature of each entry that has one."""
    wanted = col(Signature.event_id).in_(list(event_ids))
    found: dict[int, Signature] = {}
    for each in session.exec(select(Signature).where(wanted).order_by(col(Signature.id))):
        found.setdefault(each.event_id, each)
    return found


def _refused_early(person: Person, right: Right | None, until_ms: int | None) -> TryOutcome | None:
    """Return why a PIN is not even compared."""
    if person.ended_ms is not None or (right and not may(PersonRole(person.role), right)):
        return TryOutcome.NOT_ALLOWED
    if not person.pin_hash:
        return TryOutcome.NO_PIN
    return None if until_ms is None else TryOutcome.TOO_SOON


def _write_down(
    session: Session, person_id: int, right: Right | None, place: str, early: TryOutcome | None, now_ms: int
) -> int:
    """Keep a try, and return its number; the same refusal over and over is one row that counts."""
    outcome, act = early or TryOutcome.BEGUN, right.value if right else ""
    query = select(PinTry).where(PinTry.person_id == person_id).order_by(col(PinTry.id).desc()).limit(1)
    last = session.exec(query).first()
    if early and last and (last.outcome, last.act, last.place) == (outcome.value, act, place):
        last.times += 1
        return id_of(last)
    made = PinTry(person_id=person_id, at_ms=now_ms, act=act, place=place, outcome=outcome.value)
    session.add(made)
    session.flush()
    return id_of(made)


def _wrong_in_a_row(session: Session, person: Person) -> list[int]:
    """Return the instants of the wrong tries since the last right one or the last new PIN, as they were made."""
    looked_at = [TryOutcome.BEGUN, TryOutcome.WRONG, TryOutcome.RIGHT, TryOutcome.NEW_PIN]
    query = select(PinTry).where(PinTry.person_id == person.id, col(PinTry.outcome).in_(looked_at))
    wrong: list[int] = []
    for each in session.exec(query.order_by(col(PinTry.id).desc())):
        if each.outcome in {TryOutcome.RIGHT, TryOutcome.NEW_PIN}:
            break
        wrong.append(each.at_ms)
    return wrong[::-1]
