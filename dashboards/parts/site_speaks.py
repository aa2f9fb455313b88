"""In which language the site speaks, and in which degrees: on the Set-up page."""

import streamlit as st

from dashboards import speaking_data
from dashboards.parts import forms, sheet
from holdwatch.language import LANGUAGES, _
from holdwatch.quantities import Scale

__all__ = ["draw"]


def draw() -> None:
    """Ask for both; what holds now is chosen already."""
    language, scale = speaking_data.site_speaks()
    key = forms.fresh("speaks")
    st.html(sheet.heading(_("Language and degrees"), 2))
    with st.form(key):
        languages, scales = list(LANGUAGES), [each.value for each in Scale]
        chosen = st.selectbox(
            _("Alerts, papers and the kitchen's screens speak"),
            languages,
            index=languages.index(language),
            format_func=LANGUAGES.__getitem__,
            key=f"{key}-language",
        )
        degrees = st.radio(
            _("Temperatures are shown in"),
            scales,
            index=scales.index(scale),
            format_func=lambda each: f"°{each}",
            horizontal=True,
            key=f"{key}-scale",
        )
        st.html(
            sheet.small_print(
                _(
                    "What was printed and sent stays as it was written, and a limit is judged in the degrees in which its code prints it. Whoever wants another language on their own screen chooses it at the foot of a page."
                )
            )
        )
        by, pin = forms.signer(key)
        pressed = st.form_submit_button(_("Speak so from now on"), type="primary")
    if pressed and speaking_data.site_speaks_now(language=str(chosen), scale=str(degrees), by=by, pin=pin):
        forms.recorded(
            "speaks", _("The site speaks {language}, in °{scale}.").format(language=LANGUAGES[chosen], scale=degrees)
        )
