"""A finding as one row of a list."""

from dashboards.parts import handling, sheet
from holdwatch.language import _
from holdwatch.views import words
from holdwatch.views.model import FindingView, SiteView

__all__ = ["row"]


def row(finding: FindingView, site: SiteView) -> str:
    """Return a finding as a row: mark, title with the way to its page, why, since when, where it stands."""
    link = f"/findings?finding={finding.id}"
    since = words.clock_words(finding.since_ms, site.zone)
    closed = (
        ""
        if finding.closed_ms is None
        else " · " + _("closed {time}").format(time=words.clock_words(finding.closed_ms, site.zone))
    )
    if closed and finding.close_reason:
        closed += f": {finding.close_reason}"
    clause = f" · {finding.clause}" if finding.clause else ""
    stands = f" · {handling.stands(finding, site)}" if finding.wants_somebody or finding.entries else ""
    return (
        '<div class="hw" style="border-top:1px solid var(--rule);padding:.5rem 0">'
        f'<div>{sheet.mark(finding.mark)} <a class="hw-name" href="{link}" target="_self">{sheet.esc(finding.title)}</a></div>'
        f'<div class="hw-line">{sheet.esc(sheet.sentence(finding.reason))}</div>'
        f'<div class="hw-line" style="color:var(--faint)">{sheet.esc(_("since {time}").format(time=since))}{sheet.esc(clause)}{sheet.esc(closed)}{sheet.esc(stands)}</div></div>'
    )
