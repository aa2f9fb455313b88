"""The registered probes by the topic they speak on, as the listener last read them."""

from dataclasses import dataclass
from typing import Self

from sqlmodel import Session

from holdwatch.intake.acks import ACK_TREE
from holdwatch.storage.register import probes
from holdwatch.storage.tables import Probe

__all__ = ["LISTENED_TREE", "MARKER_TREE", "Roster", "Speaker"]

LISTENED_TREE = "holdwatch/"
MARKER_TREE = "holdwatch/marker/"


@dataclass(frozen=True, slots=True)
class Speaker:
    """A registered probe and how it speaks."""

    probe_id: int
    code: str
    topic: str
    payload: str
    pointer: str = ""
    time_pointer: str = ""
    unit_pointer: str = ""
    senml_name: str = ""
    unit: str = "C"

    @classmethod
    def of(cls, probe: Probe) -> Self:
        """Take what intake needs from a row of the register."""
        if probe.id is None:
            raise ValueError(f"probe {probe.code} has no row yet")
        return cls(
            probe.id,
            probe.code,
            probe.topic,
            probe.payload,
            probe.pointer,
            probe.time_pointer,
            probe.unit_pointer,
            probe.senml_name,
            probe.unit,
        )


class Roster:
    """Probes by topic; replaced as a whole, so that any thread may look."""

    def __init__(self) -> None:
        self._by_topic: dict[str, Speaker] = {}

    def __len__(self) -> int:
        return len(self._by_topic)

    def read(self, session: Session) -> None:
        """Read the register again."""
        self._by_topic = {probe.topic: Speaker.of(probe) for probe in probes(session)}

    def speaker(self, topic: str) -> Speaker | None:
        """Return the probe that speaks on a topic."""
        return self._by_topic.get(topic)

    def topics_outside(self) -> frozenset[str]:
        """Return the topics that need a subscription of their own."""
        return frozenset(t for t in self._by_topic if not t.startswith(LISTENED_TREE) and not _is_unfit(t))

    def unfit(self) -> tuple[str, ...]:
        """Return the codes of probes whose topic can never bring a reading."""
        return tuple(sorted(s.code for t, s in self._by_topic.items() if _is_unfit(t)))


def _is_unfit(topic: str) -> bool:
    """Return whether a topic is no topic, or one on which we speak ourselves."""
    ours = topic.startswith((ACK_TREE, MARKER_TREE, "$"))
    return ours or not topic or any(character in topic for character in "+#\0")
