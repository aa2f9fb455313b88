"""What was done alone, and what of it waits to be reviewed by somebody else."""

from dataclasses import dataclass

from sqlmodel import Session

from holdwatch.language import _
from holdwatch.storage.alone import LoneSpan, entries_of, lone_spans, unverified
from holdwatch.storage.ids import id_of
from holdwatch.storage.tables import Event
from holdwatch.views.about import about
from holdwatch.views.words import event_words

__all__ = ["LoneView", "lone_mark", "lone_views", "to_be_reviewed"]


@dataclass(frozen=True)
class LoneView:
    """A span in which somebody worked alone, with what they recorded."""

    id: int
    name: str
    from_ms: int
    until_ms: int
    runs: bool
    entries: tuple[tuple[int, str], ...]
    """Instant and words of each entry, in the order in which they were recorded. [ms]"""
    findings: tuple[tuple[int, str], ...]
    """Number and title of each finding that they decided about, and that waits to be verified first."""
    reviewed_by: str


def lone_views(session: Session, now_ms: int) -> list[LoneView]:
    """Return every span in which somebody worked alone and recorded something, the newest first."""
    found = [_view(session, span, now_ms) for span in reversed(lone_spans(session))]
    return [view for view in found if view.entries or view.runs]


def to_be_reviewed(session: Session, now_ms: int) -> list[LoneView]:
    """Return what was done alone, is over, and waits for somebody else to review it; the oldest first."""
    waiting = [_view(session, span, now_ms) for span in lone_spans(session) if not span.reviewed_by]
    return [view for view in waiting if view.entries and not view.runs]


def lone_mark(spans: list[LoneSpan], event: Event) -> str:
    """Return what screens and papers say of an entry that was made alone; nothing of any other."""
    for span in spans:
        if span.covers(event):
            if span.reviewed_by:
                return _("worked alone; reviewed by {name}").format(name=span.reviewed_by)
            return _("worked alone; to be reviewed")
    return ""


def _view(session: Session, span: LoneSpan, now_ms: int) -> LoneView:
    return LoneView(
        id=span.id,
        name=span.name,
        from_ms=span.from_ms,
        until_ms=span.until_ms,
        runs=span.runs(now_ms),
        entries=tuple((event.at_ms, _words(session, event)) for event in entries_of(session, span)),
        findings=tuple((id_of(finding), finding.title) for finding in unverified(session, span)),
        reviewed_by=span.reviewed_by,
    )


def _words(session: Session, event: Event) -> str:
    what = ": ".join(part for part in (event_words(event.kind), str(event.facts.get("disposition") or "")) if part)
    return " · ".join(part for part in (about(session, event), what, event.text) if part)
