"""The screens: which pages there are, and what stands on every one of them.

The scripts of the pages are in `screens`: a directory called `pages` beside this file would be served by Streamlit
on its own, so that whoever opens an alert's link first would get a page without style, caution and way back.
"""

from pathlib import Path

import streamlit as st
from streamlit.navigation.page import StreamlitPage

from dashboards import data, signedin, speaking
from dashboards.parts import forms, lasting, sheet
from holdwatch.errors import HoldwatchError
from holdwatch.language import _
from holdwatch.views import words

_IDLE_LOOK_S = 20.0
_ICON = Path(__file__).with_name("parts") / "mark.svg"


def main() -> None:
    """Draw the page asked for."""
    st.set_page_config(page_title="Holdwatch", page_icon=str(_ICON), layout="wide")
    st.html(sheet.style())
    limits = scale = ""
    try:
        speaking.speak_here()
        lasting.script()
        forms.hold()
        pages = _pages()
        page = st.navigation(pages, position="hidden")
        # of two quick touches the browser may hear the answer to the second alone, and keep the address of before;
        # what is asked next would then be asked for the batch or unit in it
        st.query_params.update({})
        with st.container(horizontal=True, gap="small", key="ways"):
            for each in pages:
                st.page_link(each, label=each.title)
        site = data.site()
        limits, scale = site.limits_notice, site.scale.value
        if _signed_in():
            page.run()
    except HoldwatchError as exc:
        st.html(sheet.trouble(str(exc)))
    st.html(sheet.quiet(f"{limits} {_(words.CAUTION)}".strip()))
    if scale:
        speaking.chooser(scale)


def _pages() -> list[StreamlitPage]:
    """Return the pages that there are."""
    pages = [
        st.Page("screens/bench.py", title=_("Bench"), default=True),
        st.Page("screens/batches.py", title=_("Batches"), url_path="batches"),
        st.Page("screens/units.py", title=_("Units"), url_path="units"),
        st.Page("screens/findings.py", title=_("Findings"), url_path="findings"),
        st.Page("screens/round.py", title=_("Opening and closing"), url_path="round"),
        st.Page("screens/records.py", title=_("Records"), url_path="records"),
        st.Page("screens/shift.py", title=_("Shift"), url_path="shift"),
        st.Page("screens/calculators.py", title=_("Calculators"), url_path="calculators"),
        st.Page("screens/setup.py", title=_("Set-up"), url_path="setup"),
    ]
    if data.inbox_path() is not None:
        pages.append(st.Page("screens/inbox.py", title=_("Pretended phone"), url_path="inbox"))
    return pages


def _signed_in() -> bool:
    """Say who has signed in here; a person's browser that was left idle shows nothing more."""
    signed = signedin.here()
    if signed is None:
        if signedin.nobody_entered():
            return True
        st.html(
            f'<div class="hw hw-line">{_("Nobody is signed in here any more.")} '
            f'<a href="/sign-in" target="_self">{_("Sign in")}</a></div>'
        )
        return False
    if signed.kitchen:
        on_shift = ", ".join(f"{each.initials} {each.name}" for each in signed.on_shift)
        st.html(sheet.small_print(_("On shift here: {people}").format(people=on_shift or _("nobody"))))
    else:
        st.html(sheet.small_print(f"{signed.name} ({signed.role})"))
        signedin.touch(signed)
        _look_again()
    return True


@speaking.repeated(_IDLE_LOOK_S)
def _look_again() -> None:
    """Draw the whole page again once its browser was left idle: the door alone is not asked by a page that is open."""
    if signedin.here() is None:
        st.rerun()


main()
