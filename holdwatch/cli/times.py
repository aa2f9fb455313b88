"""Instants and temperatures as people write them on the command line."""

from datetime import UTC, datetime, time
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from holdwatch import clock
from holdwatch.errors import ConfigError

if TYPE_CHECKING:
    from sqlmodel import Session

__all__ = ["celsius_of", "instant", "local", "planned", "site_instant"]

_AHEAD_MS = 2 * clock.MS_PER_MINUTE  # what a clock may differ; nobody has done anything later than that
_HOW = "write 2026-11-24T14:30-07:00, or 2026-11-24T14:30 or 14:30 by the site's clock, or now"


def site_instant(session: "Session", text: str | None, now_ms: int) -> int:
    """Return the instant that a person wrote, by the clock of the site where no offset is given."""
    from holdwatch.storage.register import site_at

    if text is None:
        return now_ms
    return instant(text, site_at(session, None).timezone, now_ms)


def instant(text: str, timezone: str, now_ms: int) -> int:
    """Return the instant that a person wrote.

    Raises
    ------
    ConfigError
        If it cannot be read, lies in the future, or was twice or never on the clocks of the site.
    """
    at_ms = planned(text, timezone, now_ms)
    if at_ms > now_ms + _AHEAD_MS:
        raise ConfigError(f"{text!r} lies in the future: record what has happened")
    return at_ms


def planned(text: str, timezone: str, now_ms: int) -> int:
    """Return the instant that a person wrote, which may lie ahead.

    Raises
    ------
    ConfigError
        If it cannot be read, or was twice or never on the clocks of the site.
    """
    if text.strip().lower() == "now":
        return now_ms
    zone = ZoneInfo(timezone)
    at = _read(text.strip(), clock.to_datetime(now_ms).astimezone(zone))
    return clock.to_ms(at if at.tzinfo is not None else _local(at, text, zone))


def local(at_ms: int, timezone: str) -> str:
    """Write an instant for a person, by the clock of the site."""
    return clock.to_datetime(at_ms).astimezone(ZoneInfo(timezone)).strftime("%Y-%m-%d %H:%M %Z")


def celsius_of(text: str) -> float:
    """Return the temperature that a person wrote, in °C.

    Raises
    ------
    ConfigError
        If it has no unit, is no number, or is no temperature of food.
    """
    from holdwatch.quantities import Temperature

    try:
        celsius = Temperature.parse(text).celsius
    except ValueError as exc:
        raise ConfigError(f"{text!r} is no temperature: write the figure and its unit, such as 68F or 20.5C") from exc
    if not -60 <= celsius <= 300:  # noqa: PLR2004  what a kitchen thermometer can show
        raise ConfigError(f"{text!r} is no temperature of food: look at the figure and its unit")
    return celsius


def _read(text: str, today: datetime) -> datetime:
    """Read an instant, or a time of day of today; a day alone is no instant."""
    try:
        if ":" in text and "-" not in text and "T" not in text:
            return datetime.combine(today.date(), time.fromisoformat(text))
        at = datetime.fromisoformat(text) if ":" in text or "T" in text else None
    except ValueError:
        at = None
    if at is None:
        raise ConfigError(f"{text!r} is no instant: {_HOW}")
    return at


def _local(at: datetime, text: str, zone: ZoneInfo) -> datetime:
    """Put a time without an offset into the zone of the site, where that is one instant."""
    early, late = (at.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if early.utcoffset() == late.utcoffset():
        return early
    never = early.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != at
    word = "was never on the clocks of" if never else "was twice on the clocks of"
    offsets = " or ".join(f"{when:%z}"[:3] + ":" + f"{when:%z}"[3:] for when in (early, late))
    raise ConfigError(f"{text!r} {word} {zone.key}, which were changed then: add the offset ({offsets})")
