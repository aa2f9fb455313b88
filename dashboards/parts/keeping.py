"""How long what is kept: on the Set-up page."""

import streamlit as st

from dashboards import keeping_data
from dashboards.parts import forms, sheet
from holdwatch.language import _
from holdwatch.storage.keeping import KEPT, Keeping, period_words
from holdwatch.views import words
from holdwatch.views.model import SiteView

__all__ = ["keeping"]


def keeping(site: SiteView) -> None:
    """Draw how long each kind is kept, by which law, and what was said about it."""
    st.html(sheet.heading(_("How long it is kept"), 2))
    st.html(
        sheet.small_print(
            _(
                "Nothing is taken away by itself. Old readings are thinned only on the machine, with a manager's PIN: holdwatch keep thin says first what would go. Every extreme, crossing and gap stays, and every verdict."
            )
        )
    )
    rows = [
        [sheet.whole(_(each.kind.value)), _period(each), sheet.esc("; ".join(KEPT[each.kind].laws))]
        for each in keeping_data.kept()
    ]
    st.html(sheet.table([_("Kind"), _("Kept"), _("Laws that were read")], rows))
    said = keeping_data.history()
    if said:
        st.html(sheet.table([_("Since"), _("Kept"), _("By"), _("Why")], [_said(each, site) for each in reversed(said)]))
    with st.expander(_("Keep readings for another time")):
        _set()


def _period(each: Keeping) -> str:
    floor = KEPT[each.kind].floor_days
    least = (
        ""
        if floor is None
        else f'<div class="hw-small">{_("never less than {period}").format(period=sheet.esc(period_words(floor)))}</div>'
    )
    what = f'<div class="hw-small">{sheet.esc(_(KEPT[each.kind].what))}</div>'
    return f"{sheet.esc(period_words(each.days))}{least}{what}"


def _said(each: Keeping, site: SiteView) -> list[str]:
    return [
        sheet.esc(words.clock_words(each.since_ms or 0, site.zone)),
        sheet.esc(f"{_(each.kind.value)}, {period_words(each.days)}"),
        sheet.esc(each.by if each.signed else _("{by}, unsigned").format(by=each.by)),
        sheet.esc(each.why),
    ]


def _set() -> None:
    key = forms.fresh("keeping")
    with st.form(key):
        period = st.text_input(
            _("How long (3y, 800d, or always)"), key=f"{key}-period", max_chars=10, placeholder="5y"
        ).strip()
        why = st.text_input(_("Why"), key=f"{key}-why", max_chars=200).strip()
        by, pin = forms.signer(key)
        pressed = st.form_submit_button(_("Keep them for so long"), type="primary")
    if not pressed:
        return
    if not period or not by:
        forms.problem(_("Say how long, and who says so."))
    elif keeping_data.keep_for(period, why=why, by=by, pin=pin):
        forms.recorded(
            "keeping", _("Recorded: readings are kept for {period}, said {by}.").format(period=period, by=by)
        )
