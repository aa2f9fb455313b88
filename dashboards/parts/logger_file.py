"""A logger's file, wherever it is asked for: the file, how its dates are meant, and what may be left out."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import streamlit as st

from holdwatch.language import N_, _
from holdwatch.recordfile import DateOrder

__all__ = ["Asked", "aside", "fields"]

_ORDERS = {
    N_("year first, as 2026-04-03"): None,
    N_("03/04/2026 is the third of April"): DateOrder.DAY_FIRST,
    N_("03/04/2026 is the fourth of March"): DateOrder.MONTH_FIRST,
}


@dataclass(frozen=True)
class Asked:
    """What was answered."""

    file: Any
    """As Streamlit gives it; ``None`` where none was chosen."""
    logger: str
    dates: DateOrder | None
    leave_out: bool


def fields(key: str) -> Asked:
    """Ask for a logger's file within a form."""
    file = st.file_uploader(
        _("The logger's file: CSV with time and temperature_c or temperature_f"), type=["csv"], key=f"{key}-file"
    )
    logger = st.text_input(_("What the logger is called"), max_chars=60, key=f"{key}-code").strip()
    order = str(st.radio(_("Its dates"), list(_ORDERS), format_func=_, key=f"{key}-dates"))
    leave_out = st.checkbox(_("Leave out rows that are no readings; which and why is kept"), key=f"{key}-leave")
    return Asked(file, logger, _ORDERS[order], leave_out)


@contextmanager
def aside(file: Any) -> Iterator[Path]:
    """Lay an uploaded file aside under its own name, for as long as it is read."""
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder) / Path(file.name).name
        kept.write_bytes(file.getvalue())
        yield kept
