"""Units: what each walk-in, case and cabinet has read, day by day."""

from datetime import date

import streamlit as st

from dashboards import data, speaking
from dashboards.parts import charts, sheet
from dashboards.parts.at_first import at_first
from holdwatch import clock
from holdwatch.language import N_, _, short_day
from holdwatch.views import words
from holdwatch.views.model import UnitView

_SPANS = {N_("day"): 1, N_("week"): 7, N_("month"): 30, N_("year"): 365}
_REPEAT_S = 10.0
_SPELLS = 10


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
    """Draw what the record shows of each local day."""
    if not unit.days:
        return
    latest_first = sorted(unit.days, key=lambda d: d.day, reverse=True)
    rows = [
        [sheet.whole(_day(d.day)), sheet.whole(d.probe), sheet.mark(d.mark), sheet.whole(d.clause), sheet.esc(d.words)]
        for d in latest_first
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
    rows = [
        [
            sheet.whole(f"{s.probe}, {words.medium(media.get(s.probe, ''))}".rstrip(", ")),
            sheet.esc(s.words),
            sheet.whole(s.clause),
        ]
        for s in latest_first
    ]
    st.html(sheet.heading(_("Spells beyond the level"), 2))
    st.html(
        sheet.small_print(_("Air beyond the level only warns: a limit for food is neither kept nor broken by air."))
    )
    st.html(sheet.table([_("Probe"), _("When"), _("Clause")], rows[:_SPELLS]))
    if len(rows) > _SPELLS:
        with st.expander(_("The other {count} spells").format(count=len(rows) - _SPELLS)):
            st.html(sheet.table([_("Probe"), _("When"), _("Clause")], rows[_SPELLS:]))


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
    for finding in unit.findings:
        link = f'<a href="/findings?finding={finding.id}" target="_self">{sheet.esc(finding.title)}</a>'
        st.html(f'<div class="hw hw-line">{sheet.mark(finding.mark)} {link}: {sheet.esc(finding.reason)}</div>')


chosen = choose()
if chosen is not None:
    live(*chosen)
