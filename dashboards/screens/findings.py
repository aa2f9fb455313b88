"""Findings: the open ones first; one page each, made for a phone."""

import streamlit as st

from dashboards import data, speaking
from dashboards.parts import forms, found, handling, review, sheet
from dashboards.parts.unfolding import unfold
from holdwatch.language import _
from holdwatch.views import words
from holdwatch.views.model import FindingView, SiteView

_REPEAT_S = 5.0
_NEWEST, _EARLIER = 30, 100  # of those that are over and settled; a text standing here alone would be drawn on the page


@speaking.repeated(_REPEAT_S)
def listing() -> None:
    """Draw the open findings, then the closed ones."""
    site = data.site()
    everything = data.findings(newest=_NEWEST + 1)  # one more tells whether there are earlier ones
    still = [f for f in everything if f.closed_ms is None]
    waiting = [f for f in everything if f.closed_ms is not None and f.wants_somebody]
    done = _done(everything)
    st.html(sheet.heading(_("Open findings: {count}").format(count=len(still))))
    if not still:
        st.html(sheet.line(_("Nothing is open. What the watch finds appears here by itself.")))
    else:
        _rows(still, site)
    if waiting:
        st.html(sheet.heading(_("Over, and nobody has said what was done: {count}").format(count=len(waiting)), 2))
        _rows(waiting, site)
    if done:
        st.html(sheet.heading(_("Closed"), 2))
        _rows(done[:_NEWEST], site)
    if len(done) > _NEWEST:
        unfold(_("Earlier findings"), lambda: _earlier(site), key="findings-earlier")


def _earlier(site: SiteView) -> None:
    done = _done(data.findings(newest=_EARLIER))
    _rows(done[_NEWEST:], site)
    if len(done) >= _EARLIER:
        st.html(sheet.small_print(_("Older ones are on paper: Records prints the findings of any days.")))


def _done(findings: list[FindingView]) -> list[FindingView]:
    return [f for f in findings if f.closed_ms is not None and not f.wants_somebody]


def _rows(findings: list[FindingView], site: SiteView) -> None:
    st.html("".join(found.row(f, site) for f in findings))


@speaking.repeated(_REPEAT_S)
def live(finding_id: int) -> None:
    """Draw what is known of one finding, and what became of its alerts."""
    site, finding = data.site(), data.finding(finding_id)
    if finding is None:
        st.html(sheet.trouble(_("There is no finding number {finding_id}.").format(finding_id=finding_id)))
        return
    st.html(sheet.heading(finding.title))
    st.html(f'<div class="hw" style="font-size:1.3rem">{sheet.mark(finding.mark)}</div>')
    st.html(
        f'<div class="hw" style="font-size:1.15rem;padding:.4rem 0">{sheet.esc(sheet.sentence(finding.reason))}</div>'
    )
    facts = [
        (_("Stands"), sheet.sentence(handling.stands(finding, site))),
        (_("Since"), words.clock_words(finding.since_ms, site.zone)),
        (_("Found"), words.clock_words(finding.opened_ms, site.zone)),
        (_("Clause"), " · ".join(p for p in (finding.source or finding.clause, finding.requires) if p)),
        (_("Time left"), _left(finding)),
        (_("Do"), finding.todo if finding.closed_ms is None else ""),
        (_("Due"), "" if finding.due_ms is None else words.clock_words(finding.due_ms, site.zone)),
        (_("Closed"), "" if finding.closed_ms is None else words.clock_words(finding.closed_ms, site.zone)),
        ("", finding.close_reason),
    ]
    st.html(sheet.table(["", ""], [[sheet.whole(n), sheet.esc(v)] for n, v in facts if v]))
    if finding.batch_id is not None:
        st.page_link("screens/batches.py", label=_("Open the batch"), query_params={"batch": str(finding.batch_id)})
    if finding.unit_id is not None:
        st.page_link("screens/units.py", label=_("Open the unit"), query_params={"unit": str(finding.unit_id)})
    handling.entries(finding, site)
    _alerts(finding, site)
    _versions(finding, site)


def _left(finding: FindingView) -> str:
    """Say how long the limit still runs; nothing where none does."""
    if finding.due_ms is None or finding.closed_ms is not None:
        return ""
    return words.time_left(finding.due_ms, data.now_ms())


def _alerts(finding: FindingView, site: SiteView) -> None:
    st.html(sheet.heading(_("Who was told"), 2))
    if not finding.alerts:
        st.html(sheet.line(_("Nobody: no contact has been added, or it only changed its wording.")))
        return
    rows = []
    for alert in finding.alerts:
        sent = "" if alert.sent_ms is None else f" {words.clock_words(alert.sent_ms, site.zone)}"
        error = f": {alert.last_error}" if alert.last_error and alert.sent_ms is None else ""
        rows.append([sheet.esc(alert.contact), sheet.esc(f"{_(alert.state)}{sent}{error}"), sheet.esc(alert.title)])
    st.html(sheet.table([_("Contact"), _("Channel"), _("Message")], rows))


def _versions(finding: FindingView, site: SiteView) -> None:
    if len(finding.versions) < 2:  # noqa: PLR2004 - the first version is the finding itself
        return
    st.html(sheet.heading(_("How it has changed"), 2))
    rows = [
        [
            sheet.esc(words.clock_words(v.at_ms, site.zone)),
            sheet.esc(words.version_words(v.kind, v.verdict)),
            sheet.esc(v.reason),
        ]
        for v in finding.versions
    ]
    st.html(sheet.table([_("When"), _("Was"), _("Why")], rows))


def record(finding_id: int) -> None:
    """Draw what can be done about it now."""
    finding = data.finding(finding_id)
    if finding is not None and (finding.wants_somebody or finding.entries):
        handling.do(finding)
        review.draw(finding)


wanted = st.query_params.get("finding", "")
if wanted.isdigit():
    forms.confirmation()
    live(int(wanted))
    record(int(wanted))
else:
    listing()
