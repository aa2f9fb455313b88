"""The charts on a page: the same functions that draw them on paper."""

from collections.abc import Callable
from functools import partial

import streamlit as st

from dashboards.parts import sheet
from dashboards.parts.unfolding import unfold
from holdwatch.charts.curves import CurveView, LevelView
from holdwatch.charts.figures import Figure, curve_figures, trace_figures
from holdwatch.charts.layers import Chart
from holdwatch.charts.small import small_curve, small_trace
from holdwatch.charts.staircase import describe, staircase
from holdwatch.charts.theme import Look
from holdwatch.charts.trace import pen_trace
from holdwatch.language import _
from holdwatch.views import words
from holdwatch.views.model import ProbeRow, SiteView, UnitView


def _look(site: SiteView, *, height: int = 380) -> Look:
    """Return how charts look here."""
    return Look(zone=site.zone, scale=site.scale, height=height, compact=_on_phone())


def _on_phone() -> bool:
    """Tell from what the browser says of itself whether labels must be few: a chart does not know how wide it gets."""
    said = st.context.headers.get("User-Agent") or ""
    return "Mobi" in said


def staircase_of(curve: CurveView, site: SiteView, *, key: str) -> None:
    """Draw the large chart of one vessel."""
    look = _look(site)
    _draw(staircase(curve, look), key=key)
    _figures(partial(curve_figures, curve, look), key=key)


def traces(unit: UnitView, site: SiteView, *, key: str) -> None:
    """Draw the trace of each probe in a unit, the limit ruled through it."""
    for probe in unit.probes:
        st.html(sheet.heading(f"{probe.code}, {words.medium(probe.medium)}", 2))
        title = f"{probe.code} ({words.medium(probe.medium)})"
        mine = f"{key}-{probe.code}"
        _draw(pen_trace(probe.trace, _levels(probe), _look(site, height=220), title=title), key=mine)
        _figures(partial(trace_figures, probe.trace, _levels(probe), _look(site)), key=mine)


def _draw(chart: Chart, *, key: str) -> None:
    """Draw a chart as it is."""
    st.vega_lite_chart(spec=chart, theme=None, width="stretch", key=key)


def _figures(made: Callable[[], list[Figure]], *, key: str) -> None:
    """Offer the figures of a chart as a table: for screen readers and keyboards, and to copy."""

    def draw() -> None:
        told = [[sheet.esc(row.when), sheet.esc(row.temperature), sheet.esc(row.what)] for row in made()]
        st.html(sheet.table([_("When"), _("Temperature"), _("What")], told))

    unfold(_("The figures of this chart"), draw, key=f"{key}-figures")


def small_of(curve: CurveView, site: SiteView) -> str:
    """Return the small curve of one vessel as an image."""
    return sheet.picture(small_curve(curve, _look(site)), describe(curve, _look(site)))


def small_traces(unit: UnitView, site: SiteView) -> list[str]:
    """Return the small trace of each probe in a unit as an image."""
    look = _look(site)
    named = [
        (
            p,
            _("{unit}, {medium} probe {probe}, the last 24 hours").format(
                unit=unit.name, medium=words.medium(p.medium), probe=p.code
            ),
        )
        for p in unit.probes
    ]
    return [sheet.picture(small_trace(probe.trace, probe.level, look), said) for probe, said in named]


def _levels(probe: ProbeRow) -> list[LevelView]:
    return [] if probe.level is None else [probe.level]
