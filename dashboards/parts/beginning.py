"""What a page says in a kitchen that has just begun: nothing is in order yet, there is nothing to say of."""

import streamlit as st

from dashboards import data
from holdwatch.language import N_, _

__all__ = ["nothing_yet"]

_SAID = N_(
    "Nothing is recorded yet, so nothing is shown to be in order. {unit} with its probes, or {batch}: what is recorded of them stands here."
)


def nothing_yet() -> None:
    """Lead to the first unit and the first batch, where there is neither."""
    if data.units() or data.batches_named("", 1):
        return
    unit = f'<a href="/setup" target="_self">{_("Add the first unit")}</a>'
    batch = f'<a href="/batches" target="_self">{_("start the first batch")}</a>'
    st.html(f'<div class="hw hw-line">{_(_SAID).format(unit=unit, batch=batch)}</div>')
