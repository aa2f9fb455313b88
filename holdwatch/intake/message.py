"""A message as it came from the broker."""

from dataclasses import dataclass

__all__ = ["Message"]


@dataclass(frozen=True, slots=True)
class Message:
    """One message, with what its acknowledgement needs and whether it came live.

    ``live`` is false for what the broker had retained, or may have held back while we were away.
    """

    topic: str
    payload: bytes
    arrival_ms: int
    live: bool
    qos: int
    mid: int
    generation: int  # of the connection it came on; an acknowledgement of an older one is thrown away
    marker: bool = False  # our own: it is acknowledged and says nothing
