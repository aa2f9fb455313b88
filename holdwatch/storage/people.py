"""Who works here: added, changed, ended; each change is an event."""

from sqlmodel import Session, col, select

from holdwatch.errors import ConfigError, NameTakenError
from holdwatch.language import LANGUAGES, N_, _
from holdwatch.people.roles import PersonRole
from holdwatch.storage.events import record_event
from holdwatch.storage.ids import id_of
from holdwatch.storage.look import asked_once
from holdwatch.storage.names import check_choice, check_language, check_name, check_scale, unknown
from holdwatch.storage.people_tables import Person, PinTry, TryOutcome
from holdwatch.storage.spoken import in_site_language
from holdwatch.storage.tables import EventKind

__all__ = [
    "add_person",
    "change_role",
    "end_person",
    "initials",
    "keep_pin",
    "managers",
    "people",
    "person_named",
    "person_of_sso",
    "set_screen",
    "set_sso",
]

_MOST_INITIALS = 4


@asked_once
def people(session: Session, *, ended: bool = False) -> list[Person]:
    """Return who works here at present, by name; with `ended`, everyone who ever did."""
    query = select(Person).order_by(col(Person.name))
    if not ended:
        query = query.where(col(Person.ended_ms).is_(None))
    return list(session.exec(query))


def managers(session: Session) -> list[Person]:
    """Return the managers there are at present."""
    return [person for person in people(session) if person.role == PersonRole.MANAGER]


def initials(session: Session) -> dict[str, str]:
    """Return the initials of everybody who ever worked here, by name; a name is never used again."""
    return {person.name: person.initials for person in people(session, ended=True)}


def person_named(session: Session, name: str) -> Person:
    """Return somebody who works here, by name or initials, however they are capitalised.

    Raises
    ------
    UnknownNameError
        If there is none; it lists near names.
    """
    here = people(session)
    said = name.strip().casefold()
    for person in here:
        if said in {person.name.casefold(), person.initials.casefold()}:
            return person
    raise unknown(N_("person"), name, [person.name for person in here])


def add_person(session: Session, name: str, initials: str, role: str, *, now_ms: int, by: str) -> Person:
    """Add somebody; a PIN is set apart with `keep_pin`.

    Raises
    ------
    ConfigError
        If a name, initials or role cannot be.
    NameTakenError
        If the name was ever used, or somebody present has the same name or initials.
    """
    name, initials = check_name(N_("person's name"), name), _check_initials(initials)
    found = check_choice(N_("role"), role, PersonRole)
    for other in people(session, ended=True):
        if name.casefold() == other.name.casefold():
            since = "" if other.ended_ms is None else _(", who has left")
            raise NameTakenError(
                _("there is already a person called {name!r}{since}: use another name").format(
                    name=other.name, since=since
                )
            )
        taken = {other.initials.casefold(), other.name.casefold()}
        if other.ended_ms is None and (initials.casefold() in taken or name.casefold() in taken):
            raise NameTakenError(
                _("{name} signs as {initials!r}: use other initials for {other}").format(
                    name=other.name, initials=other.initials, other=name
                )
            )
    person = Person(name=name, initials=initials, role=found.value, added_ms=now_ms)
    session.add(person)
    session.flush()
    _tell(session, EventKind.PERSON_ADDED, person, f"{name} ({initials}), {found}", now_ms=now_ms, by=by)
    return person


def change_role(session: Session, person: Person, role: str, *, now_ms: int, by: str) -> None:
    """Give somebody another role.

    Raises
    ------
    ConfigError
        If there would be no manager left.
    """
    found = check_choice(N_("role"), role, PersonRole)
    if found == person.role:
        return
    _keep_one_manager(session, person)
    with in_site_language(session):
        said = _("{name} is {role} from now on; was {before}").format(
            name=person.name, role=_(found.value), before=_(person.role)
        )
    person.role = found.value
    session.add(person)
    _tell(session, EventKind.PERSON_CHANGED, person, said, now_ms=now_ms, by=by)


def end_person(session: Session, person: Person, *, now_ms: int, by: str) -> None:
    """Let somebody sign no more; what they signed stays.

    Raises
    ------
    ConfigError
        If they are the last manager.
    """
    _keep_one_manager(session, person)
    person.ended_ms, person.pin_hash = now_ms, ""
    session.add(person)
    with in_site_language(session):
        said = _("{name} works here no more").format(name=person.name)
    _tell(session, EventKind.PERSON_CHANGED, person, said, now_ms=now_ms, by=by)


def keep_pin(session: Session, person: Person, pin_hash: str, *, now_ms: int, by: str) -> None:
    """Keep the hash of a new PIN; wrong tries of before count no more."""
    first = not person.pin_hash
    person.pin_hash, person.pin_set_ms = pin_hash, now_ms
    session.add(person)
    session.add(PinTry(person_id=id_of(person), at_ms=now_ms, act="", place="", outcome=TryOutcome.NEW_PIN.value))
    with in_site_language(session):
        said = (_("{name} has a PIN") if first else _("{name} has a new PIN")).format(name=person.name)
    _tell(session, EventKind.PERSON_CHANGED, person, said, now_ms=now_ms, by=by)


def person_of_sso(session: Session, *, email: str, subject: str) -> Person | None:
    """Return who works here and has that account of single sign-on: by a verified address, or by subject exactly."""
    for person in people(session):
        if person.sso and (person.sso.casefold() == email.casefold() or person.sso == subject):
            return person
    return None


def set_sso(session: Session, person: Person, account: str, *, now_ms: int, by: str) -> None:
    """Let somebody sign in by single sign-on, as an e-mail address or a subject; with nothing, no more.

    Raises
    ------
    ConfigError
        If it cannot be one.
    NameTakenError
        If somebody else who works here has it.
    """
    account = check_name(N_("account of single sign-on"), account) if account.strip() else ""
    for other in people(session):
        if account and other.id != person.id and other.sso.casefold() == account.casefold():
            raise NameTakenError(
                _("{name} signs in as {account!r}: an account is one person's").format(name=other.name, account=account)
            )
    person.sso = account
    session.add(person)
    with in_site_language(session):
        said = (
            _("{name} signs in by single sign-on as {account}")
            if account
            else _("{name} signs in by single sign-on no more")
        ).format(name=person.name, account=account)
    _tell(session, EventKind.PERSON_CHANGED, person, said, now_ms=now_ms, by=by)


def set_screen(session: Session, person: Person, *, language: str, scale: str, now_ms: int, by: str) -> None:
    """Let somebody's screens speak a language and show °F or °C; with nothing, the site's.

    Raises
    ------
    ConfigError
        If the language or the scale is not known.
    """
    person.language = check_language(language) if language else ""
    person.scale = check_scale(scale) if scale else ""
    session.add(person)
    with in_site_language(session):
        said = _("{name}'s screens speak {language}, in {degrees}").format(
            name=person.name,
            language=LANGUAGES.get(person.language) or _("the language of the site"),
            degrees=f"°{person.scale}" if person.scale else _("the degrees of the site"),
        )
    _tell(session, EventKind.PERSON_CHANGED, person, said, now_ms=now_ms, by=by)


def _check_initials(initials: str) -> str:
    plain = initials.strip()
    if not 1 <= len(plain) <= _MOST_INITIALS or not plain.isalpha():
        raise ConfigError(
            _("{initials!r} are no initials: give 1 to {most} letters").format(initials=initials, most=_MOST_INITIALS)
        )
    return plain.upper()


def _keep_one_manager(session: Session, person: Person) -> None:
    here = managers(session)
    if [each.id for each in here] == [person.id]:
        raise ConfigError(_("{name} is the only manager: name another one first").format(name=person.name))


def _tell(session: Session, kind: EventKind, person: Person, text: str, *, now_ms: int, by: str) -> None:
    record_event(session, kind, at_ms=now_ms, now_ms=now_ms, by=by, text=text, facts={"person": person.id})
