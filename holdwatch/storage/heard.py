"""Topics on which something speaks that nobody has added, each with what its newest message seems to say.

The listener keeps one row a topic, so that whoever sets up can name and place what is heard. So many are held, those
heard last: a noisy broker fills nothing.
"""

from collections.abc import Sequence

from sqlmodel import Session, col, delete, func, select

from holdwatch.storage.tables import Heard, Probe

__all__ = ["KEPT", "LONGEST_TOPIC", "forget", "heard", "heard_on", "keep_heard"]

KEPT = 200
LONGEST_TOPIC = 300


def keep_heard(session: Session, rows: Sequence[Heard]) -> None:
    """Keep what was heard, at most one row a topic; what was known of a topic is counted on."""
    rows = [row for row in rows if len(row.topic) <= LONGEST_TOPIC and row.topic.isprintable()]
    if not rows:
        return
    known = {row.topic: row for row in session.exec(select(Heard).where(col(Heard.topic).in_([r.topic for r in rows])))}
    for row in rows:
        before = known.get(row.topic)
        if before is None:
            session.add(row)
            continue
        said = row.model_dump(exclude={"topic", "first_ms"})
        said["messages"] += before.messages
        for name in ("battery", "signal"):  # told now and then: the last one stands
            said[name] = said[name] or getattr(before, name)
        before.sqlmodel_update(said)
    session.flush()
    if session.exec(select(func.count()).select_from(Heard)).one() > KEPT:
        newest = select(Heard.topic).order_by(col(Heard.last_ms).desc(), col(Heard.topic)).limit(KEPT)
        session.execute(delete(Heard).where(col(Heard.topic).not_in(newest)))


def heard(session: Session, since_ms: int = 0) -> list[Heard]:
    """Return what was heard on topics of no probe, the topic heard first on top: a list that does not jump."""
    query = select(Heard).where(col(Heard.topic).not_in(select(Probe.topic)), Heard.last_ms >= since_ms)
    return list(session.exec(query.order_by(col(Heard.first_ms), col(Heard.topic))))


def heard_on(session: Session, topic: str) -> Heard | None:
    """Return what was heard on a topic."""
    return session.get(Heard, topic)


def forget(session: Session, topic: str) -> None:
    """Forget a topic that a probe speaks on now."""
    session.execute(delete(Heard).where(col(Heard.topic) == topic))
