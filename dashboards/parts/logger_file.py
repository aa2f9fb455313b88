"""The form of a logger's file, wherever it is asked for: the file, how its dates are meant, and what may be left out."""

import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import streamlit as st

from dashboards.parts import forms
from holdwatch.language import N_, _
from holdwatch.recordfile import DateOrder

__all__ = ["draw"]

_ORDERS = {
    N_("year first, as 2026-04-03"): None,
    N_("03/04/2026 is the third of April"): DateOrder.DAY_FIRST,
    N_("03/04/2026 is the fourth of March"): DateOrder.MONTH_FIRST,
}


def draw(key: str, button: str, ask: Callable[[str], dict[str, Any]], keep: Callable[..., str | None]) -> None:
    """Draw the form; what is wrong with a file is told row by row, and then nothing of it is kept.

    Parameters
    ----------
    button : what stands on the button.
    ask : asks for what else there is to say of it, under a key, and returns that by name.
    keep : keeps the file with all that was said, and returns what came of it.
    """
    fresh = forms.fresh(key)
    with st.form(fresh):
        file = st.file_uploader(
            _("The logger's file: CSV with time and temperature_c or temperature_f"), type=["csv"], key=f"{fresh}-file"
        )
        logger = st.text_input(_("What the logger is called"), max_chars=60, key=f"{fresh}-code").strip()
        order = str(st.radio(_("Its dates"), list(_ORDERS), format_func=_, key=f"{fresh}-dates"))
        leave_out = st.checkbox(_("Leave out rows that are no readings; which and why is kept"), key=f"{fresh}-leave")
        asked = ask(fresh)
        slot = st.empty()
        by = forms.who(fresh)
        if not st.form_submit_button(button, type="primary"):
            return
        with slot:
            if file is None or not logger:
                missing = _("Choose the file, of {limit} MB at most, and say what the logger is called.")
                forms.problem(missing.format(limit=st.get_option("server.maxUploadSize")))
                return
            with tempfile.TemporaryDirectory() as folder:  # under its own name, which is kept with it
                kept = Path(folder) / Path(file.name).name
                kept.write_bytes(file.getvalue())
                said = keep(kept, logger=logger, dates=_ORDERS[order], leave_out=leave_out, by=by, **asked)
    if said:
        forms.recorded(key, said)
