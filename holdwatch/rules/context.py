"""What a rule is told beside the readings."""

from dataclasses import dataclass, field

from holdwatch.readings import Series
from holdwatch.rules.words import Words

__all__ = ["Context"]


@dataclass(frozen=True)
class Context:
    """The instant of judging, what was declared, and how to put it into words; instants in ms."""

    now_ms: int
    """The instant of judging."""
    grace_ms: int
    """Two of the probe's usual intervals: so long an answer may still be on its way."""
    ended_ms: int | None = None
    """When the batch was served, used, frozen or discarded, if it was by then."""
    left_heat_ms: int | None = None
    since_ms: int | None = None
    """The first that is known of the batch: its start, its placement."""
    away: tuple[tuple[int, int | None], ...] = ()
    """From ``removed`` to ``returned``: in preparation or under time control, where holding is not asked."""
    off_display: tuple[tuple[int, int | None], ...] = ()
    """When it was in another step than display: what the code bears of food on display does not count there."""
    pending: Series = field(default_factory=Series.empty)
    """Last readings that are not judged yet: they may turn out to be the food's."""
    words: Words = field(default_factory=Words)

    @property
    def waiting(self) -> bool:
        """Whether some last readings are not judged yet."""
        return len(self.pending) > 0

    @property
    def until_ms(self) -> int:
        """The last instant of the batch that the judgement is about."""
        return self.now_ms if self.ended_ms is None else min(self.now_ms, self.ended_ms)
