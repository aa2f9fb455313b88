"""The inspection log of a span, printed: units, batches, findings and gaps, as an inspector reads them.

What is printed is what the watch had stored at the instant of printing; nothing is judged here.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from altair.utils.schemapi import debug_mode

from holdwatch import clock
from holdwatch.errors import ConfigError
from holdwatch.quantities import Scale
from holdwatch.records.batch_pages import BatchPages, batch_pages
from holdwatch.records.check_pages import check_rows, review_rows
from holdwatch.records.finding_pages import FindingPages, finding_pages
from holdwatch.records.front import (
    covered,
    foot,
    limits_note,
    limits_rows,
    not_covered,
    probe_rows,
    sites_in_force,
    summary,
)
from holdwatch.records.round_pages import round_pages
from holdwatch.records.setting import Setting
from holdwatch.records.span import Span
from holdwatch.records.times import Times, length
from holdwatch.records.trust_lines import Standing, standing
from holdwatch.records.typeset import typeset
from holdwatch.records.unit_pages import ProbeGap, UnitPages, unit_pages
from holdwatch.records.write import whole_file
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import findings
from holdwatch.storage.register import batches, site_at, units
from holdwatch.storage.tables import Batch, FindingKind, SiteVersion

__all__ = ["gather", "print_log"]

_PAPERS = {"a4": "a4", "letter": "us-letter"}
_ON_FIRST_PAGE = 8
_Told = Callable[[str], None]


def print_log(
    store: Store,
    first_ms: int,
    last_ms: int,
    out: Path,
    *,
    paper: str = "letter",
    scale: Scale | None = None,
    by: str = "",
    now_ms: int | None = None,
    told: _Told | None = None,
) -> None:
    """Print the inspection log from `first_ms` to `last_ms`, both included, to the PDF `out`.

    Parameters
    ----------
    paper : ``a4`` or ``letter``.
    scale : in which temperatures are printed; the site's own if not given.
    by : who prints it.
    now_ms : the instant of printing; the present if not given. The same record printed at the same instant gives
        the same bytes.
    told : is told in words what is being gathered.

    Raises
    ------
    ConfigError
        If the span is empty or lies ahead, the site is not set, or `out` cannot be written.
    """
    if paper not in _PAPERS:
        raise ConfigError(f"there is no paper called {paper!r}: use a4 or letter")
    now_ms = clock.now_ms() if now_ms is None else now_ms
    if last_ms < first_ms:
        raise ConfigError("the span ends before it begins: exchange the two")
    if first_ms > now_ms:
        raise ConfigError("the span lies ahead, and nothing is recorded of it yet: choose an earlier first day")
    tell = told or _silent
    with debug_mode(False):  # the drawings are checked by their own tests; here that would cost half of the time
        sheet = gather(store, Span(first_ms, last_ms), now_ms, paper=paper, scale=scale, by=by, tell=tell)
    tell("setting the pages")
    pdf = typeset(sheet, now_ms)
    with whole_file(out) as file:
        file.write(pdf)
    tell("")


def gather(
    store: Store, span: Span, now_ms: int, *, paper: str, scale: Scale | None, by: str, tell: _Told
) -> dict[str, Any]:
    """Gather all that is printed, as the typesetter takes it; each subject is read in a short transaction."""
    with store.read() as session:
        site = site_at(session, now_ms)
        setting = Setting(span, now_ms, site.timezone, scale or Scale(site.unit), Times(site.timezone, span))
        in_force, covers = sites_in_force(session, setting), covered(session)
        probes = probe_rows(session, setting)
        rounds = round_pages(session, setting)
        checks, reviews = check_rows(session, setting), review_rows(session, setting)
        listed, stands = units(session), standing(session)
        run = [batch for batch in batches(session) if _touches(batch, setting)]
        found = [f.id for f in findings(session, since_ms=span.first_ms, until_ms=setting.until_ms) if f.id is not None]
    unit_parts, batch_parts, finding_parts = [], [], []
    for number, unit in enumerate(listed, 1):
        tell(f"unit {number} of {len(listed)}")
        with store.read() as session:
            unit_parts.append(unit_pages(session, unit, setting))
    for number, batch in enumerate(run, 1):
        tell(f"batch {number} of {len(run)}")
        with store.read() as session:
            batch_parts.append(batch_pages(session, batch, setting))
    for number, finding_id in enumerate(found, 1):
        tell(f"finding {number} of {len(found)}")
        with store.read() as session:
            finding_parts.append(finding_pages(session, finding_id, setting))
    body = _body(unit_parts, batch_parts, finding_parts, setting)
    return {
        "paper": _PAPERS[paper],
        "document_title": f"Inspection log, {site.name}, {setting.times.days()}",
        "caution": foot(in_force),
        "head": _head(site, setting, by, stands),
        "limits": limits_rows(in_force, covers),
        "limits_note": limits_note(in_force, setting),
        "probes": probes,
        "not_covered": not_covered(covers),
        "checks": checks,
        "reviews": reviews,
        **rounds,
        **body,
    }


def _touches(batch: Batch, setting: Setting) -> bool:
    """Tell whether a batch ran within the span."""
    begun = batch.started_ms <= setting.until_ms
    return begun and (batch.ended_ms is None or batch.ended_ms >= setting.span.first_ms)


def _head(site: SiteVersion, setting: Setting, by: str, stands: Standing) -> dict[str, Any]:
    """Say whose log it is, of which period, printed when and by whom."""
    times = setting.times
    period = f"{times.whole(setting.span.first_ms)} to {times.whole(setting.span.last_ms)}"
    if setting.until_ms < setting.span.last_ms:
        period += f"; the record ends at the instant of printing, {times.whole(setting.now_ms)}"
    printed = f"Printed {times.whole(setting.now_ms)}" + (f" by {by}" if by else "")
    return {
        "site": site.name,
        "kind": "inspection log",
        "period_short": times.days(),
        "printed": printed,
        "record": stands.small(),
        "check": stands.rows(),
        "facts": [
            ["Premises", site.name],
            ["Period", period],
            ["Local time", times.zone_note()],
            ["Temperatures", f"in °{setting.scale.value}; compared in the unit of the code, before rounding"],
            ["Printed", printed.removeprefix("Printed ")],
        ],
    }


def _body(
    unit_parts: list[UnitPages], batch_parts: list[BatchPages], finding_parts: list[FindingPages], setting: Setting
) -> dict[str, Any]:
    """Put the parts and what they come to together."""
    gaps = sorted(
        [gap for part in unit_parts for gap in part.gaps] + [gap for part in batch_parts for gap in part.gaps],
        key=lambda gap: (gap.gap.from_ms, gap.subject, gap.probe),
    )
    counted = [part for part in finding_parts if part.kind is not FindingKind.SYSTEM]
    return {
        "summary": summary(
            [part.mark for part in batch_parts],
            [mark for part in unit_parts for mark in part.marks],
            [part.mark for part in counted],
            gaps,
            sum(part.undelivered for part in finding_parts),
        ),
        **_attention(finding_parts),
        "nothing": "" if unit_parts or batch_parts else "No batch ran, and no unit is registered.",
        "units": [part.printed for part in unit_parts],
        "batches": [part.printed for part in batch_parts],
        "findings": [part.printed for part in finding_parts],
        "gaps": [_gap(gap, setting) for gap in gaps],
        "gaps_empty": "There is no stretch over 20 min without readings of a placed probe.",
    }


def _attention(parts: list[FindingPages]) -> dict[str, Any]:
    """Choose the findings of the first page: deviations, then what is not shown, then faults; the latest first."""
    order = {FindingKind.DEVIATION: 0, FindingKind.NOT_SHOWN: 1, FindingKind.SYSTEM: 2}
    wanted = [part for part in parts if part.kind in order or not part.over]
    wanted.sort(key=lambda part: (order.get(part.kind, 3), -int(part.line[0])))
    rest = len(wanted) - _ON_FIRST_PAGE
    return {
        "attention": [part.line for part in wanted[:_ON_FIRST_PAGE]],
        "attention_more": f"and {rest} more, on the pages of the findings" if rest > 0 else "",
        "attention_empty": "No deviation, nothing that is not shown and no open warning is recorded in this period.",
    }


def _gap(found: ProbeGap, setting: Setting) -> list[str]:
    """Write one gap; an end that is no reading is told."""
    times, gap = setting.times, found.gap
    begins = times.at(gap.from_ms) + ("" if gap.begins_with_reading else " (no reading before)")
    ends = times.at(gap.to_ms) + ("" if gap.ends_with_reading else " (no reading after)")
    return [found.subject, found.probe, begins, ends, length(gap.length_ms)]


def _silent(what: str) -> None:
    """Tell nobody."""
