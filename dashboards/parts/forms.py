"""Fields that several forms share: who, and when."""

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import streamlit as st

from dashboards import data
from holdwatch import clock
from holdwatch.errors import ConfigError, HoldwatchError
from holdwatch.quantities import Temperature
from holdwatch.views.model import SiteView

_KEPT_NAME = "kept_by"


def who(key: str) -> str:
    """Ask for the name of the person who records, and remember it for the next form."""
    name = st.text_input("Who", value=st.session_state.get(_KEPT_NAME, ""), key=f"{key}-who", max_chars=60)
    if name:
        st.session_state[_KEPT_NAME] = name
    return str(name).strip()


def when(key: str, site: SiteView) -> int | None:
    """Ask for the instant; empty means now. Returns ms, or ``None`` where it cannot be told."""
    text = st.text_input(
        "When (empty: now)", key=f"{key}-when", placeholder="14:05", help=f"Local time, {site.zone}", max_chars=25
    )
    if not text.strip():
        return data.now_ms()
    try:
        return read_time(text.strip(), site.zone, data.now_ms())
    except HoldwatchError as exc:
        st.error(str(exc))
        return None


def read_time(text: str, zone: str, now_ms: int) -> int:
    """Read "14:05" or "2026-11-24 14:05" as the site's local time; a bare time is the latest one not in the future.

    Raises
    ------
    ConfigError
        If the text is no time, or the clock change makes it ambiguous or leaves it out.
    """
    tz = ZoneInfo(zone)
    today = clock.to_datetime(now_ms).astimezone(tz)
    try:
        at = time.fromisoformat(text)
        local = datetime.combine(today.date(), at)
        if local > today.replace(tzinfo=None) + timedelta(minutes=1):
            local -= timedelta(days=1)
    except ValueError:
        try:
            local = datetime.fromisoformat(text)
        except ValueError:
            raise ConfigError(f"“{text}” is not a time; write 14:05, or 2026-11-24 14:05") from None
    if local.tzinfo is not None:
        return clock.to_ms(local)
    first, second = local.replace(tzinfo=tz, fold=0), local.replace(tzinfo=tz, fold=1)
    if first.utcoffset() != second.utcoffset():
        raise ConfigError(f"{text} is twice or never on the clock that day; write it with its offset, as 01:30-06:00")
    return clock.to_ms(first)


def temperature(key: str, site: SiteView) -> float | None:
    """Ask for a temperature in the site's unit, or with its own; returns °C."""
    text = st.text_input(f"Temperature (°{site.scale})", key=f"{key}-temperature", placeholder="68", max_chars=12)
    if not text.strip():
        return None
    shown = text.strip().replace(",", ".").replace("−", "-")
    with_unit = shown if shown[-1:].upper() in {"C", "F"} else f"{shown}{site.scale}"
    try:
        return float(Temperature.parse(with_unit).celsius)
    except HoldwatchError as exc:
        st.error(str(exc))
        return None
