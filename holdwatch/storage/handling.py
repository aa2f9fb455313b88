"""What people did about a finding: recorded, refused where it cannot be, and read back as where the finding stands."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

from sqlmodel import Session, col, select

from holdwatch.errors import ConfigError, RefusedError
from holdwatch.language import N_, _
from holdwatch.people.handling import RIGHT_OF, Act, Deed, Disposition, Handling, handling_of, refusal
from holdwatch.people.roles import PersonRole, Right, may
from holdwatch.rules.verdicts import Verdict
from holdwatch.storage.events import events, record_event
from holdwatch.storage.findings import GRAVITY, versions_of
from holdwatch.storage.ids import id_of
from holdwatch.storage.names import check_instant
from holdwatch.storage.people import people
from holdwatch.storage.people_tables import Person, Signature
from holdwatch.storage.signing import sign, signatures
from holdwatch.storage.tables import Event, EventKind, Finding, FindingKind, FindingVersion

__all__ = [
    "Signer",
    "Told",
    "acts_of",
    "handling",
    "handlings",
    "needs_somebody",
    "record_act",
    "right_needed",
    "sign_own",
    "told_of",
]

_KINDS = {
    Act.SEEN: EventKind.SEEN,
    Act.ACTION: EventKind.ACTION,
    Act.PROMISE: EventKind.ACTION,
    Act.HOLD: EventKind.ACTION,
    Act.CHECK_KEPT: EventKind.CHECKED,
    Act.CHECK_FAILED: EventKind.CHECKED,
    Act.MISTAKEN: EventKind.MISTAKEN,
    Act.VERIFIED: EventKind.VERIFIED,
    Act.REOPENED: EventKind.REOPENED,
}
_WANTS_WORDS = {
    Act.MISTAKEN: N_("say why there was nothing the matter, such as: the probe lay on the bench"),
    Act.REOPENED: N_("say why it is open again"),
}
_LONGEST_PROMISE_MS = 24 * 3_600_000


@dataclass(frozen=True)
class Signer:
    """Who records something, and whether it is signed."""

    by: str
    person: Person | None = None
    """Who it is, where that is known; ``None`` for a name that was only said."""
    signed: bool = False
    """Whether the PIN was just found right."""


def record_act(
    session: Session,
    finding: Finding,
    act: Act,
    signer: Signer,
    *,
    at_ms: int,
    now_ms: int,
    disposition: Disposition | None = None,
    text: str = "",
    check_ms: int | None = None,
    replaces_id: int | None = None,
) -> Event:
    """Record what somebody did about a finding.

    Parameters
    ----------
    finding
        The finding, as it is in the store.
    act
        What was done; `Act.AGAIN` is the watch's and `Act.CORRECTION` is said by `replaces_id`.
    signer
        Who did it. Without a signature everything is taken but *keep* after a deviation or a not-shown, verifying
        and reopening; it then counts as unsigned until somebody signs it.
    at_ms, now_ms
        When it was done, and when it is recorded. [ms]
    disposition
        What becomes of the food; an action needs one.
    check_ms
        When the promised check is due; a promise needs one. [ms]
    replaces_id
        The entry of this finding in whose place this one stands.

    Raises
    ------
    RefusedError
        If the finding's life or the person's role forbids it; the try is kept by whoever opened the store.
    ConfigError
        If a word is missing, or the entry that is corrected cannot be; the message says what to do.
    """
    check_instant(session, act.value, at_ms, now_ms)
    text = text.strip()
    asked = act if replaces_id is None else Act.CORRECTION
    why = refusal(handling(session, finding), asked, signer.by, disposition if replaces_id is None else None)
    if not why:
        if replaces_id is not None:
            _check_replaced(session, finding, replaces_id, act)
        if missing := _incomplete(act, disposition, text, check_ms, at_ms):
            raise ConfigError(missing)
        why = _not_theirs(session, finding, act, signer, disposition)
    if why:
        what = " ".join(filter(None, (asked.value, disposition)))
        raise RefusedError(why, who=signer.by, what=f"{what}, finding {finding.id}")
    facts = {"act": act.value, "disposition": disposition.value if disposition else None, "check_ms": check_ms}
    event = record_event(
        session,
        _KINDS[act],
        at_ms=at_ms,
        now_ms=now_ms,
        by=signer.by,
        batch_id=finding.batch_id,
        unit_id=finding.unit_id,
        probe_id=finding.probe_id,
        finding_id=id_of(finding),
        text=text,
        replaces_id=replaces_id,
        facts={name: value for name, value in facts.items() if value is not None},
    )
    if signer.signed and signer.person is not None:
        sign(session, [id_of(event)], signer.person, now_ms=now_ms)
    return event


def sign_own(session: Session, finding: Finding, person: Person, *, now_ms: int) -> int:
    """Sign every entry about a finding that is in somebody's name and not signed yet; return how many.

    Call it after the PIN was found right. An entry under a name that is only like theirs is not taken.
    """
    told = told_of(session, [finding])[id_of(finding)]
    said = {person.name.casefold(), person.initials.casefold()}
    own = [id_of(event) for event in told.entries if event.by.casefold() in said and id_of(event) not in told.signed]
    sign(session, own, person, now_ms=now_ms)
    return len(own)


def right_needed(finding: Finding, act: Act, disposition: Disposition | None) -> Right:
    """Return what somebody needs for an act: *keep* after a deviation, or where nothing is shown, is a manager's."""
    if disposition is Disposition.KEEP and finding.kind in {FindingKind.DEVIATION, FindingKind.NOT_SHOWN}:
        return Right.KEEP
    return RIGHT_OF[act]


def handling(session: Session, finding: Finding) -> Handling:
    """Return where a finding stands among people."""
    return handlings(session, [finding])[id_of(finding)]


def handlings(session: Session, findings: Iterable[Finding]) -> dict[int, Handling]:
    """Return where each of several findings stands, by its number."""
    return {number: told.handling for number, told in told_of(session, findings).items()}


@dataclass(frozen=True)
class Told:
    """What happened to a finding, and where that leaves it."""

    handling: Handling
    versions: list[FindingVersion]
    """Every version that it has had, the oldest first."""
    entries: list[Event]
    """What people recorded about it, or noted of its batch or unit, in the order in which it was recorded."""
    signed: dict[int, Signature]
    """The first signature of each entry that has one, by the number of the entry."""


def told_of(session: Session, findings: Iterable[Finding]) -> dict[int, Told]:
    """Return what happened to each of several findings, by its number."""
    rows = list(findings)
    ids = [id_of(row) for row in rows]
    acts = acts_of(session, ids)
    noted = noted_of(session, rows)
    signed = signatures(session, [id_of(event) for each in (*acts.values(), *noted.values()) for event in each])
    versions = versions_of(session, ids)
    found = {}
    for number in ids:
        about, loose, had = acts.get(number, []), noted.get(number, []), versions.get(number, [])
        stands = handling_of(_deeds(had, about, loose, set(signed)))
        found[number] = Told(stands, had, sorted([*loose, *about], key=_recorded), signed)
    return found


def _recorded(event: Event) -> tuple[int, int]:
    return event.recorded_ms, id_of(event)


def acts_of(session: Session, finding_ids: Iterable[int]) -> dict[int, list[Event]]:
    """Return every entry about each finding, replaced ones too, in the order in which they were recorded."""
    found: dict[int, list[Event]] = {}
    wanted = select(Event).where(col(Event.finding_id).in_(list(finding_ids))).order_by(col(Event.id))
    for event in session.exec(wanted):
        found.setdefault(event.finding_id or 0, []).append(event)
    return found


def needs_somebody(finding: Finding, now: Handling) -> bool:
    """Return whether somebody still has to do something.

    A warning that passed by itself asks for nothing, nor does what was not shown until a later reading showed it kept.
    """
    shown_kept = finding.kind == FindingKind.NOT_SHOWN and finding.verdict == Verdict.MET
    passed = finding.kind in {FindingKind.SOON, FindingKind.SYSTEM} or shown_kept
    return not (now.settled or (passed and finding.closed_ms is not None) or finding.replaced_by is not None)


def noted_of(session: Session, rows: Iterable[Finding]) -> dict[int, list[Event]]:
    """Return, by the number of each finding, the actions that were noted of the batch or unit itself.

    Once the limit was missed they speak for the finding too.
    """
    asked = [row for row in rows if row.batch_id is not None or row.unit_id is not None]
    if not asked:
        return {}
    first_ms = min(_late_ms(row) for row in asked)
    by_subject: dict[tuple[int | None, int | None], list[Event]] = {}
    for event in events(session, kinds=[EventKind.ACTION], since_ms=first_ms, of_no_finding=True):
        for subject in {(event.batch_id, None), (None, event.unit_id)}:
            by_subject.setdefault(subject, []).append(event)
    found = {}
    for row in asked:
        subject = (row.batch_id, None) if row.batch_id is not None else (None, row.unit_id)
        until_ms = row.closed_ms
        found[id_of(row)] = [
            event
            for event in by_subject.get(subject, [])
            if _late_ms(row) <= event.at_ms and (until_ms is None or event.at_ms <= until_ms)
        ]
    return found


def _late_ms(finding: Finding) -> int:
    """Return from when on what is noted speaks for a finding: once the food was concerned, and its limit missed. [ms]."""
    late_ms = finding.facts.get("due_ms") if finding.kind != FindingKind.SOON else None
    return max(finding.since_ms, int(late_ms or 0))


def _deeds(versions: list[FindingVersion], acts: list[Event], loose: list[Event], signed: set[int]) -> list[Deed]:
    """Return what happened, in the order in which it was recorded; a correction also speaks where it corrects."""
    said = {id_of(event): _deed(event, id_of(event) in signed) for event in acts if "act" in event.facts}
    corrected: dict[int, int] = {}  # number of a correction → number of the entry that it corrects in the end
    shown = dict(said)
    for event in acts:
        number, first = id_of(event), event.replaces_id
        if first in said:
            corrected[number] = first = corrected.get(first, first)
            shown[first] = replace(said[number], by=said[first].by, signed=True)
            shown[number] = replace(said[number], act=Act.CORRECTION, disposition=None, check_ms=None)
    happened = [
        (after.at_ms, 0, after.version, Deed(Act.AGAIN, "", after.at_ms))
        for before, after in pairwise(versions)
        if _again(before, after)
    ]
    happened += [
        (event.recorded_ms, 1, id_of(event), Deed(Act.ACTION, event.by, event.at_ms, text=event.text))
        for event in loose
    ]
    happened += [(event.recorded_ms, 1, id_of(event), shown[id_of(event)]) for event in acts if id_of(event) in shown]
    return [deed for *_, deed in sorted(happened, key=lambda each: each[:3])]


def _deed(event: Event, signed: bool) -> Deed:
    facts = event.facts
    return Deed(
        act=Act(facts["act"]),
        by=event.by,
        at_ms=event.at_ms,
        signed=signed,
        disposition=Disposition(facts["disposition"]) if "disposition" in facts else None,
        text=event.text,
        check_ms=facts.get("check_ms"),
    )


def _again(before: FindingVersion, after: FindingVersion) -> bool:
    """Tell whether the watch found it worse, or once more."""
    worse = GRAVITY[FindingKind(after.kind)] > GRAVITY[FindingKind(before.kind)]
    return worse or (before.closed_ms is not None and after.closed_ms is None)


def _incomplete(act: Act, disposition: Disposition | None, text: str, check_ms: int | None, at_ms: int) -> str:
    """Return which word is missing."""
    if act in {Act.ACTION, Act.PROMISE} and disposition is None:
        return _("say what becomes of the food: {known}").format(known=", ".join(_(each.value) for each in Disposition))
    if disposition is Disposition.KEEP and not text:
        return _("food is kept for a reason: say which")
    if act in _WANTS_WORDS and not text:
        return _(_WANTS_WORDS[act])
    if act is Act.PROMISE and (check_ms is None or not at_ms < check_ms <= at_ms + _LONGEST_PROMISE_MS):
        return _("say when the check is due, within a day")
    return ""


def _not_theirs(session: Session, finding: Finding, act: Act, signer: Signer, disposition: Disposition | None) -> str:
    """Return why this person may not do it, or not without a signature."""
    right = right_needed(finding, act, disposition)
    if signer.person is not None and not may(PersonRole(signer.person.role), right):
        return _("{name} is {role}: a manager does this").format(name=signer.person.name, role=_(signer.person.role))
    if right in {Right.KEEP, Right.VERIFY} and not signer.signed and people(session):
        return _("this needs a manager's PIN")
    return ""


def _check_replaced(session: Session, finding: Finding, replaces_id: int, act: Act) -> None:
    replaced = session.get(Event, replaces_id)
    if replaced is None or replaced.finding_id != finding.id:
        raise ConfigError(
            _("finding {number} has no entry {entry}: look at its entries for the right number").format(
                number=finding.id, entry=replaces_id
            )
        )
    if session.exec(select(Event).where(Event.replaces_id == replaces_id)).first() is not None:
        raise ConfigError(_("entry {number} was corrected already: correct the newer one").format(number=replaces_id))
    dispositions = {Act.ACTION, Act.PROMISE, Act.HOLD}
    same = replaced.facts.get("act") == act or {Act(str(replaced.facts.get("act"))), act} <= dispositions
    if not same or act in {Act.VERIFIED, Act.REOPENED, Act.SEEN}:
        raise ConfigError(
            _("entry {number} is {kind!r}: it cannot be corrected into {act!r}").format(
                number=replaces_id, kind=replaced.kind, act=act.value
            )
        )
