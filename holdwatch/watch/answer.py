"""What judging one subject leads to, before any of it is written."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from holdwatch.language import _
from holdwatch.rules.verdicts import ClauseVerdict, Judgement
from holdwatch.science.forecast import Forecast
from holdwatch.storage.tables import Finding
from holdwatch.watch.findings import Gone, Wanted

__all__ = ["Answer", "ClauseAnswer", "ForecastAnswer", "earliest"]


@dataclass(frozen=True)
class ClauseAnswer:
    """The verdict of one clause, for a vessel or for a local day of a unit."""

    judgement: Judgement
    clause: ClauseVerdict
    day: str = ""
    sight_ms: int | None = None
    """How far back the sieve of the next local day has to look, beyond the evening before. [ms]"""


@dataclass(frozen=True)
class ForecastAnswer:
    """The forecast of one clause's level."""

    clause: str
    forecast: Forecast


@dataclass(frozen=True)
class Answer:
    """What a subject's record shows now."""

    subject: str
    clauses: Sequence[ClauseAnswer] = ()
    forecasts: Sequence[ForecastAnswer] = ()
    no_forecast: bool = False
    """Whether nothing is looked ahead to any more."""
    wanted: Sequence[Wanted] = ()
    gone: Callable[[Finding], Gone] = lambda __: Gone(_("a later reading shows that it is not so"))
    """Why a finding that nothing calls for any more is closed."""
    speaks_of: Callable[[Finding], bool] = lambda __: True
    """Which of the subject's findings it is about; it says nothing of others."""
    open_only: bool = False
    """Whether what is over is history, not to be looked at again."""
    since_ms: int | None = None
    """Findings that were over before it are not looked at. [ms]"""
    days: Sequence[str] = ()
    """Whose clauses were judged: local days of a unit, one nameless day of a vessel."""
    next_ms: int | None = None
    """When time alone can change it. [ms]"""
    facts: Mapping[str, Any] = field(default_factory=dict)
    """What to keep for the next time."""
    batch_id: int | None = None
    unit_id: int | None = None
    probe_id: int | None = None
    vessel: int | None = None


def earliest(*instants: int | None) -> int | None:
    """Return the earliest of some instants, of which any may be missing."""
    return min((at for at in instants if at is not None), default=None)
