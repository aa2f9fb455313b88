"""Choosing local days: the usual spans in a touch, any other by its ends."""

from datetime import date, timedelta

import streamlit as st

from dashboards import records_data
from dashboards.parts import forms
from holdwatch.language import N_, _

__all__ = ["chosen"]

YESTERDAY, WEEK, MONTH, OTHER = N_("Yesterday"), N_("The last 7 days"), N_("The last 30 days"), N_("Other days")
_BACK = {YESTERDAY: 1, WEEK: 7, MONTH: 30}


def chosen(key: str, *, over: bool) -> tuple[date, date] | None:
    """Ask for the days, both ends included; ``None`` where they are no span.

    Parameters
    ----------
    over : whether all of them have to be over: today is none of them then.
    """
    today = records_data.today()
    latest = today - timedelta(days=1) if over else today
    which = str(
        st.pills(_("Which days"), [*_BACK, OTHER], format_func=_, default=YESTERDAY, required=True, key=f"{key}-days")
    )
    if which in _BACK:
        return today - timedelta(days=_BACK[which]), today - timedelta(days=1)
    first = st.date_input(_("From"), latest, max_value=latest, format="YYYY-MM-DD", key=f"{key}-first")
    last = st.date_input(_("To"), latest, max_value=latest, format="YYYY-MM-DD", key=f"{key}-last")
    if not isinstance(first, date) or not isinstance(last, date):
        return None
    if last < first:
        forms.problem(_("The last day is before the first: exchange the two."))
        return None
    return first, last
