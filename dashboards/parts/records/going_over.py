"""A manager goes over days: what is not in order first, then a signature; what changed since stands on top."""

from datetime import date

import streamlit as st

from dashboards import records_data
from dashboards.parts import forms, sheet
from dashboards.parts.records import spans
from holdwatch.language import _, written_day
from holdwatch.views import words
from holdwatch.views.days_reviewed import DaysView
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_MOST_NAMED = 7


def draw(site: SiteView) -> None:
    """Draw the days asked for, and take that they were gone over."""
    waiting = records_data.waiting_days()
    if waiting:
        named = ", ".join(written_day(day) for day in reversed(waiting[-_MOST_NAMED:]))
        if len(waiting) > _MOST_NAMED:
            named = f"{named} {_('and {count} more').format(count=len(waiting) - _MOST_NAMED)}"
        st.html(
            sheet.ask(
                _("Nobody has gone over {count} of the last days: {named}").format(count=len(waiting), named=named)
            )
        )
    days = spans.chosen("records-over", over=True)
    if days is None:
        return
    view = records_data.days(*days)
    _standing(view, site)
    _listed(view)
    _sign(days)


def _standing(view: DaysView, site: SiteView) -> None:
    """Say who has gone over the days, and what was recorded about them since."""
    if view.reviewed is None:
        st.html(sheet.line(_("Nobody has gone over all of these days yet.")))
        return
    signed = "" if view.reviewed.signed else _(", unsigned")
    at = words.clock_words(view.reviewed.at_ms, site.zone)
    st.html(
        f'<div class="hw hw-line">{_("Reviewed by {name}{signed}, {time}.").format(name=sheet.esc(view.reviewed.by), signed=signed, time=sheet.esc(at))}</div>'
    )
    if view.changed:
        st.html(sheet.heading(_("Changed since: {count}").format(count=len(view.changed)), 2))
        st.html("".join(f'<div class="hw hw-line">{sheet.esc(sheet.sentence(each))}</div>' for each in view.changed))


def _listed(view: DaysView) -> None:
    st.html(sheet.heading(_("Not in order: {count}").format(count=len(view.not_in_order)), 2))
    rows = []
    for each in view.not_in_order:
        about = sheet.esc(each.about or _("The kitchen"))
        if each.finding_id is not None:
            about = f'<a class="hw-name" href="/findings?finding={each.finding_id}" target="_self">{about}</a>'
        rows.append([about, sheet.esc(each.words)])
    if rows:
        st.html(sheet.table([_("About"), _("What")], rows))
    else:
        st.html(sheet.line(_("Nothing of these days waits for anybody.")))
    st.html(sheet.small_print("; ".join(view.in_order) + "."))


def _sign(days: tuple[date, date]) -> None:
    key = "records-review"
    fresh = forms.fresh(key)
    with st.form(fresh):
        text = st.text_input(_("In words"), max_chars=300, key=f"{fresh}-text").strip()
        by, pin = forms.signer(fresh)
        slot = st.empty()
        pressed = st.form_submit_button(_("I have gone over these days"), type="primary")
    if not pressed:
        return
    if not by:
        with slot:
            forms.problem(_("Say who you are."))
    elif records_data.reviewed(*days, by=by, pin=pin, text=text):
        forms.recorded(
            key,
            _("Reviewed by {by}: {first} to {last}.").format(
                by=by, first=written_day(days[0]), last=written_day(days[1])
            ),
        )
