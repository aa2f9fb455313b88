"""One line of the check-up."""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Line", "Lines", "State", "broken", "look", "ok", "split"]


class State(StrEnum):
    """How something is."""

    OK = "ok"
    LOOK = "look"  # it works; somebody should look at it
    BROKEN = "broken"


@dataclass(frozen=True)
class Line:
    """What was looked at, how it is, and the one thing to do."""

    subject: str
    state: State
    says: str
    cure: str = ""

    def facts(self) -> dict[str, str | None]:
        """Return the line for a program."""
        return {"subject": self.subject, "state": self.state.value, "says": self.says, "cure": self.cure or None}


Lines = Iterator[Line]


def ok(subject: str, says: str) -> Line:
    """Return a line about something that is as it should be."""
    return Line(subject, State.OK, says)


def look(subject: str, says: str, cure: str) -> Line:
    """Return a line about something to look at."""
    return Line(subject, State.LOOK, says, cure)


def broken(subject: str, says: str, cure: str) -> Line:
    """Return a line about something that does not work."""
    return Line(subject, State.BROKEN, says, cure)


def split(message: str, cure: str) -> tuple[str, str]:
    """Split the message of an error into what is wrong and what to do; `cure` where it says nothing."""
    says, _, todo = message.partition(": ")
    return (says, todo) if todo else (message, cure)
