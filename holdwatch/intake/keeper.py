"""Puts a group of messages into the store: readings kept, everything else set aside with its reason."""

import logging
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from sqlmodel import Session

from holdwatch.errors import MalformedPayloadError
from holdwatch.intake.acks import Acks
from holdwatch.intake.decoded import AsideReason, Decoded, Refused
from holdwatch.intake.instants import Dated, date
from holdwatch.intake.message import Message
from holdwatch.intake.payloads import decode
from holdwatch.intake.roster import Roster, Speaker
from holdwatch.intake.slots import Cursors, Slots
from holdwatch.storage.aside import set_aside
from holdwatch.storage.readings import NewReading, write_readings
from holdwatch.storage.tables import ReadingFlag

__all__ = ["Keeper", "Kept"]

_log = logging.getLogger(__name__)


@dataclass
class Kept:
    """What became of a group."""

    readings: int = 0
    set_aside: int = 0
    last_arrival_ms: int = 0
    acks: Acks = field(default_factory=Acks)


@dataclass(frozen=True, slots=True)
class _Value:
    """A temperature on its way into the store."""

    speaker: Speaker
    message: Message
    decoded: Decoded
    dated: Dated


class Keeper:
    """Turns groups of messages into rows; whatever a message holds, it never raises because of it."""

    def __init__(self, roster: Roster) -> None:
        self._roster, self._cursors = roster, Cursors()

    def keep(self, session: Session, messages: Sequence[Message], now_ms: int) -> Kept:
        """Write a group within the caller's transaction."""
        told = [message for message in messages if not message.marker]
        kept = Kept()
        values: list[_Value] = []
        self._meet(session, told)
        for message in told:
            kept.last_arrival_ms = max(kept.last_arrival_ms, message.arrival_ms)
            values.extend(self._read(session, message, kept))
        if values:
            write_readings(session, list(self._place(session, values)), now_ms)
        kept.readings = len(values)
        return kept

    def refuse(self, session: Session, message: Message, detail: str) -> None:
        """Set a message aside that the store did not take for a reason of its own."""
        set_aside(session, message.topic, message.payload, AsideReason.NOT_KEPT.value, detail, message.arrival_ms)

    def _meet(self, session: Session, messages: Sequence[Message]) -> None:
        """Read the register again when somebody speaks whom we do not know yet."""
        if any(self._roster.speaker(message.topic) is None for message in messages):
            self._roster.read(session)

    def _read(self, session: Session, message: Message, kept: Kept) -> Iterable[_Value]:
        """Return the temperatures of a message; set aside what is none."""
        speaker = self._roster.speaker(message.topic)
        if speaker is None:
            detail = "no probe speaks on this topic; add it with: holdwatch probe add CODE --topic " + message.topic
            self._set_aside(session, message, AsideReason.UNKNOWN_PROBE, detail, kept)
            return
        for value in self._decode(session, message, speaker, kept):
            kept.acks.add(speaker.code, value.at_ms)
            if isinstance(value, Refused):
                self._set_aside(session, message, value.reason, f"{speaker.code}: {value.detail}", kept)
            else:
                yield _Value(speaker, message, value, date(value, message.arrival_ms, live=message.live))

    def _decode(self, session: Session, message: Message, speaker: Speaker, kept: Kept) -> Sequence[Decoded | Refused]:
        """Decode a message; one that cannot be read is set aside as a whole."""
        try:
            return decode(message.payload, speaker)
        except MalformedPayloadError as exc:
            reason, detail = AsideReason(exc.reason), str(exc)
        except Exception as exc:  # noqa: BLE001  a decoder's own mistake must not stop every other probe
            _log.exception("a message on %s could not be decoded", message.topic)
            reason, detail = AsideReason.UNREADABLE, f"it could not be read ({type(exc).__name__})"
        self._set_aside(session, message, reason, f"{speaker.code}: {detail}", kept)
        return ()

    @staticmethod
    def _set_aside(session: Session, message: Message, reason: AsideReason, detail: str, kept: Kept) -> None:
        set_aside(session, message.topic, message.payload, reason.value, detail, message.arrival_ms)
        kept.set_aside += 1

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
