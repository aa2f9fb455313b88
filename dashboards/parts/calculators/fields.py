"""What the calculators share: a field whose mistake is told beside it, and an answer with what it rests on."""

from collections.abc import Callable
from typing import TypeVar

import streamlit as st

from dashboards.parts import forms, sheet
from holdwatch.calculators.answer import Answer
from holdwatch.errors import HoldwatchError

T = TypeVar("T")

_TYPED = "typed"


def field(label: str, key: str, read: Callable[[str], T], *, at_first: str = "", hint: str = "") -> T | None:
    """Ask for a figure in words; ``None`` where nothing is written yet, or it cannot be read, which is said below.

    What was typed stays while another calculator is looked at.
    """
    kept: dict[str, str] = st.session_state.setdefault(_TYPED, {})
    text = st.text_input(label, value=kept.get(key, at_first), key=key, placeholder=hint, max_chars=40)
    kept[key] = text
    if not text.strip():
        return None
    try:
        return read(text.strip())
    except (HoldwatchError, ValueError) as exc:
        forms.problem(f"{str(exc)[:1].upper()}{str(exc)[1:]}.")
        return None


def show(ask: Callable[[], Answer]) -> None:
    """Draw an answer: what it says, its table, its caution, and what it rests on."""
    try:
        answer = ask()
    except HoldwatchError as exc:
        st.html(sheet.trouble(f"{sheet.sentence(str(exc))}."))
        return
    st.html(f'<div class="hw hw-said" role="status">{sheet.esc(answer.says)}</div>')
    if answer.rows:
        rows = [[sheet.esc(cell) for cell in row] for row in answer.rows]
        st.html(sheet.table(list(answer.heads), rows))
    for note in answer.notes:
        st.html(f'<div class="hw hw-line">{sheet.esc(note)}</div>')
    if answer.caution:
        st.html(f'<div class="hw hw-trouble" role="note">{sheet.esc(answer.caution)}</div>')
    basis = answer.basis
    told = {"Formula": basis.formula, "Covers": basis.covers, "Error": basis.error, "Source": basis.source}
    st.html(sheet.table(["", ""], [[sheet.esc(name), sheet.esc(text)] for name, text in told.items()]))
