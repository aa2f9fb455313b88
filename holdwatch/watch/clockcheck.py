"""Whether the computer's clock can be trusted: while it cannot, nothing is judged and clauses stay open.

Two signs tell that it cannot. It runs behind the newest arrival: the readings are ahead of it, and time limits would
seem to be kept. Or it jumped, against a clock that only ever runs forward. Both pass by themselves: a clock that was
ahead once and was put right would be behind that old arrival for as long, so arrivals of the present that have agreed
with it for ten minutes count for more than the newest one.
"""

from dataclasses import dataclass
from enum import StrEnum

from holdwatch.clock import MS_PER_MINUTE, MS_PER_SECOND
from holdwatch.language import _

__all__ = ["ClockCheck", "ClockTrouble", "Trouble"]

# Ours, from no code.
BEHIND_MS = 2 * MS_PER_MINUTE
JUMP_MS = 5 * MS_PER_SECOND
STEADY_MS = MS_PER_MINUTE
AGREEMENT_MS = 10 * MS_PER_MINUTE


class Trouble(StrEnum):
    """What is wrong with the clock."""

    BEHIND = "behind"
    JUMPED = "jumped"


@dataclass(frozen=True)
class ClockTrouble:
    """Why nothing is judged at present."""

    kind: Trouble
    by_ms: int
    """How far it is behind the newest arrival, or how far it jumped (forward is positive)."""

    @property
    def sentence(self) -> str:
        """Say it to a person, with what to do."""
        seconds = abs(self.by_ms) // MS_PER_SECOND
        length = f"{seconds // 60} min" if seconds >= 2 * 60 else f"{seconds} s"
        if self.kind is Trouble.BEHIND:
            what = _("the computer's clock is {length} behind the newest arrival")
        elif self.by_ms > 0:
            what = _("the computer's clock was set forward by {length}")
        else:
            what = _("the computer's clock was set back by {length}")
        do = _("nothing is judged until it is right. Set the clock, or let it follow a time server")
        return f"{what.format(length=length)}; {do}"


class ClockCheck:
    """Looks at the clock round by round."""

    def __init__(self, newest_ms: int | None = None) -> None:
        self.newest_ms = newest_ms
        self._last: tuple[int, int] | None = None
        self._jump: tuple[int, int] | None = None  # how far, and when by the other clock
        self._agreeing_since: int | None = None

    def look(self, now_ms: int, monotonic_ms: int, arrived_ms: list[int]) -> ClockTrouble | None:
        """Return what is wrong, or ``None``.

        Parameters
        ----------
        now_ms : what the clock says.
        monotonic_ms : what a clock says that nobody can set.
        arrived_ms : when the arrivals seen since the last look were queued, in order.
        """
        self._note_jump(now_ms, monotonic_ms)
        self._note_arrivals(now_ms, monotonic_ms, arrived_ms)
        if self.newest_ms is not None and self.newest_ms - now_ms > BEHIND_MS:
            return ClockTrouble(Trouble.BEHIND, self.newest_ms - now_ms)
        if self._jump is not None:
            return ClockTrouble(Trouble.JUMPED, self._jump[0])
        return None

    def _note_jump(self, now_ms: int, monotonic_ms: int) -> None:
        if self._last is not None:
            by_ms = (now_ms - self._last[0]) - (monotonic_ms - self._last[1])
            if abs(by_ms) > JUMP_MS:
                self._jump = (by_ms, monotonic_ms)
        self._last = (now_ms, monotonic_ms)
        if self._jump is not None and monotonic_ms - self._jump[1] >= STEADY_MS:
            self._jump = None

    def _note_arrivals(self, now_ms: int, monotonic_ms: int, arrived_ms: list[int]) -> None:
        for at_ms in arrived_ms:
            agrees = abs(at_ms - now_ms) <= BEHIND_MS
            if not agrees:
                self._agreeing_since = None
            elif self._agreeing_since is None:
                self._agreeing_since = monotonic_ms
            elif monotonic_ms - self._agreeing_since >= AGREEMENT_MS:
                self.newest_ms = at_ms
            self.newest_ms = at_ms if self.newest_ms is None else max(self.newest_ms, at_ms)
