"""Fields that several forms share, what is wrong with one told beside it, and nothing typed ever lost.

A form keeps what was typed until it was recorded: its fields have keys of their own, and a new set of keys begins
only after a record was made. A server that was started again knows of no record made before, so the browser holds which
set it is showing, as it holds what is typed: in a field that nobody sees.
"""

import json
import re
from datetime import datetime, time, timedelta
from typing import NoReturn
from zoneinfo import ZoneInfo

import streamlit as st

from dashboards import data, signedin
from dashboards.parts import sheet
from holdwatch import clock
from holdwatch.errors import ConfigError, HoldwatchError
from holdwatch.language import N_, _
from holdwatch.quantities import Scale, Temperature, format_temperature
from holdwatch.storage.names import COLDEST_C, HOTTEST_C
from holdwatch.views.model import SiteView

_NOBODY = N_("Nobody is on shift at this screen: {link} with your PIN first.")
_KEPT_NAME = "kept_by"
_SAID = "said"
_RECORDED, _HELD = "forms-recorded", "forms-held"
_CLOCK = re.compile(r"(?:^|(?<=[ T]))(\d{1,2})(?:[:.hH]?(\d{2}))?(?:\s*([ap])\.?\s?m\.?)?$", re.IGNORECASE)
_HALF_DAY_H = 12
_YEARS = range(2000, 2100)  # of a record; whatever else was typed is a slip of the fingers


def hold() -> None:
    """Have the browser hold how often each form of this page was recorded; drawn before any form."""
    counts = st.session_state.get(_RECORDED)
    if counts:
        st.session_state[_HELD] = json.dumps(counts)
    held = st.text_input("·", key=_HELD)
    if counts is None:
        st.session_state[_RECORDED] = _counts(held)


def _counts(held: str) -> dict[str, int]:
    """Read what a browser held; whatever is no count is none."""
    try:
        said = json.loads(held or "{}")
    except ValueError:
        return {}
    return {key: count for key, count in said.items() if isinstance(count, int)} if isinstance(said, dict) else {}


def fresh(key: str) -> str:
    """Return the prefix of a form's keys; it changes once something was recorded, which empties the fields."""
    count = st.session_state.get(_RECORDED, {}).get(key, 0)
    return f"{key}-{count}" if count else key


def recorded(key: str, said: str) -> NoReturn:
    """Empty the form, and draw the page again with what was recorded on it."""
    counts = st.session_state.setdefault(_RECORDED, {})
    counts[key] = counts.get(key, 0) + 1
    say(said)
    st.rerun()


def say(said: str) -> None:
    """Keep a sentence for the next time the page is drawn."""
    st.session_state[_SAID] = said


def confirmation() -> None:
    """Say once what was just recorded; its place is kept, or what stands below would be built anew."""
    place = st.empty()
    said = st.session_state.pop(_SAID, "")
    if said:
        place.html(sheet.said(said))
        st.toast(sheet.plain(said))  # whoever pressed a button far down does not see the top of the page


def problem(text: str) -> None:
    """Say what is wrong with the field above."""
    st.html(f'<div class="hw hw-problem" role="alert">{sheet.esc(text)}</div>')


def who(key: str) -> str:
    """Ask who records under the shift's sign-in: one touch where several are on shift, none where it is one alone.

    Before anybody has been entered: the names of before, and any other; the last one is remembered.
    """
    signed = signedin.here()
    if signed is None:
        return _any_name(key)
    if not signed.records:
        return ""
    if not signed.kitchen:
        st.html(sheet.small_print(_("Recorded by {signed}.").format(signed=signed.name)))
        return signed.name
    if not signed.on_shift:
        link = f'<a href="/shift" target="_self">{_("begin a shift")}</a>'
        st.html(f'<div class="hw hw-line">{_(_NOBODY).format(link=link)}</div>')
        return ""
    labels = {each.name: sheet.plain(f"{each.initials} · {each.name}") for each in signed.on_shift}
    only = next(iter(labels)) if len(labels) == 1 else None
    return str(st.pills(_("Who"), list(labels), format_func=labels.__getitem__, default=only, key=f"{key}-who") or "")


def signer(key: str) -> tuple[str, str]:
    """Ask who signs, and for their PIN; nothing is asked for a PIN while nobody has been entered."""
    signed, people = signedin.here(), data.people()
    if not people:
        return _any_name(key), ""
    here = [each.name for each in signed.on_shift] if signed is not None else []
    names = [*(name for name in people if name in here), *(name for name in people if name not in here)]
    name = st.selectbox(
        _("Who"),
        names,
        index=0 if len(here) == 1 and here[0] in people else None,
        placeholder=_("Choose your name"),
        key=f"{key}-who",
    )
    pin = st.text_input(
        "PIN",
        type="password",
        key=f"{key}-pin",
        max_chars=12,
        autocomplete="off",
        help=_("Your own; it signs the entry."),
    )
    return str(name or ""), pin


def _any_name(key: str) -> str:
    """Ask for a name in a kitchen that has entered nobody."""
    kept, names = str(st.session_state.get(_KEPT_NAME, "")), data.names()
    if kept and kept not in names:
        names = [kept, *names]
    name = st.selectbox(
        _("Who"),
        names,
        index=names.index(kept) if kept in names else None,
        accept_new_options=True,
        placeholder=_("Choose or write a name"),
        key=f"{key}-who",
    )
    if name:
        st.session_state[_KEPT_NAME] = str(name).strip()
    return str(name or "").strip()[:60]


def when(key: str, site: SiteView) -> int | None:
    """Ask for the instant; empty means now. Returns ms, or ``None`` where it cannot be told."""
    text = st.text_input(
        _("When (empty: now)"),
        key=f"{key}-when",
        placeholder="14:05",
        help=_("Local time, {zone}").format(zone=site.zone),
        max_chars=25,
    )
    if not text.strip():
        return data.now_ms()
    try:
        return read_time(text.strip(), site.zone, data.now_ms())
    except HoldwatchError as exc:
        problem(str(exc))
        return None


def read_time(text: str, zone: str, now_ms: int) -> int:
    """Read "14:05" or "2026-11-24 14:05" as the site's local time; a bare time is the latest one not in the future.

    A time may be written as people write it: "9:05", "14.05", "14h05", "2:05 pm".

    Raises
    ------
    ConfigError
        If the text is no time, or the clock change makes it ambiguous or leaves it out.
    """
    tz = ZoneInfo(zone)
    today = clock.to_datetime(now_ms).astimezone(tz)
    written = _CLOCK.sub(_by_24_hours, text)
    try:
        at = time.fromisoformat(written if ":" in written else "")
        local = datetime.combine(today.date(), at)
        if local > today.replace(tzinfo=None) + timedelta(minutes=1):
            local -= timedelta(days=1)
    except ValueError:
        try:
            local = datetime.fromisoformat(written if ":" in written else "")
        except ValueError:
            raise _no_time(text) from None
    if local.year not in _YEARS:
        raise _no_time(text)
    if local.tzinfo is not None:
        return clock.to_ms(local)
    first, second = local.replace(tzinfo=tz, fold=0), local.replace(tzinfo=tz, fold=1)
    if first.utcoffset() != second.utcoffset():
        raise ConfigError(
            _("{text} is twice or never on the clock that day; write it with its offset, as 01:30-06:00").format(
                text=text
            )
        )
    return clock.to_ms(first)


def _by_24_hours(written: re.Match[str]) -> str:
    """Return a time of day as "09:05"; what is none stays as it was written, and is refused."""
    hour, minute, half = int(written[1]), written[2], written[3]
    if half is None:
        return f"{hour:02}:{minute}" if minute else written[0]
    if not 1 <= hour <= _HALF_DAY_H:
        return written[0]
    return f"{hour % _HALF_DAY_H + (_HALF_DAY_H if half in 'pP' else 0):02}:{minute or '00'}"


def _no_time(text: str) -> ConfigError:
    return ConfigError(_("“{text}” is not a time; write 14:05, or 2026-11-24 14:05").format(text=text))


def temperature(key: str, site: SiteView) -> float | None:
    """Ask for a temperature in the site's unit, or with its own; returns °C."""
    text = st.text_input(
        _("Temperature (°{scale})").format(scale=site.scale),
        key=f"{key}-temperature",
        placeholder="20" if site.scale is Scale.C else "68",
        max_chars=12,
    )
    if not text.strip():
        return None
    try:
        return read_celsius(text.strip(), site)
    except ConfigError as exc:
        problem(str(exc))
        return None


def read_celsius(text: str, site: SiteView) -> float:
    """Read "68" in the site's unit, or "20C" with its own; returns °C.

    Raises
    ------
    ConfigError
        If the text is no temperature, or none that a thermometer in a kitchen can show.
    """
    shown = text.replace(",", ".").replace("−", "-")
    with_unit = shown if shown[-1:].upper() in {"C", "F"} else f"{shown}{site.scale}"
    try:
        celsius = float(Temperature.parse(with_unit).celsius)
    except (HoldwatchError, ValueError):
        raise ConfigError(_("“{text}” is not a temperature; write 68, or 20C").format(text=text)) from None
    if not COLDEST_C <= celsius <= HOTTEST_C:
        coldest, hottest = (format_temperature(end, site.scale, 0) for end in (COLDEST_C, HOTTEST_C))
        raise ConfigError(
            _("“{text}” is no temperature of food: write one from {coldest} to {hottest}").format(
                text=text, coldest=coldest, hottest=hottest
            )
        )
    return celsius
