"""The Bench: what is running now, by when, and what the units read."""

import streamlit as st

from dashboards import data, speaking
from dashboards.parts import charts, dark, forms, found, questions, sheet, unheard
from holdwatch.language import _
from holdwatch.views import words
from holdwatch.views.model import BatchView, SiteView

FULL_ROWS = 5  # so many batches are shown with their curve; the rest one line each, so that thirty stay readable


@speaking.repeated(2.0)
def running() -> None:
    """Draw the questions, what is wrong with the program, and the running batches."""
    site, now, batches = data.site(), data.now_ms(), data.running()
    st.html(
        f'<div class="hw hw-top"><h1 class="hw-h1">{sheet.esc(site.name)}</h1>'
        f"<span>{sheet.esc(words.clock_words(now, site.zone))}</span></div>"
    )
    forms.confirmation()
    with st.container():  # what comes and goes, in a place of its own: or what stands below would be built anew
        _first(batches, site)
    if not batches:
        st.html(
            f'<div class="hw hw-line" style="padding:1rem 0">{_("Nothing is running.")} '
            f'<a href="/batches" target="_self">{_("Start a batch")}</a>: {_("product, probe, lot.")}</div>'
        )
    else:
        _rows([_row(batch, site, now, i) for i, batch in enumerate(batches)])


def _first(batches: list[BatchView], site: SiteView) -> None:
    """Draw the questions, and what is wrong with the program."""
    for batch in batches:
        questions.ask(batch)
    system = data.system()
    unheard.banner(system.unheard, site)
    unheard.sound(system.unheard)
    for line in system.trouble:
        st.html(sheet.trouble(line))
    if system.findings:
        st.html("".join(found.row(each, site) for each in system.findings))


def _rows(rows: list[str]) -> None:
    """Draw the most pressing a piece each: where one changes, a browser leaves the others as they stand."""
    with st.container(gap=None):
        for row in rows[:FULL_ROWS]:
            st.html(row)
        if len(rows) > FULL_ROWS:
            st.html("".join(rows[FULL_ROWS:]))


def _row(batch: BatchView, site: SiteView, now: int, place: int) -> str:
    """Return one batch as a row, with its curve where it is among the most pressing."""
    if place >= FULL_ROWS or not batch.curves:
        return sheet.batch_row(batch, site, now, small=place >= FULL_ROWS)
    curve = next((c for c in batch.curves if c.vessel == batch.due_vessel), batch.curves[0])
    return sheet.batch_row(batch, site, now, small=False, picture_html=charts.small_of(curve, site))


@speaking.repeated(10.0)
def units() -> None:
    """Draw one row a unit: last reading, how old, and the trace of the last day."""
    site, now, rows = data.site(), data.now_ms(), data.unit_rows()
    st.html(sheet.heading(_("Units, the last 24 hours"), 2))
    if not rows:
        way = f'<a href="/setup" target="_self">{_("Add the first one")}</a>'
        said = _("No unit yet. {link}, where each probe that speaks appears by itself; or on the command line:")
        st.html(
            f'<div class="hw hw-line">{said.format(link=way)} '
            "<code>holdwatch unit add &quot;Walk-in 1&quot; --kind walk-in</code></div>"
        )
    else:
        with st.container(gap=None):  # a piece each, as the batches
            for row in rows:
                st.html(sheet.unit_row(row, site, now, charts.small_traces(row, site)))


@speaking.repeated(10.0)
def parts() -> None:
    """Draw when each part of the program was last heard."""
    st.html(sheet.small_print(data.system().heard))


running()
units()
unheard.switch()
dark.switch()
parts()
