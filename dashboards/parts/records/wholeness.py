"""Whether the record is whole, as far as the record itself and a digest from a paper can tell."""

import streamlit as st

from dashboards import records_data
from dashboards.parts import sheet
from holdwatch.language import _, thousands
from holdwatch.records.verify import Verified
from holdwatch.views.model import SiteView

__all__ = ["draw"]

_MOST = 50


def draw(_site: SiteView) -> None:
    """Draw where the chain stands, and what holding the record against it finds."""
    lines, digest = records_data.chain_head()
    st.html(
        sheet.line(
            _(
                "Everything that is recorded forms a chain, and the readings of each day are sealed. Whoever changes something afterwards cannot do it unseen, as long as a digest has left this machine."
            )
        )
    )
    st.html(sheet.table([_("Lines"), _("Digest of the last")], [[thousands(lines), sheet.esc(digest)]]))
    given = st.text_input(
        _("A digest from a paper (the first 16 digits at the foot of a page are enough)"),
        key="records-digest",
        max_chars=100,
    )
    if not st.button(_("Hold the record against its chain"), type="primary", key="records-whole"):
        return
    with st.status(_("Looking"), expanded=False) as status:
        found = records_data.hold_against(
            given, lambda what: status.update(label=_("Looking at {what}").format(what=what))
        )
        status.update(label=_("Done"))
    if found is not None:
        _show(found)


def _show(found: Verified) -> None:
    if found.problems:
        st.html(sheet.trouble(_("The record is not whole: {count} places.").format(count=len(found.problems))))
        rows = [
            [sheet.esc(_(each.kind)), sheet.esc(each.where), sheet.esc(each.what)] for each in found.problems[:_MOST]
        ]
        st.html(sheet.table(["", _("Where"), _("What")], rows))
        return
    st.html(sheet.said(_("Whole up to line {lines}.").format(lines=thousands(found.lines))))
    told = [
        _("{rows} rows; {seals} seals over {sealed} readings; {unsealed} not sealed yet.").format(
            rows=thousands(found.rows),
            seals=thousands(found.seals),
            sealed=thousands(found.sealed),
            unsealed=thousands(found.unsealed),
        )
    ]
    if found.thinned:
        told.append(
            _(
                "{days} days of a probe were thinned: their seals are kept, {readings} readings can no longer be computed again, and what was left is as it was left."
            ).format(days=thousands(len(found.thinned)), readings=thousands(sum(day.taken for day in found.thinned)))
        )
    if found.held_until:
        told.append(
            _("The digest is of line {held_until}: up to there it is the record that it was.").format(
                held_until=thousands(found.held_until)
            )
        )
    if found.held_until < found.lines:
        told.append(_("Nothing outside says that this is the last line."))
    st.html("".join(f'<div class="hw hw-line">{sheet.esc(each)}</div>' for each in told))
