"""Messages that could not be kept as readings, with their reason; the newest ten thousand are held."""

from collections.abc import Sequence
from typing import NamedTuple

from sqlmodel import Session, col, delete, func, insert, select

from holdwatch.storage.tables import SetAsideMessage

__all__ = ["KEPT", "Aside", "recent_set_aside", "set_aside", "set_aside_all", "set_aside_counts"]

KEPT = 10_000
_OWN_SPACES = "\u00a0\u202f"  # that do not break: those of our own sentences
_LONGEST_PAYLOAD = 512
_LONGEST_TEXT = 300


class Aside(NamedTuple):
    """A message that is no reading, and why."""

    topic: str
    payload: bytes
    reason: str
    detail: str
    received_ms: int


def set_aside(session: Session, topic: str, payload: bytes, reason: str, detail: str, received_ms: int) -> None:
    """Keep a message that is no reading, and why; the oldest one falls away when there are too many."""
    set_aside_all(session, [Aside(topic, payload, reason, detail, received_ms)])


def set_aside_all(session: Session, messages: Sequence[Aside]) -> None:
    """Keep messages that are no readings: a device that sends nothing else costs little more than one that does."""
    if not messages:
        return
    connection = session.connection()
    rows = [
        {
            "received_ms": message.received_ms,
            "topic": _printable(message.topic)[:_LONGEST_TEXT],
            "payload": printable(message.payload),
            "reason": message.reason,
            "detail": _printable(message.detail, _OWN_SPACES)[:_LONGEST_TEXT],
        }
        for message in messages
    ]
    connection.execute(insert(SetAsideMessage), rows)
    newest = connection.execute(select(func.max(SetAsideMessage.id))).scalar() or 0
    if newest > KEPT:
        connection.execute(delete(SetAsideMessage).where(col(SetAsideMessage.id) <= newest - KEPT))


def recent_set_aside(session: Session, limit: int = 100) -> list[SetAsideMessage]:
    """Return the newest messages set aside, newest first."""
    return list(session.exec(select(SetAsideMessage).order_by(col(SetAsideMessage.id).desc()).limit(limit)))


def set_aside_counts(session: Session, since_ms: int = 0) -> dict[str, int]:
    """Return how many messages are held for each reason."""
    query = (
        select(SetAsideMessage.reason, func.count())
        .where(SetAsideMessage.received_ms >= since_ms)
        .group_by(SetAsideMessage.reason)
        .order_by(SetAsideMessage.reason)
    )
    return dict(session.exec(query).all())


def printable(payload: bytes) -> str:
    """Write a payload so that a person can read it: at most 512 characters, unprintable ones escaped."""
    text = payload[:_LONGEST_PAYLOAD].decode("utf-8", errors="backslashreplace")
    shown = _printable(text)
    if len(shown) > _LONGEST_PAYLOAD or len(payload) > _LONGEST_PAYLOAD:
        return shown[: _LONGEST_PAYLOAD - 1] + "…"
    return shown


def _printable(text: str, besides: str = "") -> str:
    return "".join(
        each
        if each.isprintable() or each in besides
        else each.encode("unicode_escape", "surrogatepass").decode("ascii")
        for each in text
    )
