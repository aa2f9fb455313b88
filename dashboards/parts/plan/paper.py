"""The written plan on paper: set when it is asked for, then there to be taken."""

import streamlit as st

from dashboards import plan_data, signedin
from holdwatch.language import N_, _

__all__ = ["draw"]

_WHAT = {N_("The whole plan"): False, N_("Only the procedure for time as a public health control"): True}
_PAPERS = {N_("US Letter"): "letter", "A4": "a4"}


def draw() -> None:
    """Draw what can be printed, and the file once it is set."""
    with st.expander(_("Print the plan")):
        what = str(st.radio(_("What"), list(_WHAT), format_func=_, key="plan-paper-what"))
        size = str(
            st.pills(
                _("Paper"), list(_PAPERS), format_func=_, default="US Letter", required=True, key="plan-paper-size"
            )
        )
        if st.button(_("Print"), key="plan-paper-set"):
            signed = signedin.here()
            by = signed.name if signed is not None and not signed.kitchen else ""
            pdf = plan_data.paper(_PAPERS[size], by, only_procedures=_WHAT[what])
            st.session_state["plan-paper"] = what, size, pdf
        made = st.session_state.get("plan-paper")
        if made is None or made[:2] != (what, size):
            return
        name = "time-as-a-control.pdf" if _WHAT[what] else "plan.pdf"
        st.download_button(
            _("Take {name}").format(name=name), made[2], name, "application/pdf", type="primary", key="plan-paper-take"
        )
