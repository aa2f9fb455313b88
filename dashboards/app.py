"""The screens: which pages there are, and what stands on every one of them."""

from pathlib import Path

import streamlit as st

from dashboards import data
from dashboards.parts import sheet
from holdwatch.errors import HoldwatchError
from holdwatch.views import words

_ICON = Path(__file__).with_name("parts") / "mark.svg"


def main() -> None:
    """Draw the page asked for."""
    st.set_page_config(page_title="Holdwatch", page_icon=str(_ICON), layout="wide")
    st.html(sheet.style())
    pages = [
        st.Page("pages/bench.py", title="Bench", default=True),
        st.Page("pages/batches.py", title="Batches", url_path="batches"),
        st.Page("pages/units.py", title="Units", url_path="units"),
        st.Page("pages/findings.py", title="Findings", url_path="findings"),
    ]
    try:
        if data.inbox_path() is not None:
            pages.append(st.Page("pages/inbox.py", title="Pretended phone", url_path="inbox"))
        page = st.navigation(pages, position="top")
        page.run()
    except HoldwatchError as exc:
        st.html(sheet.trouble(str(exc)))
    st.html(sheet.quiet(words.CAUTION))


main()
