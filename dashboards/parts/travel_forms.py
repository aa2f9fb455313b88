"""Forms for where a batch is: moved, confirmed by the code on a door; handed over; a logger read back."""

from functools import partial
from typing import Any

import streamlit as st

from dashboards import data
from dashboards.parts import forms, logger_file, sheet
from holdwatch.language import _
from holdwatch.storage.tables import EventKind
from holdwatch.views import words
from holdwatch.views.model import BatchView, SiteView

__all__ = ["at_the_door", "moved", "travelled"]


def moved(batch: BatchView, site: SiteView) -> None:
    """Draw the form for a move; the code on the door names the unit, and confirms it."""
    key = f"b{batch.id}-moved"
    fresh = forms.fresh(key)
    with st.form(fresh):
        names = [name for _id, name in data.units()]
        usual = data.usual_place(batch.product)
        unit = st.selectbox(_("Into"), names, index=names.index(usual) if usual in names else None, key=f"{fresh}-unit")
        door = st.text_input(_("Code on the door, if you stand there"), max_chars=12, key=f"{fresh}-door").strip()
        slot = st.empty()
        by, at = forms.who(fresh), forms.when(fresh, site)
        if not st.form_submit_button(_("It has been moved"), type="primary"):
            return
        with slot:
            if at is None:
                return
            done = (
                data.moved_to_door(batch.lot, door, by=by, at_ms=at)
                if door
                else data.note(batch.lot, EventKind.MOVED, by=by, at_ms=at, unit=unit) and (unit or _("moved"))
            )
        if done:
            forms.recorded(key, _("Recorded: {done}, {time}.").format(done=done, time=words.clock_words(at, site.zone)))


def at_the_door(code: str, site: SiteView) -> None:
    """Draw what whoever scanned the code of a door is asked: which batches stand in it."""
    unit = data.unit_at_door(code)
    if not unit:
        return
    st.html(sheet.heading(_("{unit}: what was put into it?").format(unit=unit)))
    key = "door"
    fresh = forms.fresh(key)
    with st.form(fresh):
        titles = {f"{product} {lot}": lot for product, lot in data.running_lots()}
        chosen = st.pills(
            _("Batches"), list(titles), format_func=sheet.plain, selection_mode="multi", key=f"{fresh}-lots"
        )
        slot = st.empty()
        by, at = forms.who(fresh), forms.when(fresh, site)
        if not st.form_submit_button(_("They stand in {unit}").format(unit=sheet.plain(unit)), type="primary"):
            return
        with slot:
            if not chosen:
                forms.problem(_("Touch every batch that was put into it."))
            elif at is not None and all(data.moved_to_door(titles[each], code, by=by, at_ms=at) for each in chosen):
                forms.recorded(
                    key, _("Recorded: {count} in {unit}, confirmed at the door.").format(count=len(chosen), unit=unit)
                )


def travelled(batch: BatchView, site: SiteView) -> None:
    """Draw the forms for handing it over, and for reading back the logger that travelled along."""
    _handed_over(batch, site)
    _read_back(batch)


def _handed_over(batch: BatchView, site: SiteView) -> None:
    key = f"b{batch.id}-over"
    fresh = forms.fresh(key)
    with st.form(fresh):
        to = st.text_input(_("Handed over to, or set down where"), max_chars=80, key=f"{fresh}-to").strip()
        slot = st.empty()
        celsius = forms.temperature(fresh, site)
        vessel = 1
        if batch.vessels > 1:
            vessel = int(st.number_input(_("Measured in vessel"), 1, batch.vessels, 1, key=f"{fresh}-vessel"))
        by, at = forms.who(fresh), forms.when(fresh, site)
        if not st.form_submit_button(_("It is handed over"), type="primary"):
            return
        with slot:
            if not to:
                forms.problem(_("Say to whom, or where it was set down."))
            elif at is not None and data.hand_over(
                batch.lot, to=to, celsius=celsius, vessel=None if celsius is None else vessel, by=by, at_ms=at
            ):
                forms.recorded(
                    key,
                    _("Recorded: handed over to {to}, {time}.").format(to=to, time=words.clock_words(at, site.zone)),
                )


def _read_back(batch: BatchView) -> None:
    def ask(key: str) -> dict[str, Any]:
        return {
            "medium": st.radio(
                _("What it measured"), ["food", "air"], format_func=words.medium, key=f"{key}-medium", horizontal=True
            )
        }

    logger_file.draw(f"b{batch.id}-logger", _("Read it back"), ask, partial(data.read_back, batch.lot))
