"""Alerts that reached nobody: a banner in words, and a sound on the tablet that was told to make one.

A browser plays nothing before its page was touched once, and no page can find out whether it did: so the words stand
first, and the line beside the switch says what the sound depends on.
"""

import io
import wave
from functools import lru_cache

import numpy as np
import streamlit as st

from dashboards.parts import kept, sheet
from holdwatch.language import _
from holdwatch.views import words
from holdwatch.views.model import SiteView, UnheardView

__all__ = ["COOKIE", "banner", "sound", "switch"]

COOKIE = "holdwatch-sound"
_SHOWN = 5
_RATE_HZ = 8_000
_EVERY_S, _TONE_S = 10.0, 0.35
_KEY = "sound"


def banner(unheard: tuple[UnheardView, ...], site: SiteView) -> None:
    """Say of each message what it says, to whom, since when, and why it did not leave; the newest first."""
    for each in list(reversed(unheard))[:_SHOWN]:
        alert = each.alert
        why = " " + _("Last error: {error}.").format(error=alert.last_error) if alert.last_error else ""
        since = words.clock_words(each.since_ms, site.zone)
        link = f'<a href="/findings?finding={alert.finding_id}" target="_self">{_("open it and say that you have seen it")}</a>'
        said = _("<b>{contact} has not been reached</b> since {time}: {title}.{why} Call them, or {link}.").format(
            contact=sheet.esc(alert.contact),
            time=sheet.esc(since),
            title=sheet.esc(alert.title),
            why=sheet.esc(why),
            link=link,
        )
        st.html(f'<div class="hw hw-trouble" role="alert">{said}</div>')
    if len(unheard) > _SHOWN:
        st.html(
            sheet.trouble(
                _("{count} older messages have not been delivered either.").format(count=len(unheard) - _SHOWN)
            )
        )


def sound(unheard: tuple[UnheardView, ...]) -> None:
    """Sound every ten seconds while a message has reached nobody for some minutes, where the switch is on."""
    if st.session_state.get(_KEY) and any(each.loud for each in unheard):
        st.audio(_tones(), format="audio/wav", loop=True, autoplay=True)


def switch() -> None:
    """Draw the switch; this browser keeps what was chosen."""
    on = kept.switch(_("Sound on this screen when an alert reaches nobody"), key=_KEY, cookie=COOKIE)
    if on:
        st.html(
            sheet.small_print(
                _(
                    "A browser stays silent until its page was touched once: touch this screen after every reload, and leave its volume up."
                )
            )
        )


@lru_cache(maxsize=1)
def _tones() -> bytes:
    """Return two tones, and a silence until the next time."""
    tone_s = np.arange(round(_TONE_S * _RATE_HZ)) / _RATE_HZ
    fade = np.minimum(1.0, np.minimum(tone_s, _TONE_S - tone_s) / 0.02)  # no click at either end
    tones = [0.6 * fade * np.sin(2 * np.pi * pitch_hz * tone_s) for pitch_hz in (880.0, 660.0)]
    played = np.concatenate(tones)
    whole = np.concatenate([played, np.zeros(round(_EVERY_S * _RATE_HZ) - len(played))])
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(_RATE_HZ)
        out.writeframes((whole * 32_767).astype("<i2").tobytes())
    return file.getvalue()
