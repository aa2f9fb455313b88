"""Who is told, and by which channel."""

from sqlmodel import Session, col, select

from holdwatch.errors import NameTakenError
from holdwatch.language import N_, _
from holdwatch.storage.events import record_event
from holdwatch.storage.names import check_name, unknown
from holdwatch.storage.spoken import in_site_language
from holdwatch.storage.tables import Contact, EventKind

__all__ = ["add_contact", "contact_named", "contacts", "end_contact"]


def add_contact(session: Session, name: str, url: str, *, now_ms: int, by: str) -> Contact:
    """Add someone who is told of every finding from now on.

    Raises
    ------
    NameTakenError
        If there is a contact of that name.
    """
    name = check_name(N_("contact's name"), name)
    if session.exec(select(Contact).where(Contact.name == name)).first() is not None:
        raise NameTakenError(_("there is already a contact called {name!r}: use another name").format(name=name))
    contact = Contact(name=name, url=url, added_ms=now_ms)
    session.add(contact)
    # The URL may hold a password: it stands in the contact alone, not in the record of what was done.
    record_event(session, EventKind.CONTACT_ADDED, at_ms=now_ms, now_ms=now_ms, by=by, text=name)
    return contact


def contacts(session: Session) -> list[Contact]:
    """Return everyone who is told at present, in the order they were added."""
    return list(session.exec(select(Contact).where(col(Contact.retired_ms).is_(None)).order_by(col(Contact.id))))


def contact_named(session: Session, name: str) -> Contact:
    """Return somebody who is told at present, by name.

    Raises
    ------
    UnknownNameError
        If there is none; it lists near names.
    """
    told = select(Contact).where(Contact.name == name.strip(), col(Contact.retired_ms).is_(None))
    found = session.exec(told).first()
    if found is None:
        raise unknown(N_("contact"), name, [contact.name for contact in contacts(session)])
    return found


def end_contact(session: Session, contact: Contact, *, now_ms: int, by: str) -> None:
    """Tell somebody of nothing any more; what was sent to them stays on record, and so does their name."""
    contact.retired_ms = now_ms
    session.add(contact)
    with in_site_language(session):
        words = _("{name} is told no more").format(name=contact.name)
    record_event(session, EventKind.CONTACT_ROUTED, at_ms=now_ms, now_ms=now_ms, by=by, text=words)
