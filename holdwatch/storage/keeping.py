"""How long each kind of record is kept: by law at least, by this kitchen's own word, and since when.

Nothing goes by itself. A period only says what may be taken away when a manager asks for it; without a word of the
kitchen's own it is the longest of the laws that were read. A shorter one is a manager's, signed and with its reason, and
never below the floor.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from sqlmodel import Session

from holdwatch.errors import ConfigError, RefusedError
from holdwatch.language import N_, _, many
from holdwatch.people.roles import PersonRole, Right, may
from holdwatch.storage.events import events, record_event
from holdwatch.storage.handling import Signer
from holdwatch.storage.ids import id_of
from holdwatch.storage.signing import sign, signatures
from holdwatch.storage.tables import Event, EventKind

__all__ = [
    "KEPT",
    "MEANING",
    "Holds",
    "Keeping",
    "Kind",
    "keeping_history",
    "keeping_of",
    "parse_period",
    "period_words",
    "set_keeping",
    "years",
]

MEANING = "kept for so long"
"""What the signature of such an entry means."""
LONGEST_YEARS = 100


def years(count: int) -> int:
    """Return the most days that so many years in a row can have."""
    return 365 * count + -(-count // 4)


class Kind(StrEnum):
    """A kind of record."""

    READINGS = N_("readings")
    FINDINGS = N_("findings")
    DEEDS = N_("deeds")
    PLANS = N_("plans")
    PEOPLE = N_("people")


@dataclass(frozen=True)
class Holds:
    """What a kind holds, and what becomes of it."""

    what: str
    laws: tuple[str, ...]
    default_days: int | None
    """After so long it may be thinned, unless the kitchen says otherwise; ``None``: it is never taken away."""
    floor_days: int | None
    """Before so long it never is, whatever anybody says."""


_TWO_YEARS = "21 CFR 117.315: 2 years after it was made (read in a summary; its twin 121.315 in full)"
_CFIA = "CFIA general principles, 7.1.1: 2 years from manufacture, or 1 year past the expiry date (seen)"
_THREE_YEARS = "21 CFR 114.100: 3 years for acidified food (seen)"
_FROZEN = "Reg. (EC) 37/2005 art. 2(3): 1 year for the air of quick-frozen food (seen)"

KEPT: Mapping[Kind, Holds] = MappingProxyType(
    {
        Kind.READINGS: Holds(
            N_("readings of probes; what is thinned keeps every extreme, crossing and gap"),
            (_THREE_YEARS, _TWO_YEARS, _CFIA, _FROZEN),
            years(3),
            years(2),
        ),
        Kind.FINDINGS: Holds(
            N_("findings with every version, verdicts, alerts and every try to send one"),
            (_THREE_YEARS, _TWO_YEARS),
            None,
            None,
        ),
        Kind.DEEDS: Holds(
            N_("what people did, declared, measured by hand, corrected and signed; checks of probes"),
            (_THREE_YEARS, _TWO_YEARS, _CFIA),
            None,
            None,
        ),
        Kind.PLANS: Holds(
            N_("products, the written plan and the limits in force, every version"),
            ("21 CFR 117.315: 2 years after a process was last used (memory)",),
            None,
            None,
        ),
        Kind.PEOPLE: Holds(N_("who worked here, shifts, tries with PINs"), (_TWO_YEARS,), None, None),
    }
)
"""What stands in the chain is never taken away: its lines would still hold the text, so it would only be hidden."""


@dataclass(frozen=True)
class Keeping:
    """How long a kind is kept, by whose word."""

    kind: Kind
    days: int | None
    """``None``: for good."""
    by: str = ""
    """Empty where it is the default."""
    why: str = ""
    since_ms: int | None = None
    signed: bool = False


def keeping_of(session: Session, kind: Kind) -> Keeping:
    """Return how long a kind is kept now."""
    said = [each for each in keeping_history(session) if each.kind is kind]
    return said[-1] if said else Keeping(kind, KEPT[kind].default_days)


def keeping_history(session: Session) -> list[Keeping]:
    """Return every period that was ever set, the oldest first."""
    found = sorted(events(session, kinds=[EventKind.KEEPING_SET]), key=id_of)
    signed = signatures(session, [id_of(event) for event in found])
    return [
        Keeping(
            Kind(event.facts["kind"]),
            event.facts["days"],
            event.by,
            event.text,
            event.recorded_ms,
            event.id in signed,
        )
        for event in found
    ]


def set_keeping(session: Session, kind: Kind, days: int | None, signer: Signer, *, why: str, now_ms: int) -> Event:
    """Say how long a kind is kept from now on.

    Parameters
    ----------
    days : ``None`` for good.
    signer : a shorter period than before needs a manager's PIN.

    Raises
    ------
    ConfigError
        If the kind is kept for good, the period is below the floor, no reason is given, or a shorter one is not signed.
    RefusedError
        If whoever signs is no manager.
    """
    holds, before = KEPT[kind], keeping_of(session, kind).days
    if holds.floor_days is None:
        raise ConfigError(
            _("{kind} are kept for good: they stand in the chain, and nothing takes them out of it").format(
                kind=_(kind.value)
            )
        )
    if not why.strip():
        raise ConfigError(_("say why: a period is kept with its reason"))
    if days is not None and days < holds.floor_days:
        raise ConfigError(
            _("{kind} are kept for {floor_days} at least ({laws}): {days} is refused").format(
                kind=_(kind.value),
                floor_days=period_words(holds.floor_days),
                laws=holds.laws[1].split(" (")[0],
                days=period_words(days),
            )
        )
    if days is not None and days > years(LONGEST_YEARS):
        raise ConfigError(
            _("{days} is longer than anybody will look: leave it out to keep them for good").format(
                days=period_words(days)
            )
        )
    if days is not None and (before is None or days < before):
        _refuse_unsigned(signer, kind)
    event = record_event(
        session,
        EventKind.KEEPING_SET,
        at_ms=now_ms,
        now_ms=now_ms,
        by=signer.by,
        text=why.strip(),
        facts={"kind": kind.value, "days": days, "before_days": before, "meaning": MEANING},
    )
    if signer.signed and signer.person is not None:
        sign(session, [id_of(event)], signer.person, now_ms=now_ms)
    return event


def _refuse_unsigned(signer: Signer, kind: Kind) -> None:
    if signer.person is None or not signer.signed:
        raise ConfigError(
            _("keeping {kind} for a shorter time is signed with a manager's PIN").format(kind=_(kind.value))
        )
    if not may(PersonRole(signer.person.role), Right.SET_UP):
        raise RefusedError(
            _("{signer} is {role}: a manager keeps records for a shorter time").format(
                signer=signer.person.name, role=_(signer.person.role)
            ),
            who=signer.person.name,
            what="keeping",
        )


def parse_period(text: str) -> int | None:
    """Read a period: 3y, 800d, or always.

    Raises
    ------
    ConfigError
        If it is none.
    """
    said = text.strip().lower()
    if said == "always":
        return None
    if not said[:-1].isdecimal() or said[-1] not in "yd":
        raise ConfigError(_("{text!r} is no period: write 3y, 800d, or always").format(text=text))
    count = int(said[:-1])
    return count if said[-1] == "d" else years(count)


def period_words(days: int | None) -> str:
    """Say a period: 3 years, 800 days."""
    if days is None:
        return _("for good")
    count = days // 365
    if count and days == years(count):
        return many("{count} year", "{count} years", count)
    return many("{count} day", "{count} days", days)
