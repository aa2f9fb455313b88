"""Puts a group of messages into the store: readings kept, everything else set aside with its reason."""

import logging
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, field, replace

from sqlmodel import Session

from holdwatch.errors import MalformedPayloadError
from holdwatch.intake.acks import Acks
from holdwatch.intake.decoded import AsideReason, Decoded, Refused
from holdwatch.intake.instants import Dated, date
from holdwatch.intake.message import Message
from holdwatch.intake.payloads import decode
from holdwatch.intake.proposing import Proposal, propose
from holdwatch.intake.roster import Roster, Speaker
from holdwatch.intake.slots import Cursors, Slots
from holdwatch.language import _, explained
from holdwatch.storage.aside import Aside, printable, set_aside_all
from holdwatch.storage.heard import keep_heard
from holdwatch.storage.readings import NewReading, write_readings
from holdwatch.storage.tables import Heard, ReadingFlag

__all__ = ["Keeper", "Kept", "Prepared"]

_MOST_HEARD = 20
"""Of so many unknown topics a group is a proposal worked out; the others come round with their next message."""
_LONGEST_SAID = 200

_log = logging.getLogger(__name__)


@dataclass
class Kept:
    """What became of a group."""

    readings: int = 0
    set_aside: int = 0
    last_arrival_ms: int = 0
    acks: Acks = field(default_factory=Acks)
    aside: list[Aside] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Value:
    """A temperature on its way into the store."""

    speaker: Speaker
    message: Message
    decoded: Decoded
    dated: Dated


@dataclass(frozen=True, slots=True)
class Prepared:
    """A message with what it says, worked out before the store is asked to wait for us."""

    message: Message
    speaker: Speaker | None
    found: Sequence[Decoded | Refused] = ()
    whole: Refused | None = None  # why the message as a whole says nothing
    proposal: Proposal | None = None  # how something that nobody has added seems to speak


class Keeper:
    """Turns groups of messages into rows; whatever a message holds, it never raises because of it."""

    def __init__(self, roster: Roster) -> None:
        self._roster, self._cursors = roster, Cursors()

    def prepare(self, messages: Iterable[Message]) -> list[Prepared]:
        """Decode a group by what we know of the probes; no store is needed."""
        group = [self._prepare(message) for message in messages if not message.marker]
        newest = {each.message.topic: place for place, each in enumerate(group) if each.speaker is None}
        for place in list(newest.values())[-_MOST_HEARD:]:
            message = group[place].message
            group[place] = replace(group[place], proposal=self._propose(message))
        return group

    def keep(self, session: Session, group: Sequence[Prepared], now_ms: int) -> Kept:
        """Write a group within the caller's transaction."""
        kept = Kept()
        values: list[_Value] = []
        met = self._meet(session, group)
        for prepared in met:
            kept.last_arrival_ms = max(kept.last_arrival_ms, prepared.message.arrival_ms)
            values.extend(self._take(prepared, kept))
        if values:
            write_readings(session, list(self._place(session, values)), now_ms)
        set_aside_all(session, kept.aside)
        keep_heard(session, _heard(met))
        kept.readings, kept.set_aside = len(values), len(kept.aside)
        return kept

    def refuse(self, session: Session, message: Message, detail: str) -> None:
        """Set a message aside that the store did not take for a reason of its own."""
        kept = Kept()
        self._set_aside(message, Refused(AsideReason.NOT_KEPT, detail), kept)
        set_aside_all(session, kept.aside)

    def _prepare(self, message: Message) -> Prepared:
        """Decode one message."""
        speaker = self._roster.speaker(message.topic)
        if speaker is None:
            return Prepared(message, None)
        try:
            return Prepared(message, speaker, decode(message.payload, speaker))
        except MalformedPayloadError as exc:
            whole = Refused(AsideReason(exc.reason), str(exc))
        except Exception as exc:  # noqa: BLE001  a decoder's own mistake must not stop every other probe
            _log.exception("a message on %s could not be decoded", message.topic)
            whole = Refused(AsideReason.UNREADABLE, _unread(exc))
        return Prepared(message, speaker, whole=whole)

    @staticmethod
    def _propose(message: Message) -> Proposal:
        """Tell how a message seems to be written."""
        try:
            return propose(message.payload, message.arrival_ms)
        except Exception as exc:  # noqa: BLE001  as above
            _log.exception("no proposal could be made of a message on %s", message.topic)
            return Proposal(problem=_unread(exc))

    def _meet(self, session: Session, group: Sequence[Prepared]) -> Sequence[Prepared]:
        """Read the register again when somebody speaks whom we do not know yet."""
        if all(prepared.speaker is not None for prepared in group):
            return group
        self._roster.read(session)
        return [
            each
            if each.speaker is not None or self._roster.speaker(each.message.topic) is None
            # it was added a moment ago
            else self._prepare(each.message)
            for each in group
        ]

    def _take(self, prepared: Prepared, kept: Kept) -> Iterable[_Value]:
        """Return the temperatures of a message; set aside what is none."""
        message, speaker = prepared.message, prepared.speaker
        if speaker is None:
            detail = _("no probe speaks on this topic; see it with: holdwatch probe heard")
            self._set_aside(message, Refused(AsideReason.UNKNOWN_PROBE, detail), kept)
            return
        if prepared.whole is not None:
            self._set_aside(message, prepared.whole, kept, speaker)
        for value in prepared.found:
            kept.acks.add(speaker.code, value.at_ms)
            if isinstance(value, Refused):
                self._set_aside(message, value, kept, speaker)
            else:
                yield _Value(speaker, message, value, date(value, message.arrival_ms, live=message.live))

    @staticmethod
    def _set_aside(message: Message, refused: Refused, kept: Kept, speaker: Speaker | None = None) -> None:
        """Note a message, or a value of one, among those to be set aside."""
        detail = refused.detail if speaker is None else explained(speaker.code, refused.detail)
        kept.aside.append(Aside(message.topic, message.payload, refused.reason.value, detail, message.arrival_ms))

    def _place(self, session: Session, values: Sequence[_Value]) -> Iterable[NewReading]:
        """Give every value its instant; those without one of their own a millisecond that is free."""
        own = [(v.speaker.probe_id, v.dated.at_ms) for v in values if v.dated.flag == ReadingFlag.OWN_INSTANT]
        slots = Slots(session, self._cursors, own)
        for value in values:
            probe_id, at_ms, flag = value.speaker.probe_id, value.dated.at_ms, value.dated.flag
            if flag == ReadingFlag.ARRIVAL_INSTANT:
                at_ms = slots.claim_live(probe_id, at_ms)
            elif flag != ReadingFlag.OWN_INSTANT:
                at_ms = slots.claim_unknown(probe_id, at_ms)
            yield NewReading(probe_id, at_ms, value.decoded.celsius, value.message.arrival_ms, int(flag))


def _unread(exc: Exception) -> str:
    """Say that a decoder failed, and how."""
    return _("it could not be read ({error})").format(error=type(exc).__name__)


def _heard(group: Sequence[Prepared]) -> list[Heard]:
    """Return what was heard on topics of no probe, one row a topic."""
    spoken = Counter(each.message.topic for each in group if each.speaker is None)
    return [
        Heard(
            topic=message.topic,
            first_ms=message.arrival_ms,
            last_ms=message.arrival_ms,
            messages=spoken[message.topic],
            live=message.live,
            said=printable(message.payload[:_LONGEST_SAID]),
            **asdict(proposal),
        )
        for message, proposal in ((each.message, each.proposal) for each in group if each.speaker is None)
        if proposal is not None
    ]
