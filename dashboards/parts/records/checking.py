"""A probe at known temperatures: what is due, the form, and what is on record."""

import streamlit as st

from dashboards import records_data
from dashboards.parts import forms, sheet
from holdwatch.calculators.calibration import FOUND, Point, boiling, melting_ice, reference
from holdwatch.calculators.place import Place, place
from holdwatch.errors import ConfigError, HoldwatchError
from holdwatch.language import N_, _
from holdwatch.measures import altitude_m, pressure_pa
from holdwatch.quantities import format_temperature
from holdwatch.storage.calibration import Check, Done
from holdwatch.views import words
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_DONE = {
    N_("Nothing more"): Done.NOTHING,
    N_("Correct it here, from now on"): Done.CORRECTED,
    N_("It was adjusted"): Done.ADJUSTED,
    N_("It is out of use"): Done.OUT_OF_USE,
}
_SURE_C = 0.3
_HOT = N_("Steam and boiling water burn: hold the probe with tongs or by its cable.")
_SHOWN = 100


def draw(site: SiteView) -> None:
    """Draw what is due, the form of a check, and the checks on record."""
    due = []
    for code, since in records_data.due():
        when = (
            _("never checked")
            if since is None
            else _("due since {time}").format(time=words.clock_words(since, site.zone))
        )
        due.append(_("Probe {code}: {when}").format(code=code, when=when))
    if due:
        st.html(sheet.ask("; ".join(due)))
    codes = records_data.probe_codes()
    if not codes:
        st.html(sheet.line(_("There is no probe yet: add one under Set-up.")))
        return
    _form(codes, site)
    found = records_data.checks()
    st.html(sheet.heading(_("On record"), 2))
    if not found:
        st.html(sheet.line(_("No check is on record.")))
        return
    st.html(
        sheet.table(
            [_("Probe"), _("When"), _("It showed"), _("Found"), _("Who")], [_row(c, e, site) for c, e in found[:_SHOWN]]
        )
    )


def _row(code: str, check: Check, site: SiteView) -> list[str]:
    points = "; ".join(
        _("{shown} for {true}").format(
            shown=format_temperature(p.shows_c, site.scale), true=format_temperature(p.true_c, site.scale)
        )
        for p in check.points
    )
    found = _(FOUND[check.outcome]) + (f"; {_(check.done.value.replace('-', ' '))}" if check.done else "")
    return [sheet.esc(each) for each in (code, words.clock_words(check.at_ms, site.zone), points, found, check.by)]


def _form(codes: list[str], site: SiteView) -> None:
    key = "records-check"
    fresh = forms.fresh(key)
    st.html(sheet.small_print(_("Write what it shows, raw, in one bath or several. {hot}").format(hot=_(_HOT))))
    with st.form(fresh):
        code = str(st.selectbox(_("Probe"), codes, key=f"{fresh}-code"))
        ice = st.text_input(_("In melting ice and water, stirred"), key=f"{fresh}-ice", placeholder=f"°{site.scale}")
        hot = st.text_input(_("In boiling water"), key=f"{fresh}-hot", placeholder=f"°{site.scale}")
        pressure = st.text_input(_("Pressure in the room, for boiling water"), key=f"{fresh}-hpa", placeholder="834hPa")
        beside = st.text_input(_("Beside a reference"), key=f"{fresh}-beside", placeholder=f"°{site.scale}")
        true = st.text_input(_("What the reference shows"), key=f"{fresh}-true", placeholder=f"°{site.scale}")
        done = str(st.radio(_("What was done"), list(_DONE), format_func=_, key=f"{fresh}-done"))
        text = st.text_input(_("In words"), max_chars=300, key=f"{fresh}-text").strip()
        by, pin = forms.signer(fresh)
        slot = st.empty()
        pressed = st.form_submit_button(_("Record the check"), type="primary")
    if not pressed:
        return
    try:
        points = _points(ice, hot, pressure, beside, true, site)
    except HoldwatchError as exc:
        with slot:
            forms.problem(str(exc))
        return
    if not by:
        with slot:
            forms.problem(_("Say who you are."))
        return
    check = records_data.check(code, points, done=_DONE[done], text=text, by=by, pin=pin)
    if check is not None:
        forms.recorded(key, _("Probe {code}: {found}.").format(code=code, found=_(FOUND[check.outcome])))


def _points(ice: str, hot: str, pressure: str, beside: str, true: str, site: SiteView) -> list[Point]:
    points = []
    if ice.strip():
        points.append(melting_ice(forms.read_celsius(ice, site)))
    if hot.strip():
        points.append(boiling(forms.read_celsius(hot, site), _room(pressure, site)))
    if beside.strip() or true.strip():
        if not (beside.strip() and true.strip()):
            raise ConfigError(_("A comparison has two figures: what the probe shows, and what the reference shows."))
        points.append(reference(forms.read_celsius(beside, site), forms.read_celsius(true, site), _SURE_C))
    if not points:
        raise ConfigError(_("Write what it shows in at least one bath."))
    return points


def _room(pressure: str, site: SiteView) -> Place:
    """Return the pressure in the room; without one, what follows from the altitude of the site."""
    if pressure.strip():
        return place(pressure_pa=pressure_pa(pressure))
    if site.altitude:
        return place(altitude_m=altitude_m(site.altitude))
    raise ConfigError(_("Where water boils depends on the pressure in the room: write it, such as 834hPa."))
