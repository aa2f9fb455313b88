"""The form that prints labels of a batch, and the cooling tags for its pans."""

import streamlit as st

from dashboards import data
from dashboards.parts import sheet
from holdwatch.language import N_, _
from holdwatch.views.model import BatchView, SiteView

__all__ = ["labels"]

_KINDS = {N_("Label: discard by, allergens"): "label", N_("Cooling tag for each pan"): "cooling-tag"}
_SIZES = {
    N_("Roll, 57 mm wide"): "57mm",
    N_("2 × 3 in"): "2x3in",
    N_("3 × 2 in"): "3x2in",
    N_("Letter sheet, 3 × 10"): "letter/3x10",
    N_("A4 sheet, 3 × 8"): "a4/3x8",
}


def labels(batch: BatchView, _site: SiteView) -> None:
    """Draw the choice of label and paper, and the finished file to take."""
    key = f"b{batch.id}-label"
    with st.form(key):
        kind = st.radio(_("What"), list(_KINDS), format_func=_, key=f"{key}-kind")
        size = st.selectbox(_("Paper"), list(_SIZES), format_func=_, key=f"{key}-size")
        another = st.text_input(
            _("Another size"), placeholder=_("40mm, or 50x30mm"), max_chars=20, key=f"{key}-another"
        )
        slot = st.empty()
        copies = st.number_input(_("Copies"), min_value=1, max_value=200, value=1, key=f"{key}-copies")
        if st.form_submit_button(_("Make the labels"), type="primary"):
            with slot:
                pdf = data.label_pdf(
                    batch.lot, kind=_KINDS[str(kind)], size=another.strip() or _SIZES[str(size)], copies=int(copies)
                )
            if pdf:
                st.session_state[f"{key}-pdf"] = pdf
    made = st.session_state.get(f"{key}-pdf")
    if made:
        name = f"labels-{batch.lot}.pdf"
        st.download_button(
            _("Take {name}").format(name=sheet.plain(name)), made, name, "application/pdf", key=f"{key}-take"
        )
