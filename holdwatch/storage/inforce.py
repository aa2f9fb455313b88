"""The limits that governed an instant: kept by their text, and confirmed by a manager with the authority.

A file is taken into force once, as it is read then. Whoever edits it afterwards changes nothing that is judged, until
it is taken into force again; then it holds from that instant on, and is not confirmed any more.
"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from sqlmodel import Session, col, select

from holdwatch.errors import ConfigError, LimitsError
from holdwatch.language import N_, _, written_day
from holdwatch.storage.events import events, record_event
from holdwatch.storage.ids import id_of
from holdwatch.storage.limits_tables import LimitsText
from holdwatch.storage.names import check_name
from holdwatch.storage.people import managers
from holdwatch.storage.spoken import in_site_language
from holdwatch.storage.tables import Event, EventKind, SiteVersion

if TYPE_CHECKING:
    from holdwatch.limits import Limits

__all__ = [
    "Confirmation",
    "FileNow",
    "confirm_limits",
    "confirmation_of",
    "confirmations",
    "file_now",
    "keep_limits",
    "kept_text",
    "limits_of",
]

_PARSED: dict[str, "Limits"] = {}
_MOST_PARSED = 16


class FileNow(StrEnum):
    """What the limits file says now, beside the text that governs."""

    SAME = "same"
    EDITED = "edited"
    """Somebody changed the site's own file."""
    NEWER = "newer"
    """Another text of the code came with a newer version of the program."""


@dataclass(frozen=True)
class Confirmation:
    """That an authority said of a limits file, word for word: yes, that is what I hold you to."""

    digest: str
    limits: str
    authority: str
    person: str
    """Who said it there."""
    on: date
    """When they said it, the day at the site."""
    how: str
    by: str
    """The manager who recorded it."""
    recorded_ms: int
    event_id: int
    """The entry that it was recorded as."""


def keep_limits(session: Session, name_or_path: str, now_ms: int) -> str:
    """Keep a limits file as it is now, and return its digest.

    Raises
    ------
    LimitsError
        If it is unknown or breaks the schema.
    """
    from holdwatch.limits import parse_limits, read_limits  # it loads arrays; the register alone need not wait for them

    file = read_limits(name_or_path)
    parse_limits(file)
    if session.get(LimitsText, file.digest) is None:
        kept = LimitsText(digest=file.digest, name=file.name, text=file.text, base_text=file.base_text, kept_ms=now_ms)
        session.add(kept)
        session.flush()
    return file.digest


def kept_text(session: Session, digest: str) -> LimitsText:
    """Return a text that was ever in force, by the beginning of its digest.

    Raises
    ------
    ConfigError
        If none begins so, or more than one does.
    """
    kept = session.exec(select(LimitsText).order_by(col(LimitsText.kept_ms))).all()
    found = [each for each in kept if digest and each.digest.startswith(digest.lower())]
    if len(found) != 1:
        known = ", ".join(f"{each.digest[:12]} ({Path(each.name).name})" for each in kept) or _("none yet")
        what = (
            _("several texts begin with {digest!r}: there are {known}")
            if found
            else _("no text of limits begins with {digest!r}: there are {known}")
        )
        raise ConfigError(what.format(digest=digest, known=known))
    return found[0]


def limits_of(session: Session, site: SiteVersion) -> "Limits":
    """Return the limits of a version of the site, as they were read when it was set.

    Raises
    ------
    LimitsError
        If the text cannot be used.
    """
    from holdwatch.limits import LimitsFile, load_limits, parse_limits

    digest = site.limits_digest
    if not digest:
        return load_limits(site.limits)
    parsed = _PARSED.get(digest)
    if parsed is None:
        kept = session.get(LimitsText, digest)
        if kept is None:
            raise LimitsError(
                _("the text of {limits} is not in the store: set the limits again").format(limits=site.limits)
            )
        parsed = parse_limits(LimitsFile(kept.name, kept.text, kept.base_text))
        if len(_PARSED) >= _MOST_PARSED:
            _PARSED.clear()
        _PARSED[digest] = parsed
    return parsed


def file_now(session: Session, site: SiteVersion) -> FileNow:
    """Return what became of the limits file since it was taken into force; a lost file is still what it was."""
    from holdwatch.limits import known_limits, read_limits

    kept = session.get(LimitsText, site.limits_digest) if site.limits_digest else None
    if kept is None:
        return FileNow.SAME
    try:
        file = read_limits(site.limits)
    except LimitsError:
        return FileNow.SAME
    if file.text != kept.text:
        return FileNow.NEWER if site.limits in known_limits() else FileNow.EDITED
    return FileNow.SAME if file.base_text == kept.base_text else FileNow.NEWER


def confirm_limits(
    session: Session, site: SiteVersion, *, person: str, on: date, how: str, today: date, now_ms: int, by: str
) -> Confirmation:
    """Record that the authority said of the limits in force: that is what I hold you to.

    Parameters
    ----------
    site : the version of the site whose limits were shown to the authority.
    person : who said so at the authority.
    on, today : when, and the present day at the site.
    how : by letter, on the phone, at a visit; may be empty.
    now_ms : the present. [ms]
    by : the manager who asked.

    Raises
    ------
    ConfigError
        If nobody said who inspects the site, a name is missing, the day lies ahead, `by` is no manager where
        managers are known, or the file was edited since it was taken into force.
    """
    if not site.authority:
        raise ConfigError(_("say first who inspects you: holdwatch limits use --authority NAME"))
    if on > today:
        raise ConfigError(_("{on} lies ahead: say on which day the authority confirmed it").format(on=written_day(on)))
    if file_now(session, site) is FileNow.EDITED:
        raise ConfigError(
            _("{limits} was edited since it was taken into force: holdwatch limits use {site_limits}").format(
                limits=site.limits, site_limits=site.limits
            )
        )
    limits = limits_of(session, site)
    facts = {
        "digest": limits.digest,
        "limits": limits.id,
        "authority": site.authority,
        "person": check_name(N_("name of the authority's person"), person),
        "on": on.isoformat(),
        "how": how.strip()[:500],
    }
    by = _manager(session, check_name(N_("name of a manager"), by))
    with in_site_language(session):
        text = _("{limits} ({edition}), by {person} of {authority} on {day}").format(
            limits=limits.title,
            edition=limits.edition,
            person=facts["person"],
            authority=site.authority,
            day=written_day(on),
        )
    event = record_event(
        session, EventKind.LIMITS_CONFIRMED, at_ms=now_ms, now_ms=now_ms, by=by, text=text, facts=facts
    )
    return _confirmation(event)


def _manager(session: Session, name: str) -> str:
    """Return the name of a manager; where none is on record yet, the name that was said."""
    known = managers(session)
    said = name.casefold()
    found = next((each.name for each in known if said in {each.name.casefold(), each.initials.casefold()}), None)
    if known and found is None:
        raise ConfigError(
            _("{name} is no manager here: it takes {known}").format(
                name=name, known=_(" or ").join(each.name for each in known)
            )
        )
    return found or name


def confirmations(session: Session) -> list[Confirmation]:
    """Return every confirmation that was recorded, the oldest first."""
    return [_confirmation(event) for event in events(session, kinds=[EventKind.LIMITS_CONFIRMED])]


def confirmation_of(session: Session, site: SiteVersion) -> Confirmation | None:
    """Return the latest confirmation of just this text by the authority that inspects the site."""
    digest = limits_of(session, site).digest
    of_these = [
        each
        for each in confirmations(session)
        if each.digest == digest and each.authority.casefold() == site.authority.casefold()
    ]
    return of_these[-1] if of_these else None


def _confirmation(event: Event) -> Confirmation:
    """Read a confirmation back from its entry."""
    said = event.facts
    return Confirmation(
        digest=said["digest"],
        limits=said["limits"],
        authority=said["authority"],
        person=said["person"],
        on=date.fromisoformat(said["on"]),
        how=said["how"],
        by=event.by,
        recorded_ms=event.recorded_ms,
        event_id=id_of(event),
    )
