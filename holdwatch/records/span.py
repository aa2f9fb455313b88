"""The span that a paper or an export covers: local days or instants, as people write them."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from holdwatch.clock import to_datetime, to_ms
from holdwatch.errors import ConfigError
from holdwatch.language import N_, _

__all__ = ["LocalDay", "Span", "day_of", "local_days", "parse_span", "start_of_day"]

_HOW = N_("write a day such as 2026-11-24, today or yesterday, or an instant such as 2026-11-24T14:30-07:00")
_DAYS_AGO = {"today": 0, "yesterday": 1}


@dataclass(frozen=True)
class Span:
    """From an instant to another, both included, in ms since 1970-01-01 UTC."""

    first_ms: int
    last_ms: int


@dataclass(frozen=True)
class LocalDay:
    """A day of the site's calendar; its length is 23, 24 or 25 h."""

    day: date
    first_ms: int
    last_ms: int

    @property
    def hours(self) -> int:
        """The length of the day in hours, as its clocks were set."""
        return round((self.last_ms + 1 - self.first_ms) / 3_600_000)


def parse_span(first: str | None, last: str | None, timezone: str, now_ms: int) -> Span:
    """Read the ends of a span; a day means all of it, no first end is the beginning, no last end is now.

    Raises
    ------
    ConfigError
        If an end cannot be read, or the span ends before it begins.
    """
    zone = ZoneInfo(timezone)
    today = day_of(now_ms, zone)
    first_ms = 0 if first is None else _end(_named(first, today), zone, last=False)
    last_ms = now_ms if last is None else _end(_named(last, today), zone, last=True)
    if last_ms < first_ms:
        raise ConfigError(
            _("the span ends ({last}) before it begins ({first}): exchange the two").format(
                last=last or _("now"), first=first
            )
        )
    return Span(first_ms, last_ms)


def start_of_day(day: date, zone: ZoneInfo) -> int:
    """Return the first instant of a local day; where midnight is skipped, that is the instant the clocks jump."""
    return to_ms(datetime(day.year, day.month, day.day, tzinfo=zone).astimezone(UTC))


def day_of(at_ms: int, zone: ZoneInfo) -> date:
    """Return the local day of an instant."""
    return to_datetime(at_ms).astimezone(zone).date()


def local_days(span: Span, zone: ZoneInfo) -> Iterator[LocalDay]:
    """Return the local days that a span touches, each whole."""
    day, last = day_of(span.first_ms, zone), day_of(span.last_ms, zone)
    while day <= last:
        following = day + timedelta(days=1)
        yield LocalDay(day, start_of_day(day, zone), start_of_day(following, zone) - 1)
        day = following


def _named(text: str, today: date) -> str:
    """Return the date of a day that is named, or what was written."""
    ago = _DAYS_AGO.get(text.strip().lower())
    return text if ago is None else (today - timedelta(days=ago)).isoformat()


def _end(text: str, zone: ZoneInfo, *, last: bool) -> int:
    """Read one end of a span."""
    try:
        day = date.fromisoformat(text) if len(text) == len("2026-11-24") else None
        at = datetime.fromisoformat(text)
    except ValueError as exc:
        raise ConfigError(_("{text!r} is no day or instant: {how}").format(text=text, how=_(_HOW))) from exc
    if day is not None:
        return start_of_day(day + timedelta(days=1), zone) - 1 if last else start_of_day(day, zone)
    return to_ms(at if at.tzinfo is not None else _local(at, text, zone))


def _local(at: datetime, text: str, zone: ZoneInfo) -> datetime:
    """Put a time without an offset into the site's zone, where that is one instant."""
    early, late = (at.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if early.utcoffset() == late.utcoffset():
        return early
    skipped = early.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != at
    word = (
        _("{text!r} does not exist in {zone}, where the clocks change then: add its offset, such as {text}-07:00")
        if skipped
        else _("{text!r} happens twice in {zone}, where the clocks change then: add its offset, such as {text}-07:00")
    )
    raise ConfigError(word.format(text=text, zone=zone.key))
