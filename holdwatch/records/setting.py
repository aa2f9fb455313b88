"""What every page of a paper shares: its span, its clock, its unit, and how a verdict is shown."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from holdwatch.charts.marks import Mark, mark_of
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import _, speaking
from holdwatch.quantities import Scale, format_temperature
from holdwatch.records.span import Span
from holdwatch.records.times import Times
from holdwatch.rules.verdicts import Verdict
from holdwatch.storage.engine import Store
from holdwatch.storage.register import site_at

__all__ = ["Setting", "shown", "shown_verdict", "speaking_of_site"]

_SHAPES = {
    Mark.KEPT: "open",
    Mark.DEVIATION: "filled",
    Mark.NOT_SHOWN: "hatch",
    Mark.RUNNING: "circle",
    Mark.NO_LIMIT: "dash",
    Mark.SOON: "half",
}


@dataclass(frozen=True)
class Setting:
    """One paper: what it covers, as of when, and how it writes instants and temperatures."""

    span: Span
    """What was asked for; the record of it ends at `now_ms` where that is earlier."""
    now_ms: int
    timezone: str
    scale: Scale
    times: Times

    @property
    def until_ms(self) -> int:
        """The end of the span, or the instant of printing where that is earlier."""
        return min(self.span.last_ms, self.now_ms)

    def temperature(self, celsius: float | None, none: str = "–") -> str:
        """Write a temperature in the paper's unit."""
        return none if celsius is None else format_temperature(celsius, self.scale)

    def written_down(self, at_ms: int, recorded_ms: int) -> str:
        """Say when something was written down, where that was later than at once."""
        late = recorded_ms - at_ms > MS_PER_MINUTE  # a minute is at once, for a cook
        return self.times.at(recorded_ms) if late else _("at once")


@contextmanager
def speaking_of_site(store: Store, now_ms: int) -> Iterator[None]:
    """Speak the language in which the site has its papers, in its own degrees, whoever prints them.

    Raises
    ------
    ConfigError
        If the site is not set.
    """
    with store.read() as session:
        language = site_at(session, now_ms).language
    with speaking(language):
        yield


def shown(word: Mark) -> dict[str, Any]:
    """Return a screen word with its shape, for the typesetter."""
    return {"shape": _SHAPES[word], "word": word.said}


def shown_verdict(verdict: Verdict) -> dict[str, Any]:
    """Return the screen word of a verdict with its shape."""
    return shown(mark_of(verdict))
