"""The pretended phone of the demonstration: the alerts as its receiver took them."""

import json
from datetime import datetime

import streamlit as st

from dashboards import data, speaking
from dashboards.parts import sheet
from holdwatch.language import _

_REPEAT_S = 3.0
_SHOWN = 50


@speaking.repeated(_REPEAT_S)
def messages() -> None:
    """Draw the newest messages first."""
    path = data.inbox_path()
    st.html(sheet.heading(_("Pretended phone")))
    st.html(
        sheet.small_print(
            _("A receiver on this machine stands in for a phone. What is here went out through the real channel.")
        )
    )
    lines = [] if path is None else path.read_text(encoding="utf-8").splitlines()[-_SHOWN:]
    if not lines:
        st.html(sheet.line(_("No message yet.")))
    for line in reversed(lines):
        message = json.loads(line)
        at = message.get("received_at", "")
        body = sheet.esc(message.get("message", "")).replace("\n", "<br>")
        st.html(
            '<div class="hw" style="border:1px solid var(--rule);border-left:6px solid var(--ink);padding:.6rem .9rem;margin:.4rem 0;max-width:34rem">'
            f"<b>{sheet.esc(message.get('title', ''))}</b>"
            f'<div class="hw-line">{body}</div>'
            f'<div class="hw-line" style="color:var(--faint)">{sheet.esc(_when(at))}</div></div>'
        )


def _when(at: str) -> str:
    try:
        return datetime.fromisoformat(at).strftime("%Y-%m-%d %H:%M:%S %Z")
    except ValueError:
        return at


messages()
