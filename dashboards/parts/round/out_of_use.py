"""Units out of use, declared before or afterwards; and back in use."""

import streamlit as st

from dashboards import data, round_data
from dashboards.parts import forms, sheet
from dashboards.parts.round import listed
from holdwatch.errors import HoldwatchError
from holdwatch.language import N_, _
from holdwatch.storage.out_of_use import Purpose
from holdwatch.views.daily import read_back
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_WHOLE = N_("All of them: the kitchen is closed")


def draw(site: SiteView) -> None:
    """Draw what is out of use now, the form for another one, and the one for coming back."""
    part = round_data.out_of_use()
    listed.show((part,))
    st.html(
        sheet.small_print(
            _(
                "Nobody is alarmed by a unit that is out of use. Food recorded as standing in it keeps its own limits. Declared afterwards it explains what was found, and erases nothing."
            )
        )
    )
    _declare(site)
    if part.lines:
        _back([line.about for line in part.lines], site)


def _declare(site: SiteView) -> None:
    key = "round-rest"
    fresh = forms.fresh(key)
    with st.form(fresh):
        unit = st.selectbox(
            _("Unit"),
            [name for _id, name in data.units()] + [_WHOLE],
            format_func=lambda each: _(each) if each == _WHOLE else each,
            index=None,
            key=f"{fresh}-unit",
        )
        slot = st.empty()
        why = st.segmented_control(
            _("Why"), [each.value for each in Purpose], format_func=_, default="cleaned", key=f"{fresh}-why"
        )
        since = st.text_input(_("From (empty: now)"), key=f"{fresh}-from", placeholder="22:00", max_chars=25)
        until = st.text_input(
            _("To (empty: until it is back in use)"), key=f"{fresh}-to", placeholder="05:30", max_chars=25
        )
        text = st.text_input(_("In words"), max_chars=200, key=f"{fresh}-text").strip()
        by = forms.who(fresh)
        pressed = st.form_submit_button(_("Declare it out of use"), type="primary")
    if not pressed:
        return
    if not unit or not by:
        with slot:
            forms.problem(_("Choose the unit.") if not unit else _("Say who you are."))
        return
    now = data.now_ms()
    try:
        from_ms = forms.read_time(since.strip(), site.zone, now) if since.strip() else now
        to_ms = read_back(until, from_ms, site.zone) if until.strip() else None
    except HoldwatchError as exc:
        with slot:
            forms.problem(f"{sheet.sentence(str(exc))}.")
        return
    name = None if unit == _WHOLE else unit
    said = round_data.take_out_of_use(name, str(why), from_ms=from_ms, to_ms=to_ms, by=by, text=text)
    if said is not None:
        forms.recorded(
            key,
            _("Recorded by {by}: {unit} is out of use, {why}. {said}")
            .format(by=by, unit=name or _("every unit"), why=_(str(why)), said=said)
            .strip(),
        )


def _back(names: list[str], site: SiteView) -> None:
    key = "round-back-in-use"
    fresh = forms.fresh(key)
    with st.form(fresh):
        unit = st.selectbox(_("Back in use"), names, key=f"{fresh}-unit")
        by, at = forms.who(fresh), forms.when(fresh, site)
        pressed = st.form_submit_button(_("It is back in use"))
    if pressed and at is not None and round_data.back_in_use(str(unit), at_ms=at, by=by):
        forms.recorded(key, _("Recorded by {by}: {unit} is back in use.").format(by=by, unit=unit))
