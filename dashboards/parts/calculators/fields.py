"""What the calculators share: a field whose mistake is told beside it, and an answer with what it rests on."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

import streamlit as st

from dashboards.parts import forms, sheet
from dashboards.parts.at_first import at_first
from holdwatch.calculators.answer import Answer
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.errors import HoldwatchError
from holdwatch.language import _
from holdwatch.quantities import Scale, Temperature, to_scale
from holdwatch.readings import Series
from holdwatch.views.model import SiteView

if TYPE_CHECKING:
    from dashboards.parts.pictures import Picture

T = TypeVar("T")

_TYPED = "typed"
_LONGEST = 40


@dataclass(frozen=True)
class Written(Generic[T]):
    """What a field holds: a value, nothing yet, or something that cannot be read."""

    value: T | None = None
    wrong: bool = False


def field(label: str, key: str, read: Callable[[str], T], *, begins: str = "", hint: str = "") -> T | None:
    """Ask for a figure that is needed; ``None`` where nothing is written yet, or it cannot be read, which is said below.

    What was typed stays while another calculator is looked at.
    """
    return optional(label, key, read, begins=begins, hint=hint).value


def optional(label: str, key: str, read: Callable[[str], T], *, begins: str = "", hint: str = "") -> Written[T]:
    """Ask for a figure that may be left out; one that cannot be read is no figure left out."""
    text = st.text_input(label, _recalled(key, begins), key=key, placeholder=hint, max_chars=_LONGEST)
    return written(_keep(key, text), read)


def lines(label: str, key: str, read: Callable[[list[str]], T], *, hint: str = "") -> T | None:
    """Ask for several lines; ``None`` where nothing is written yet, or they cannot be read, which is said below."""
    text = _keep(key, st.text_area(label, _recalled(key), key=key, placeholder=hint, height=150, max_chars=4000))
    return written(text, lambda typed: read(typed.splitlines())).value


def _recalled(key: str, otherwise: str = "") -> str:
    """Return what a field that is drawn anew begins with: what was typed before, else what the address says of it."""
    linked = st.query_params.get(key, otherwise)[:_LONGEST]
    return at_first(key, str(st.session_state.setdefault(_TYPED, {}).get(key, linked)))


def _keep(key: str, text: str) -> str:
    """Remember what is typed: a field that is not drawn loses it."""
    st.session_state.setdefault(_TYPED, {})[key] = text
    return text


def written(text: str, read: Callable[[str], T]) -> Written[T]:
    """Read what was typed, and say below the field what is wrong with it."""
    if not text.strip():
        return Written()
    try:
        return Written(read(text.strip()))
    except (HoldwatchError, ValueError) as exc:
        forms.problem(f"{sheet.sentence(str(exc))}.")
        return Written(wrong=True)


def degrees(site: SiteView) -> Callable[[str], float]:
    """Return what reads a temperature in the site's unit, or with its own, as °C."""

    def read(text: str) -> float:
        shown = text.replace(",", ".")
        return Temperature.parse(shown if shown[-1:].upper() in {"C", "F"} else f"{shown}{site.scale}").celsius

    return read


def points(series: Series, scale: Scale, shift_c: float = 0.0) -> list[tuple[float, float]]:
    """Return readings for a picture: minutes since the first, and degrees."""
    minutes = (series.at_ms - series.at_ms[0]) / MS_PER_MINUTE
    return list(zip(minutes.tolist(), to_scale(series.celsius + shift_c, scale).tolist(), strict=True))


def trouble(exc: HoldwatchError) -> None:
    """Say why there is no answer."""
    st.html(sheet.trouble(f"{sheet.sentence(str(exc))}."))


def show(ask: Callable[[], Answer], picture: Callable[[Answer], "Picture | None"] | None = None) -> None:
    """Draw an answer: what it says, its picture and its table, its caution, and what it rests on."""
    try:
        answer = ask()
    except HoldwatchError as exc:
        trouble(exc)
        return
    st.html(f'<div class="hw hw-said" role="status">{sheet.esc(answer.says)}</div>')
    drawn = None if picture is None else picture(answer)
    if drawn is not None:
        # here: its library takes half a second to load, and a finding has no picture
        from dashboards.parts import pictures

        pictures.draw(drawn, said=answer.says, key="calculator-picture")
    if answer.rows:
        st.html(_table(answer))
    for note in answer.notes:
        st.html(f'<div class="hw hw-line">{sheet.esc(note)}</div>')
    if answer.caution:
        st.html(f'<div class="hw hw-caution" role="note">{sheet.esc(answer.caution)}</div>')
    basis = answer.basis
    told = {_("Formula"): basis.formula, _("Covers"): basis.covers, _("Error"): basis.error, _("Source"): basis.source}
    st.html(sheet.table(["", ""], [[sheet.whole(name), sheet.esc(text)] for name, text in told.items()]))


def _table(answer: Answer) -> str:
    """Return the table of an answer; on a phone, where it has no heads, each cell says what it is."""
    rows = [[sheet.esc(cell) for cell in row] for row in answer.rows]
    return sheet.table(list(answer.heads), rows, told=True, row_heads=True)
