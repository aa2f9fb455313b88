"""Whether the record is whole, as far as the record itself and a digest from a paper can tell."""

import streamlit as st

from dashboards import records_data
from dashboards.parts import sheet
from holdwatch.records.verify import Verified
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_MOST = 50


def draw(_site: SiteView) -> None:
    """Draw where the chain stands, and what holding the record against it finds."""
    lines, digest = records_data.chain_head()
    st.html(
        '<div class="hw hw-line">Everything that is recorded forms a chain, and the readings of each day are sealed. '
        "Whoever changes something afterwards cannot do it unseen, as long as a digest has left this machine.</div>"
    )
    st.html(sheet.table(["Lines", "Digest of the last"], [[f"{lines:,}", sheet.esc(digest)]]))
    given = st.text_input(
        "A digest from a paper (the first 16 digits at the foot of a page are enough)",
        key="records-digest",
        max_chars=100,
    )
    if not st.button("Hold the record against its chain", type="primary", key="records-whole"):
        return
    with st.status("Looking", expanded=False) as status:
        found = records_data.hold_against(given, lambda what: status.update(label=f"Looking at {what}"))
        status.update(label="Done")
    if found is not None:
        _show(found)


def _show(found: Verified) -> None:
    if found.problems:
        st.html(sheet.trouble(f"The record is not whole: {len(found.problems)} places."))
        rows = [[sheet.esc(each.kind), sheet.esc(each.where), sheet.esc(each.what)] for each in found.problems[:_MOST]]
        st.html(sheet.table(["", "Where", "What"], rows))
        return
    st.html(sheet.said(f"Whole up to line {found.lines:,}."))
    told = [
        f"{found.rows:,} rows; {found.seals:,} seals over {found.sealed:,} readings; {found.unsealed:,} not sealed yet."
    ]
    if found.thinned:
        told.append(
            f"{len(found.thinned):,} days of a probe were thinned: their seals are kept, "
            f"{sum(day.taken for day in found.thinned):,} readings can no longer be computed again, "
            "and what was left is as it was left."
        )
    if found.held_until:
        told.append(f"The digest is of line {found.held_until:,}: up to there it is the record that it was.")
    if found.held_until < found.lines:
        told.append("Nothing outside says that this is the last line.")
    st.html("".join(f'<div class="hw hw-line">{sheet.esc(each)}</div>' for each in told))
