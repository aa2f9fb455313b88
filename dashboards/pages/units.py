"""Units: what each walk-in, case and cabinet has read, day by day."""

import streamlit as st

from dashboards import data
from dashboards.parts import charts, sheet
from holdwatch import clock
from holdwatch.views import words
from holdwatch.views.model import SiteView, UnitView

_SPANS = {"day": 1, "week": 7, "month": 30, "year": 365}
_REPEAT_S = 10.0


def choose() -> tuple[int, int] | None:
    """Ask for the unit and the span; both stay in the address."""
    units = data.units()
    if not units:
        st.html(
            '<div class="hw hw-line">No unit yet. On the command line: '
            "<code>holdwatch unit add &quot;Walk-in 1&quot; --kind walk-in</code></div>"
        )
        return None
    names = dict(units)
    wanted = st.query_params.get("unit", "")
    first = int(wanted) if wanted.isdigit() and int(wanted) in names else units[0][0]
    ids = list(names)
    left, right = st.columns(2)
    unit_id = left.selectbox("Unit", ids, index=ids.index(first), format_func=lambda i: names[i])
    span = right.segmented_control("Span", list(_SPANS), default="day") or "day"
    st.query_params["unit"] = str(unit_id)
    return int(unit_id), _SPANS[str(span)]


def days(unit: UnitView) -> None:
    """Draw what the record shows of each local day."""
    if not unit.days:
        return
    rows = [
        [sheet.esc(d.day), sheet.esc(d.probe), sheet.mark(d.mark), sheet.whole(d.clause), sheet.esc(d.words)]
        for d in unit.days
    ]
    st.html(sheet.table(["Day", "Probe", "The record shows", "Clause", ""], rows))


def spells(unit: UnitView, site: SiteView) -> None:
    """Draw the spells beyond the level."""
    if not unit.spells:
        return
    st.html('<h2 class="hw" style="font-size:1.1rem">Spells beyond the level</h2>')
    rows = [
        [
            sheet.esc(s.probe),
            sheet.esc(s.words),
            sheet.esc(words.temperature(s.spell.extreme_c, site.scale)),
            sheet.whole(s.clause),
        ]
        for s in unit.spells
    ]
    st.html(sheet.table(["Probe", "When", "Farthest", "Clause"], rows))


@st.fragment(run_every=_REPEAT_S)
def live(unit_id: int, span_days: int) -> None:
    """Draw the unit: traces, days, spells, findings."""
    site, now = data.site(), data.now_ms()
    unit = data.unit(unit_id, now - span_days * clock.MS_PER_DAY, now)
    if unit is None:
        st.html(sheet.trouble(f"There is no unit number {unit_id}."))
        return
    st.html(sheet.unit_row(unit, site, now))
    if unit.probes:
        charts.traces(unit, site, key=f"u{unit_id}-{span_days}")
    else:
        st.html('<div class="hw hw-line">No probe is placed here: <code>holdwatch place p1 --unit …</code></div>')
    days(unit)
    spells(unit, site)
    for finding in unit.findings:
        link = f'<a href="/findings?finding={finding.id}" target="_self">{sheet.esc(finding.title)}</a>'
        st.html(f'<div class="hw hw-line">{sheet.mark(finding.mark)} {link}: {sheet.esc(finding.reason)}</div>')


chosen = choose()
if chosen is not None:
    live(*chosen)
