"""A log sheet that was written by hand, typed in afterwards: a row a line, what is wrong said beside its row."""

from dataclasses import dataclass
from datetime import date

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboards import data, records_data
from dashboards.parts import forms, sheet
from holdwatch.errors import ConfigError, HoldwatchError
from holdwatch.language import N_, _, many
from holdwatch.storage.log_sheet import SheetRow, SheetRowError
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_ROWS, _MOST_ROWS = 6, 48
_PAPERS = {N_("US Letter"): "letter", "A4": "a4"}


@dataclass(frozen=True)
class _Typed:
    """What was typed in a row, and where something is said about it."""

    time: str
    subject: str | None
    vessel: int
    temperature: str
    initials: str
    done: str
    slot: DeltaGenerator

    @property
    def is_empty(self) -> bool:
        """Whether nothing was typed in it."""
        return not (self.time or self.subject or self.temperature or self.initials or self.done)


def draw(site: SiteView) -> None:
    """Draw the blank sheet to print, and the rows to type a written one in."""
    _blank()
    st.html(sheet.heading(_("Type a written sheet in"), 2))
    st.html(sheet.small_print(_("Every row is kept as a reading by hand, marked as entered later and by whom.")))
    key = forms.fresh("records-sheet")
    day = st.date_input(
        _("Day of the sheet"),
        records_data.today(),
        max_value=records_data.today(),
        format="YYYY-MM-DD",
        key=f"{key}-day",
    )
    count = int(st.number_input(_("Rows"), min_value=1, max_value=_MOST_ROWS, value=_ROWS, key=f"{key}-rows"))
    if not isinstance(day, date):
        return
    subjects = records_data.sheet_subjects(day)
    with st.form(key):
        typed = [_row(f"{key}-{number}", number, list(subjects), site) for number in range(count)]
        by = forms.who(key)
        slot = st.empty()
        pressed = st.form_submit_button(_("Record these rows"), type="primary")
    if pressed:
        _record([each for each in typed if not each.is_empty], day, subjects, by, site, slot)


def _blank() -> None:
    st.html(sheet.small_print(_("For the day the power is out: print some, and keep them where the thermometer is.")))
    size = str(st.radio(_("Paper"), list(_PAPERS), format_func=_, horizontal=True, key="records-blank-paper"))
    pages = int(st.number_input(_("Ruled pages"), min_value=1, max_value=20, value=2, key="records-blank-pages"))
    if st.button(_("Set the blank sheet"), key="records-blank-set"):
        st.session_state["records-blank"] = (size, pages, records_data.blank(_PAPERS[size], pages))
    made = st.session_state.get("records-blank")
    if made is not None and made[:2] == (size, pages) and made[2] is not None:
        name = "blank-log-sheet.pdf"
        st.download_button(
            _("Take {name}").format(name=name), made[2], name, "application/pdf", key="records-blank-take"
        )


def _row(key: str, number: int, subjects: list[str], site: SiteView) -> _Typed:
    st.html(f'<div class="hw hw-line"><b>{_("Row {number}").format(number=number + 1)}</b></div>')
    first, second, third = st.columns([1, 2, 1])
    time = first.text_input(_("Time"), placeholder="14:05", max_chars=16, key=f"{key}-time").strip()
    subject = second.selectbox(
        _("Batch or unit"), subjects, index=None, placeholder=_("Choose what was measured"), key=f"{key}-subject"
    )
    vessel = int(third.number_input(_("Vessel"), min_value=1, max_value=200, value=1, key=f"{key}-vessel"))
    first, second, third = st.columns([1, 1, 2])
    temperature = first.text_input(f"°{site.scale}", placeholder="68", max_chars=12, key=f"{key}-temperature").strip()
    initials = second.text_input(_("Initials"), max_chars=12, key=f"{key}-initials").strip()
    done = third.text_input(_("What was done"), max_chars=200, key=f"{key}-done").strip()
    return _Typed(time, None if subject is None else str(subject), vessel, temperature, initials, done, st.empty())


def _record(
    typed: list[_Typed],
    day: date,
    subjects: dict[str, tuple[str, str]],
    by: str,
    site: SiteView,
    slot: DeltaGenerator,
) -> None:
    """Record all rows or none, and say beside each what is wrong with it."""
    rows = []
    for each in typed:
        try:
            rows.append(_read(each, day, subjects, site))
        except HoldwatchError as exc:
            with each.slot:
                forms.problem(str(exc))
    if len(rows) != len(typed):
        return
    with slot:
        if not rows:
            forms.problem(_("No row has anything in it."))
        elif not by:
            forms.problem(_("Say who you are."))
    if not rows or not by:
        return
    wrong = records_data.entered(rows, by=by)
    if wrong is None:  # it was refused, and is said where
        return
    if isinstance(wrong, SheetRowError):
        with typed[wrong.number].slot:
            forms.problem(str(wrong))
        return
    forms.recorded(
        "records-sheet",
        many("Entered later by {by}: {count} row.", "Entered later by {by}: {count} rows.", len(rows), by=by),
    )


def _read(typed: _Typed, day: date, subjects: dict[str, tuple[str, str]], site: SiteView) -> SheetRow:
    """Read a row as it was typed."""
    if not typed.time:
        raise ConfigError(_("Write the time that stands on the sheet, as 14:05."))
    if typed.subject is None:
        raise ConfigError(_("Choose the batch or the unit that was measured."))
    if not typed.temperature:
        raise ConfigError(_("Write the temperature that stands on the sheet."))
    unit, lot = subjects[typed.subject]
    return SheetRow(
        at_ms=forms.read_time(f"{day} {typed.time}", site.zone, data.now_ms()),
        celsius=forms.read_celsius(typed.temperature, site),
        lot=lot,
        unit=unit,
        vessel=typed.vessel if lot else None,
        measured_by=typed.initials,
        done=typed.done,
    )
