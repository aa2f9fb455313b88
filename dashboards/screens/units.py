"""Units: what each walk-in, case and cabinet has read, day by day."""

from datetime import date
from functools import partial

import streamlit as st

from dashboards import data, speaking
from dashboards.parts import charts, sheet
from dashboards.parts.at_first import at_first
from dashboards.parts.unfolding import unfold
from holdwatch import clock
from holdwatch.charts.marks import Mark
from holdwatch.language import N_, _, short_day
from holdwatch.views import words
from holdwatch.views.model import DayView, FindingView, SpellView, UnitView
from holdwatch.views.units import days_by_mark

_SPANS = {N_("day"): 1, N_("week"): 7, N_("month"): 30, N_("year"): 365}
_REPEAT_S = 10.0
_SPELLS, _DAYS = 10, 31
_WANTED = (Mark.DEVIATION, Mark.NOT_SHOWN, Mark.RUNNING)  # of a day that is over none of them is in order


def choose() -> tuple[int, int] | None:
    """Ask for the unit and the span; both stay in the address."""
    units = data.units()
    if not units:
        way = f'<a href="/setup" target="_self">{_("Add the first one")}</a>'
        said = _("No unit yet. {link}, where each probe that speaks appears by itself; or on the command line:")
        st.html(
            f'<div class="hw hw-line">{said.format(link=way)} '
            "<code>holdwatch unit add &quot;Walk-in 1&quot; --kind walk-in</code></div>"
        )
        return None
    names = dict(units)
    ids = list(names)
    wanted = st.query_params.get("unit", "")
    unit = at_first("unit-chosen", int(wanted) if wanted.isdigit() and int(wanted) in names else ids[0])
    wanted = st.query_params.get("span", "")
    over = at_first("unit-span", wanted if wanted in _SPANS else "day")
    left, right = st.columns(2)
    unit_id = left.selectbox(
        _("Unit"), ids, ids.index(unit) if unit in names else 0, format_func=lambda i: names[i], key="unit-chosen"
    )
    span = right.segmented_control(_("Span"), list(_SPANS), default=over, format_func=_, required=True, key="unit-span")
    st.query_params.update({"unit": str(unit_id), "span": str(span)})
    return int(unit_id), _SPANS[str(span)]


def days(unit: UnitView) -> None:
    """Draw what the record shows of the latest local days, and of those before what is not in order, the worst first.

    Each of those before is counted too, so that nothing is out of sight and unsaid.
    """
    latest_first = sorted(unit.days, key=lambda d: d.day, reverse=True)
    shown = set(sorted({d.day for d in latest_first}, reverse=True)[:_DAYS])
    latest = [d for d in latest_first if d.day in shown]
    earlier = [d for d in latest_first if d.day not in shown]
    if latest:
        _table(latest)
    if not earlier:
        return
    st.html(sheet.heading(_("The days before"), 2))
    st.html(sheet.line(_counted(earlier)))
    trouble = sorted((d for d in earlier if d.mark in _WANTED), key=lambda d: _WANTED.index(d.mark))
    if trouble:
        _table(trouble[:_DAYS])
    unfold(_("Each of the days before"), partial(_table, earlier), key=f"days-{unit.id}")


def _counted(earlier: list[DayView]) -> str:
    """Say of how many days the record shows what."""
    counts = days_by_mark(earlier)
    return " · ".join(f"{mark.said}: {counts[mark]}" for mark in (*_WANTED, Mark.KEPT, Mark.NO_LIMIT) if counts[mark])


def _table(some: list[DayView]) -> None:
    rows = [
        [sheet.whole(_day(d.day)), sheet.whole(d.probe), sheet.mark(d.mark), sheet.whole(d.clause), sheet.esc(d.words)]
        for d in some
    ]
    st.html(sheet.table([_("Day"), _("Probe"), _("The record shows"), _("Clause"), ""], rows))


def _day(iso: str) -> str:
    """Write a local day as people do, such as Tue 24 Nov."""
    return short_day(date.fromisoformat(iso))


def spells(unit: UnitView) -> None:
    """Draw the spells beyond the level."""
    if not unit.spells:
        return
    media = {probe.code: probe.medium for probe in unit.probes}
    latest_first = list(reversed(unit.spells))

    def draw(some: list[SpellView]) -> None:
        rows = [
            [
                sheet.whole(f"{s.probe}, {words.medium(media.get(s.probe, ''))}".rstrip(", ")),
                sheet.esc(s.words),
                sheet.whole(s.clause),
            ]
            for s in some
        ]
        st.html(sheet.table([_("Probe"), _("When"), _("Clause")], rows))

    st.html(sheet.heading(_("Spells beyond the level: {count}").format(count=len(latest_first)), 2))
    st.html(
        sheet.small_print(_("Air beyond the level only warns: a limit for food is neither kept nor broken by air."))
    )
    draw(latest_first[:_SPELLS])
    if len(latest_first) > _SPELLS:
        unfold(_("Earlier spells"), partial(draw, latest_first[_SPELLS:]), key=f"spells-{unit.id}")


@speaking.repeated(_REPEAT_S)
def live(unit_id: int, span_days: int) -> None:
    """Draw the unit: traces, days, spells, findings."""
    site, now = data.site(), data.now_ms()
    unit = data.unit(unit_id, now - span_days * clock.MS_PER_DAY, now)
    if unit is None:
        st.html(sheet.trouble(_("There is no unit number {unit_id}.").format(unit_id=unit_id)))
        return
    st.html(sheet.unit_row(unit, site, now))
    if unit.probes:
        charts.traces(unit, site, key=f"u{unit_id}-{span_days}")
    else:
        said = _("No probe is placed here. {link}; another with {command}").format(
            link=f'<a href="/setup" target="_self">{_("One that speaks is placed by one form")}</a>',
            command="<code>holdwatch place p1 --unit …</code>",
        )
        st.html(f'<div class="hw hw-line">{said}</div>')
    for said in (*unit.rests, *unit.files):
        st.html(f'<div class="hw hw-line">{sheet.esc(sheet.sentence(said))}</div>')
    days(unit)
    spells(unit)
    if unit.findings:
        st.html("".join(map(_finding, unit.findings)))


def _finding(finding: FindingView) -> str:
    link = f'<a href="/findings?finding={finding.id}" target="_self">{sheet.esc(finding.title)}</a>'
    return f'<div class="hw hw-line">{sheet.mark(finding.mark)} {link}: {sheet.esc(finding.reason)}</div>'


chosen = choose()
if chosen is not None:
    live(*chosen)
