"""Weekdays and hours as people write them: those of a route, and the quiet hours of the site."""

from datetime import time
from typing import TYPE_CHECKING

from holdwatch.errors import ConfigError
from holdwatch.language import N_, _

if TYPE_CHECKING:
    from holdwatch.storage.tables import ContactRoute

__all__ = ["DAYS", "check_quiet", "quiet_minutes", "read_days", "read_hours", "words_of"]

DAYS = (N_("mon"), N_("tue"), N_("wed"), N_("thu"), N_("fri"), N_("sat"), N_("sun"))
_MINUTES_A_DAY = 1440


def read_days(text: str) -> list[int]:
    """Read weekdays such as ``mon,tue``; Monday is 0, nothing is all.

    Raises
    ------
    ConfigError
        If a word is no weekday.
    """
    found = []
    for word in (part.strip().lower() for part in text.split(",") if part.strip()):
        if word[:3] not in DAYS:
            raise ConfigError(_("{word!r} is no weekday: use {days}").format(word=word, days=", ".join(DAYS)))
        found.append(DAYS.index(word[:3]))
    return found


def read_hours(text: str) -> tuple[int, int]:
    """Read hours such as ``22:00-05:00`` as minutes of the day; nothing is all of it.

    Raises
    ------
    ConfigError
        If it is no span of hours.
    """
    if not text.strip():
        return 0, _MINUTES_A_DAY
    first, _dash, last = text.partition("-")
    return _minute(first, text), _minute(last, text) or _MINUTES_A_DAY


def check_quiet(text: str) -> str:
    """Return quiet hours as they are kept, ``22:00-05:00``, or nothing for none; `quiet_minutes` reads them.

    Raises
    ------
    ConfigError
        If it is no span of hours, or one that never ends.
    """
    if not text.strip():
        return ""
    first, last = quiet_minutes(text)
    if first == last:
        raise ConfigError(_("{text!r} never ends: leave some of the day to ring in, as 22:00-05:00").format(text=text))
    return f"{_clock(first)}-{_clock(last)}"


def quiet_minutes(text: str) -> tuple[int, int]:
    """Read quiet hours as minutes of the day, from 0 to 1439; not before the first means the next morning.

    Raises
    ------
    ConfigError
        If it is no span of hours.
    """
    first, last = read_hours(text)
    return first % _MINUTES_A_DAY, last % _MINUTES_A_DAY


def words_of(route: "ContactRoute", units: dict[int, str]) -> str:
    """Write a route for a person."""
    parts = [", ".join(map(_, route.kinds)) or _("everything")]
    if route.unit_ids:
        named = (units.get(each, _("unit {number}").format(number=each)) for each in route.unit_ids)
        parts.append(_("of {units}").format(units=", ".join(named)))
    if route.days:
        parts.append(_("on {days}").format(days=", ".join(_(DAYS[day]) for day in route.days)))
    if (route.from_min, route.to_min) != (0, _MINUTES_A_DAY):
        parts.append(f"{_clock(route.from_min)}–{_clock(route.to_min)}")
    after_min = route.after_ms // 60_000
    parts.append(
        _("if nobody has seen it for {length}").format(length=f"{after_min} min") if after_min else _("at once")
    )
    return ", ".join(parts)


def _minute(text: str, whole: str) -> int:
    plain = text.strip()
    if plain in {"24", "24:00"}:
        return _MINUTES_A_DAY
    try:
        hour, _colon, minute = plain.partition(":")
        at = time(int(hour), int(minute or 0))
    except ValueError:
        raise ConfigError(_("{whole!r} are no hours: write 22:00-05:00").format(whole=whole)) from None
    return at.hour * 60 + at.minute


def _clock(minute: int) -> str:
    return f"{minute // 60:02}:{minute % 60:02}"
