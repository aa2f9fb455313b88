"""Findings: the open ones first; one page each, made for a phone."""

import streamlit as st

from dashboards import data
from dashboards.parts import forms, sheet
from holdwatch.storage.tables import EventKind
from holdwatch.views import words
from holdwatch.views.model import FindingView, SiteView

_REPEAT_S = 5.0
_DISPOSITIONS = ("keep", "reheat", "re-chill", "discard")


def one_line(finding: FindingView, site: SiteView) -> str:
    """Return a finding as a row of the list."""
    link = f"/findings?finding={finding.id}"
    since = words.clock_words(finding.since_ms, site.zone)
    closed = "" if finding.closed_ms is None else f" · closed {words.clock_words(finding.closed_ms, site.zone)}"
    clause = f" · {finding.clause}" if finding.clause else ""
    return (
        '<div class="hw" style="border-top:1px solid var(--rule);padding:.5rem 0">'
        f'<div>{sheet.mark(finding.mark)} <a class="hw-name" href="{link}" target="_self">{sheet.esc(finding.title)}</a></div>'
        f'<div class="hw-line">{sheet.esc(sheet.sentence(finding.reason))}</div>'
        f'<div class="hw-line" style="color:var(--faint)">since {sheet.esc(since)}{sheet.esc(clause)}{sheet.esc(closed)}</div></div>'
    )


@st.fragment(run_every=_REPEAT_S)
def listing() -> None:
    """Draw the open findings, then the closed ones."""
    site = data.site()
    everything = data.findings(open_only=False)
    still = [f for f in everything if f.closed_ms is None]
    done = [f for f in everything if f.closed_ms is not None]
    st.html(sheet.heading(f"Open findings: {len(still)}"))
    if not still:
        st.html('<div class="hw hw-line">Nothing is open. What the watch finds appears here by itself.</div>')
    else:
        st.html("".join(one_line(f, site) for f in still))
    if done:
        st.html(sheet.heading("Closed", 2))
        st.html("".join(one_line(f, site) for f in done[:100]))


@st.fragment(run_every=_REPEAT_S)
def live(finding_id: int) -> None:
    """Draw what is known of one finding, and what became of its alerts."""
    site, finding = data.site(), data.finding(finding_id)
    if finding is None:
        st.html(sheet.trouble(f"There is no finding number {finding_id}."))
        return
    st.html(sheet.heading(finding.title))
    st.html(f'<div class="hw" style="font-size:1.3rem">{sheet.mark(finding.mark)}</div>')
    st.html(
        f'<div class="hw" style="font-size:1.15rem;padding:.4rem 0">{sheet.esc(sheet.sentence(finding.reason))}</div>'
    )
    facts = [
        ("Since", words.clock_words(finding.since_ms, site.zone)),
        ("Found", words.clock_words(finding.opened_ms, site.zone)),
        ("Clause", " · ".join(p for p in (finding.source or finding.clause, finding.requires) if p)),
        ("Time left", _left(finding)),
        ("Do", finding.todo if finding.closed_ms is None else ""),
        ("Due", "" if finding.due_ms is None else words.clock_words(finding.due_ms, site.zone)),
        ("Closed", "" if finding.closed_ms is None else words.clock_words(finding.closed_ms, site.zone)),
        ("", finding.close_reason),
    ]
    st.html(sheet.table(["", ""], [[sheet.esc(n), sheet.esc(v)] for n, v in facts if v]))
    if finding.batch_id is not None:
        st.page_link("screens/batches.py", label="Open the batch", query_params={"batch": str(finding.batch_id)})
    if finding.unit_id is not None:
        st.page_link("screens/units.py", label="Open the unit", query_params={"unit": str(finding.unit_id)})
    _alerts(finding, site)
    _versions(finding, site)


def _left(finding: FindingView) -> str:
    """Say how long the limit still runs; nothing where none does."""
    if finding.due_ms is None or finding.closed_ms is not None:
        return ""
    return words.time_left(finding.due_ms, data.now_ms())


def _alerts(finding: FindingView, site: SiteView) -> None:
    st.html(sheet.heading("Who was told", 2))
    if not finding.alerts:
        st.html('<div class="hw hw-line">Nobody: no contact has been added, or it only changed its wording.</div>')
        return
    rows = []
    for alert in finding.alerts:
        sent = "" if alert.sent_ms is None else f" {words.clock_words(alert.sent_ms, site.zone)}"
        error = f": {alert.last_error}" if alert.last_error and alert.sent_ms is None else ""
        rows.append([sheet.esc(alert.contact), sheet.esc(f"{alert.state}{sent}{error}"), sheet.esc(alert.title)])
    st.html(sheet.table(["Contact", "Channel", "Message"], rows))


def _versions(finding: FindingView, site: SiteView) -> None:
    if len(finding.versions) < 2:  # noqa: PLR2004 - the first version is the finding itself
        return
    st.html(sheet.heading("How it has changed", 2))
    rows = [
        [
            sheet.esc(words.clock_words(v.at_ms, site.zone)),
            sheet.esc(f"{v.kind} {v.verdict}".strip()),
            sheet.esc(v.reason),
        ]
        for v in finding.versions
    ]
    st.html(sheet.table(["When", "Was", "Why"], rows))


def record(finding_id: int) -> None:
    """Draw the form that records what was done about it."""
    site, finding = data.site(), data.finding(finding_id)
    if finding is None or not finding.lot:
        return
    key = f"f{finding_id}"
    fresh = forms.fresh(key)
    st.html(f"{sheet.heading('Record what was done', 2)}{sheet.small_print(sheet.HOT)}")
    with st.form(fresh):
        disposition = st.radio("The food", _DISPOSITIONS, index=None, horizontal=True, key=f"{fresh}-food")
        food_slot = st.empty()
        text = st.text_area("What was done", max_chars=500, key=f"{fresh}-text").strip()
        by = forms.who(fresh)
        who_slot = st.empty()
        at = forms.when(fresh, site)
        pressed = st.form_submit_button("Record it", type="primary")
    if not pressed:
        return
    if not disposition:
        with food_slot:
            forms.problem("Say what becomes of the food.")
    if not by:
        with who_slot:
            forms.problem("Say who decides it.")
    if disposition and by and at is not None:
        said = f"{disposition}: {text}" if text else disposition
        if data.note(finding.lot, EventKind.ACTION, by=by, at_ms=at, vessel=finding.vessel, text=said):
            forms.recorded(key, f"Recorded: {said}, by {by}.")


wanted = st.query_params.get("finding", "")
if wanted.isdigit():
    forms.confirmation()
    live(int(wanted))
    record(int(wanted))
else:
    listing()
