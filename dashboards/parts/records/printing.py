"""Papers of the record: set when they are asked for, then there to be taken."""

import streamlit as st

from dashboards import records_data, signedin
from dashboards.parts import sheet
from dashboards.parts.records import spans
from holdwatch.language import N_, _
from holdwatch.quantities import Scale
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_PAPERS = {N_("US Letter"): "letter", "A4": "a4"}
_LOG, _BATCH, _DAY = N_("The inspection log"), N_("A batch"), N_("A day")
_KINDS = {
    _LOG: "log",
    _BATCH: "batch",
    _DAY: "day",
    N_("Findings and actions"): "findings",
    N_("Checks of probes"): "checks",
}


def draw(site: SiteView) -> None:
    """Draw what can be printed, and the file once it is set."""
    st.html(
        sheet.small_print(_("Days are those of {zone}. The paper says what it does not cover.").format(zone=site.zone))
    )
    which = str(
        st.pills(_("Which paper"), list(_KINDS), format_func=_, default=_LOG, required=True, key="records-kind")
    )
    size = str(
        st.pills(_("Paper"), list(_PAPERS), format_func=_, default="US Letter", required=True, key="records-paper")
    )
    scale = Scale(
        st.pills(
            _("Temperatures"),
            [each.value for each in Scale],
            format_func="°{}".format,
            default=site.scale.value,
            required=True,
            key="records-scale",
        )
    )
    units: list[str] = []
    lots: list[str] = []
    if which == _BATCH:
        lot = st.selectbox(
            _("Batch"), records_data.lots(), index=None, placeholder=_("Choose a lot"), key="records-lot"
        )
        if lot is None:
            return
        lots, days = [str(lot)], None
    else:
        days = spans.chosen("records-print", over=False)
        if days is None:
            return
        if which == _DAY and days[0] != days[1]:
            st.html(sheet.small_print(_("A day’s sheet is of one day: the last of these is taken.")))
            days = days[1], days[1]
    if which == _LOG:
        units, lots = _only_some()
    asked = (which, size, scale, days, tuple(units), tuple(lots))
    if st.button(_("Print"), type="primary", key="records-print-set"):
        signed = signedin.here()
        by = signed.name if signed is not None and not signed.kitchen else ""
        with st.status(_("Gathering the record"), expanded=False) as status:
            pdf = records_data.printed(
                _KINDS[which],
                days,
                tuple(units),
                tuple(lots),
                paper=_PAPERS[size],
                scale=scale,
                printed_by=by,
                tell=lambda what: status.update(label=what or _("Done")),
            )
        st.session_state["records-log"] = None if pdf is None else (asked, pdf)
    made = st.session_state.get("records-log")
    if made is not None and made[0] == asked:
        of = lots if days is None else [str(day) for day in dict.fromkeys(days)]
        name = f"{'-'.join([_KINDS[which], *of])}.pdf"
        st.download_button(
            _("Take {name}").format(name=sheet.plain(name)),
            made[1],
            name,
            "application/pdf",
            type="primary",
            key="records-print-take",
        )


def _only_some() -> tuple[list[str], list[str]]:
    """Ask which units and batches a log is to have; years of lots are listed once somebody wants to choose."""
    part = st.expander(_("Only some units or batches"), key="records-some", on_change="rerun")
    chosen = st.session_state.get("records-units") or st.session_state.get("records-lots")
    if not part.open and not chosen:  # what was chosen holds also when it is folded again
        return [], []
    with part:
        units = st.multiselect(_("Units (none: all of them)"), records_data.unit_names(), key="records-units")
        lots = st.multiselect(_("Batches (none: all of them)"), records_data.lots(), key="records-lots")
        st.html(sheet.small_print(_("Once one is chosen the paper has only these, and its first page says so.")))
    return units, lots
