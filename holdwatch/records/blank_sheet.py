"""A blank log sheet, for the day the power is out: the limits in force in words, and ruled lines to write on."""

from pathlib import Path
from typing import Any

from sqlmodel import Session

from holdwatch.errors import ConfigError
from holdwatch.language import N_, _
from holdwatch.limits.telling import NAMES
from holdwatch.quantities import Scale
from holdwatch.records.fixed_words import BLANK, fixed_words
from holdwatch.records.front import covered, foot, limits_note, limits_rows
from holdwatch.records.gathering import PAPERS
from holdwatch.records.setting import Setting, speaking_of_site
from holdwatch.records.span import Span
from holdwatch.records.times import Times, printed_when
from holdwatch.records.trust_lines import standing
from holdwatch.records.typeset import typeset
from holdwatch.records.write import whole_file
from holdwatch.storage.engine import Store
from holdwatch.storage.register import batches, site_at, units
from holdwatch.views.limits import governing

__all__ = ["MOST_PAGES", "blank_pdf", "print_blank"]

MOST_PAGES = 50
_HOW = N_(
    "Write the time by the clock on the wall, which unit, or which batch and vessel, what a clean thermometer shows in the middle of the food, and your initials, at once and in ink. A line that is not written shows nothing. Type the sheet in afterwards (Records, Written by hand): each entry is marked as entered later, by whom; keep the paper."
)


def print_blank(store: Store, out: Path, *, pages: int = 2, paper: str = "letter", by: str = "", now_ms: int) -> None:
    """Print a blank log sheet with so many ruled pages to the PDF `out`.

    Raises
    ------
    ConfigError
        If the paper is unknown, so many pages cannot be, the site is not set, or `out` cannot be written.
    """
    pdf = blank_pdf(store, pages=pages, paper=paper, by=by, now_ms=now_ms)
    with whole_file(out) as file:
        file.write(pdf)


def blank_pdf(store: Store, *, pages: int, paper: str, by: str, now_ms: int) -> bytes:
    """Return a blank log sheet as a PDF; see `print_blank`."""
    if paper not in PAPERS:
        raise ConfigError(_("there is no paper called {paper!r}: use a4 or letter").format(paper=paper))
    if not 1 <= pages <= MOST_PAGES:
        raise ConfigError(
            _("{pages} ruled pages cannot be: give a number from 1 to {most_pages}").format(
                pages=pages, most_pages=MOST_PAGES
            )
        )
    with speaking_of_site(store, now_ms), store.read() as session:
        sheet = _gather(session, pages, PAPERS[paper], by, now_ms)
    return typeset(sheet, now_ms, pages=("paper.typ", "blank.typ"))


def _gather(session: Session, pages: int, paper: str, by: str, now_ms: int) -> dict[str, Any]:
    site = site_at(session, now_ms)
    span = Span(now_ms, now_ms)
    times = Times(site.timezone, span)
    setting = Setting(span, now_ms, site.timezone, Scale(site.unit), times)
    found, covers = governing(session, site), covered(session)
    asked = {row.clause: _(NAMES[part]) for part, row in found.limits.figures()}
    running = ", ".join(f"{batch.lot} {batch.product}" for batch in batches(session, running_only=True))
    when = printed_when(times.whole(now_ms), by)
    return {
        "paper": paper,
        **fixed_words(BLANK),
        "document_title": _("Blank log sheet, {site}").format(site=site.name),
        "heading": _("Log sheet, to be written by hand"),
        "caution": foot([found]),
        "head": {
            "site": site.name,
            "kind": _("blank log sheet"),
            "period_short": "",
            "printed": _("Printed {when}").format(when=when),
            "record": standing(session).small(),
            "facts": [
                [_("Premises"), site.name],
                [_("Units"), ", ".join(unit.name for unit in units(session)) or _("none is registered")],
                [_("Batches"), _("running when this was printed: {batches}").format(batches=running or _("none"))],
                [
                    _("Temperatures"),
                    _("in °{scale}; write another unit beside the figure").format(scale=site.unit),
                ],
                [_("Printed"), when],
            ],
        },
        "limits": [
            [asked.get(clause, "–"), asks, clause, source]
            for clause, asks, source, *_rest in limits_rows([found], covers)
        ],
        "limits_note": limits_note([found], setting),
        "how": _(_HOW),
        "scale": site.unit,
        "pages": pages,
    }
