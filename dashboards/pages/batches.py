"""Batches: start one, and the page of each."""

import streamlit as st

from dashboards import data
from dashboards.parts import charts, forms, sheet
from holdwatch import clock
from holdwatch.charts.localtime import local
from holdwatch.storage.tables import EventKind
from holdwatch.views import batches, words
from holdwatch.views.model import BatchView, SiteView

_OUTCOMES = ("served or sold", "used in another batch", "frozen", "discarded")
_REPEAT_S = 5.0


def lot_proposed(now_ms: int, zone: str) -> str:
    """Propose a lot from the local day and time, such as 1124-1405."""
    return local(now_ms, zone).strftime("%m%d-%H%M")


def start(site: SiteView) -> None:
    """Draw the form that starts a batch: product, probe, lot."""
    now = data.now_ms()
    with st.form("start", clear_on_submit=True):
        product = st.selectbox(
            "Product", data.products(), index=None, accept_new_options=True, placeholder="Pastry cream"
        )
        probe = st.selectbox("Probe in the first vessel", [c for c, m in data.probes() if m == "food"], index=None)
        lot = st.text_input("Lot", value=lot_proposed(now, site.zone), max_chars=60)
        vessels = st.number_input("Vessels (pans, bowls)", min_value=1, max_value=99, value=1)
        slowest = st.checkbox("The probe is in the vessel that cools slowest (deepest, fullest, warmest place)", True)
        by = forms.who("start")
        at = forms.when("start", site)
        if st.form_submit_button("Start the batch", type="primary"):
            if not product or not lot.strip():
                st.error("Name the product and the lot.")
            elif at is not None:
                made = data.start_batch(
                    product=str(product).strip(),
                    lot=lot.strip(),
                    vessels=int(vessels),
                    probe=probe,
                    by=by,
                    at_ms=at,
                    slowest=slowest,
                )
                if made:
                    st.query_params["batch"] = str(made)
                    st.rerun()


def listing(site: SiteView) -> None:
    """Draw the running batches, then the latest ended ones."""
    rows = []
    for batch_id, product, lot, started, ended, outcome in data.ended_batches():
        link = f'<a href="/batches?batch={batch_id}" target="_self">{sheet.esc(product)} {sheet.esc(lot)}</a>'
        state = "running" if ended is None else f"ended {words.clock_words(ended, site.zone)}"
        rows.append([link, sheet.esc(words.clock_words(started, site.zone)), sheet.esc(f"{state} {outcome}".strip())])
    if rows:
        st.html(sheet.table(["Batch", "Started", ""], rows))
    else:
        st.html('<div class="hw hw-line">No batch yet. Start the first one above.</div>')


def clauses(batch: BatchView) -> None:
    """Draw every clause with its verdict and its brackets."""
    rows = [
        [
            sheet.esc(f"{row.vessel} of {batch.vessels}"),
            sheet.whole(row.clause.clause),
            sheet.esc(row.clause.requires),
            sheet.mark(row.mark),
            sheet.esc(row.words),
        ]
        for row in batches.clause_rows(batch)
    ]
    if rows:
        st.html(sheet.table(["Vessel", "Clause", "Asks", "The record shows", "Why"], rows))


@st.fragment(run_every=_REPEAT_S)
def live(batch_id: int) -> None:
    """Draw what changes by itself: sentence, charts, clauses."""
    site, batch = data.site(), data.batch(batch_id)
    if batch is None:
        return
    st.html(sheet.batch_row(batch, site, data.now_ms(), small=False))
    for question in batch.asks:
        st.html(sheet.ask(question))
    if batch.vessels > 1:
        st.html(sheet.quiet(batch.measured))
    for curve in batch.curves:
        if batch.vessels > 1:
            st.html(f'<h2 class="hw" style="font-size:1.1rem">Vessel {curve.vessel} of {batch.vessels}</h2>')
        charts.staircase_of(curve, site, key=f"stairs-{batch_id}-{curve.vessel}")
    clauses(batch)
    for finding in batch.findings:
        link = f'<a href="/findings?finding={finding.id}" target="_self">{sheet.esc(finding.title)}</a>'
        st.html(f'<div class="hw hw-line">{sheet.mark(finding.mark)} {link}: {sheet.esc(finding.reason)}</div>')


def record(batch: BatchView, site: SiteView) -> None:
    """Draw the forms that record something about a running batch."""
    key = f"b{batch.id}"
    if batch.asks:
        inside, outside = st.columns(2)
        if inside.button("The probe is in the food", key=f"{key}-in", use_container_width=True):
            data.note(batch.lot, EventKind.PROBE_IN_FOOD, by=_by(), at_ms=data.now_ms())
            st.rerun()
        if outside.button("The probe is out of the food", key=f"{key}-out", use_container_width=True):
            data.note(batch.lot, EventKind.PROBE_OUT_OF_FOOD, by=_by(), at_ms=data.now_ms())
            st.rerun()
    tabs = st.tabs(["Left heat", "Reading by hand", "Moved", "Place a probe", "Note", "End"])
    with tabs[0], st.form(f"{key}-heat", clear_on_submit=True):
        _noted(batch, site, EventKind.LEFT_HEAT, f"{key}-heat", "It has left the heat")
    with tabs[1], st.form(f"{key}-hand", clear_on_submit=True):
        celsius = forms.temperature(f"{key}-hand", site)
        vessel = _vessel(batch, f"{key}-hand")
        _noted(batch, site, EventKind.READING, f"{key}-hand", "Record the reading", vessel=vessel, celsius=celsius)
    with tabs[2], st.form(f"{key}-moved", clear_on_submit=True):
        unit = st.selectbox("Where to", [name for _, name in data.units()], index=None, key=f"{key}-unit")
        _noted(batch, site, EventKind.MOVED, f"{key}-moved", "It has been moved", unit=unit)
    with tabs[3], st.form(f"{key}-place", clear_on_submit=True):
        _place(batch, site, f"{key}-place")
    with tabs[4], st.form(f"{key}-note", clear_on_submit=True):
        text = st.text_area("What was seen or done", key=f"{key}-text", max_chars=500)
        _noted(batch, site, EventKind.NOTE, f"{key}-note", "Record it", text=text.strip())
    with tabs[5], st.form(f"{key}-end", clear_on_submit=True):
        _end(batch, site, f"{key}-end")


def _by() -> str:
    return str(st.session_state.get("kept_by", ""))


def _vessel(batch: BatchView, key: str) -> int:
    if batch.vessels == 1:
        return 1
    return int(st.number_input("Vessel", min_value=1, max_value=batch.vessels, value=1, key=f"{key}-vessel"))


def _noted(batch: BatchView, site: SiteView, kind: EventKind, key: str, label: str, **more: object) -> None:
    """Draw who and when, and record on the button."""
    by, at = forms.who(key), forms.when(key, site)
    if not st.form_submit_button(label, type="primary"):
        return
    if kind is EventKind.READING and more.get("celsius") is None:
        st.error("Write the temperature that the thermometer shows.")
        return
    if kind is EventKind.NOTE and not more.get("text"):
        st.error("Write what was seen or done.")
        return
    if at is not None and data.note(batch.lot, kind, by=by, at_ms=at, **more):
        st.rerun()


def _place(batch: BatchView, site: SiteView, key: str) -> None:
    probe = st.selectbox("Probe", [c for c, m in data.probes() if m == "food"], index=None, key=f"{key}-probe")
    vessel = _vessel(batch, key)
    slowest = st.checkbox("This vessel cools slowest", value=False, key=f"{key}-slowest")
    by, at = forms.who(key), forms.when(key, site)
    if st.form_submit_button("Place the probe", type="primary"):
        if not probe:
            st.error("Choose the probe.")
        elif at is not None and data.place_probe(batch.lot, probe, vessel=vessel, slowest=slowest, by=by, at_ms=at):
            st.rerun()


def _end(batch: BatchView, site: SiteView, key: str) -> None:
    outcome = st.radio("What became of it", _OUTCOMES, index=None, key=f"{key}-outcome")
    sure = st.checkbox("Yes, end this batch", key=f"{key}-sure")
    by, at = forms.who(key), forms.when(key, site)
    if st.form_submit_button("End the batch", type="primary"):
        if not outcome or not sure:
            st.error("Say what became of it, and that you mean it.")
        elif at is not None and data.end_batch(batch.lot, outcome=outcome, by=by, at_ms=at):
            st.rerun()


def history(batch: BatchView, site: SiteView) -> None:
    """Draw what was recorded of the batch, and by whom."""
    rows = []
    for event in batch.events:
        later = event.recorded_ms - event.at_ms > 2 * clock.MS_PER_MINUTE
        entered = f" (entered {words.clock_words(event.recorded_ms, site.zone)})" if later else ""
        value = "" if event.celsius is None else words.temperature(event.celsius, site.scale)
        vessel = "" if event.vessel is None or batch.vessels == 1 else f"vessel {event.vessel}"
        what = " · ".join(part for part in (event.words, vessel, value, event.text) if part)
        rows.append(
            [
                sheet.esc(words.clock_words(event.at_ms, site.zone) + entered),
                sheet.esc(what),
                sheet.esc(event.by or "not said"),
            ]
        )
    for placed in batch.placements:
        until = "now" if placed.to_ms is None else words.clock_words(placed.to_ms, site.zone)
        rows.append(
            [
                sheet.esc(words.clock_words(placed.from_ms, site.zone)),
                sheet.esc(f"probe {placed.probe} in vessel {placed.vessel} until {until}"),
                sheet.esc(placed.by or "not said"),
            ]
        )
    st.html('<h2 class="hw" style="font-size:1.1rem">Recorded</h2>')
    st.html(sheet.table(["When", "What", "Who"], rows))


def page() -> None:
    """Draw one batch, or the list with the form."""
    site = data.site()
    wanted = st.query_params.get("batch", "")
    if not wanted.isdigit():
        st.html('<h1 class="hw" style="font-size:1.5rem">Start a batch</h1>')
        start(site)
        st.html('<h1 class="hw" style="font-size:1.5rem">Batches</h1>')
        listing(site)
        return
    batch = data.batch(int(wanted))
    if batch is None:
        st.html(sheet.trouble(f"There is no batch number {wanted}."))
        return
    live(batch.id)
    if batch.running:
        st.html(f'<h2 class="hw" style="font-size:1.1rem">Record</h2>{sheet.quiet(sheet.HOT)}')
        record(batch, site)
    history(batch, site)


page()
