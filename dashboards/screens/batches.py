"""Batches: start one, and the page of each."""

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboards import data, equipment_data, plan_data, speaking
from dashboards.parts import charts, forms, label_forms, life_forms, questions, sheet, travel_forms
from dashboards.parts.plan import of_batch
from dashboards.parts.unfolding import unfold
from holdwatch import clock
from holdwatch.clock import local
from holdwatch.language import _
from holdwatch.storage.tables import EventKind
from holdwatch.views import batches, words
from holdwatch.views.model import BatchView, SiteView

_REPEAT_S = 5.0
_PRODUCTS = 8
_PROBES = 12
_LATEST, _EARLIER = 12, 60


def lot_proposed(now_ms: int, zone: str) -> str:
    """Propose a lot from the local day and time, such as 1124-1405."""
    return local(now_ms, zone).strftime("%m%d-%H%M")


def start(site: SiteView) -> None:
    """Draw the form that starts a batch in three touches: product, probe, start; the lot is proposed."""
    key = forms.fresh("start")
    # proposed once, and never set as the field's own value: either would push out the one that is being typed, the
    # second when a server that was lost comes back
    proposed = st.session_state.setdefault(f"{key}-proposed", lot_proposed(data.now_ms(), site.zone))
    with st.form(key, border=False):
        product = _product(key)
        product_slot = st.empty()
        probe = _free_probe(key)
        lot = st.text_input(_("Lot"), proposed, max_chars=60, key=f"{key}-lot").strip()
        lot_slot = st.empty()
        by = forms.who(key)
        with st.expander(_("What it is, several vessels, when")):
            ways = life_forms.beginnings(planned=bool(plan_data.in_force()))
            begins = st.selectbox(_("What it is"), list(ways), format_func=_, key=f"{key}-begins")
            vessels, slowest = _pans(key)
            amount = st.text_input(_("Amount"), max_chars=60, key=f"{key}-amount", placeholder="9 kg").strip()
            at = forms.when(key, site)
        pressed = st.form_submit_button(_("Start the batch"), type="primary", key=f"{key}-start")
    if not pressed:
        return
    if not product:
        with product_slot:
            forms.problem(_("Choose the product, or write another one."))
    if not lot:
        with lot_slot:
            forms.problem(_("Name the lot."))
    if product and lot and at is not None:
        with lot_slot.container():
            made = data.start_batch(
                product=product,
                lot=lot,
                vessels=vessels,
                amount=amount,
                probe=probe,
                by=by,
                at_ms=at,
                slowest=slowest,
                processes=ways[str(begins)],
            )
        if made:
            st.query_params["batch"] = str(made)
            forms.recorded("start", _("{product} {lot} has started.").format(product=product, lot=lot))


def _product(key: str) -> str:
    """Offer the products made lately, one touch each, and a field for another one."""
    known = data.products()[:_PRODUCTS]
    chosen = st.pills(_("Product"), known, format_func=sheet.plain, key=f"{key}-product") if known else None
    another = st.text_input(_("Another product") if known else _("Product"), max_chars=80, key=f"{key}-another")
    return another.strip() or str(chosen or "")


def _free_probe(key: str) -> str | None:
    """Offer the food probes that watch no batch, one touch each."""
    free = data.free_probes()
    if free:
        chosen = st.pills(
            _("Probe in the first vessel"),
            list(free)[:_PROBES],
            format_func=lambda code: _out_of(code, free[code]),
            key=f"{key}-probe",
        )
        return None if chosen is None else str(chosen)
    st.html(
        sheet.small_print(_("No food probe is free: start without one, note readings by hand, or place one later."))
    )
    return None


def _pans(key: str) -> tuple[int, bool]:
    vessels = st.number_input(_("Vessels (pans, bowls)"), min_value=1, max_value=200, value=1, key=f"{key}-vessels")
    slowest = st.checkbox(
        _("The probe is in the vessel that cools slowest (deepest, fullest, warmest place)"), key=f"{key}-slowest"
    )
    return int(vessels), slowest or int(vessels) == 1


def listing(site: SiteView) -> None:
    """Draw the latest batches, or those that were looked for, of however long ago."""
    wanted = st.text_input(_("Find a lot"), key="find-lot", placeholder=_("lot or product"), max_chars=80).strip()
    latest = data.batches_named(wanted, _LATEST + 1)
    if latest:
        st.html(_batches(latest[:_LATEST], site))
        if len(latest) > _LATEST:
            unfold(
                _("Earlier batches"),
                lambda: st.html(_batches(data.batches_named(wanted, _EARLIER)[_LATEST:], site)),
                key="batches-earlier",
            )
    elif wanted:
        st.html(sheet.line(_("No lot and no product has “{wanted}” in its name.").format(wanted=wanted)))
        if near := data.batches_near(wanted, _LATEST):
            st.html(sheet.heading(_("Written nearly so"), 2) + _batches(near, site))
    else:
        st.html(sheet.line(_("No batch yet. Start the first one above.")))


def _batches(found: list[tuple[int, str, str, int, int | None, str]], site: SiteView) -> str:
    rows = []
    for batch_id, product, lot, started, ended, outcome in found:
        link = f'<a href="/batches?batch={batch_id}" target="_self">{sheet.esc(product)} {sheet.esc(lot)}</a>'
        state = _("running") if ended is None else _("ended {time}").format(time=words.clock_words(ended, site.zone))
        rows.append(
            [
                link,
                sheet.esc(words.clock_words(started, site.zone)),
                sheet.esc(f"{state} {words.outcome_words(outcome)}".strip()),
            ]
        )
    return sheet.table([_("Batch"), _("Started"), ""], rows)


def clauses(batch: BatchView) -> None:
    """Draw every clause with its verdict and its brackets."""
    rows = [
        [
            sheet.esc(_("{vessel} of {vessels}").format(vessel=row.vessel, vessels=batch.vessels)),
            sheet.whole(row.clause.clause),
            sheet.esc(row.clause.requires),
            sheet.mark(row.mark),
            sheet.esc(row.words),
        ]
        for row in batches.clause_rows(batch)
    ]
    if rows:
        st.html(sheet.table([_("Vessel"), _("Clause"), _("Asks"), _("The record shows"), _("Why")], rows))


def in_it(batch: BatchView) -> None:
    """Draw its allergens, and what was found of the batches that are in it."""
    st.html(f'<div class="hw hw-line">{_("Allergens:")} <b>{sheet.esc(batch.allergens.words)}</b></div>')
    for found in batch.found_in_parts:
        link = f'<a href="/findings?finding={found.id}" target="_self">{sheet.esc(found.title)}</a>'
        st.html(
            f'<div class="hw hw-line">{sheet.mark(found.mark)} {_("In it: {title}").format(title=link)}: {sheet.esc(found.reason)}</div>'
        )


def discards(batch: BatchView, site: SiteView) -> None:
    """Draw every time by which it is to be gone; the first one governs."""
    if batch.discard:
        rows = [
            [
                sheet.esc(each.words(site.zone)),
                sheet.whole(_(each.clause)),
                sheet.esc(each.why),
                sheet.esc(_(each.source)),
            ]
            for each in batch.discard
        ]
        st.html(sheet.heading(_("Discard by"), 2) + sheet.table([_("When"), _("Clause"), _("Why"), _("Source")], rows))


@speaking.repeated(_REPEAT_S)
def live(batch_id: int) -> None:
    """Draw what changes by itself: sentence, charts, clauses."""
    site, batch = data.site(), data.batch(batch_id)
    if batch is None:
        return
    if batch.running:
        questions.ask(batch, on_its_page=True)
    st.html(sheet.batch_row(batch, site, data.now_ms(), small=False, linked=False))
    if batch.amount:
        st.html(sheet.small_print(_("Amount: {amount}").format(amount=batch.amount)))
    if batch.vessels > 1:
        st.html(sheet.small_print(batch.measured))
    for curve in batch.curves:
        if batch.vessels > 1:
            st.html(
                sheet.heading(_("Vessel {vessel} of {vessels}").format(vessel=curve.vessel, vessels=batch.vessels), 2)
            )
        charts.staircase_of(curve, site, key=f"stairs-{batch_id}-{curve.vessel}")
    clauses(batch)
    discards(batch, site)
    in_it(batch)
    for finding in batch.findings:
        link = f'<a href="/findings?finding={finding.id}" target="_self">{sheet.esc(finding.title)}</a>'
        st.html(f'<div class="hw hw-line">{sheet.mark(finding.mark)} {link}: {sheet.esc(finding.reason)}</div>')


def record(batch: BatchView, site: SiteView) -> None:
    """Draw the forms that record something about a running batch; what comes next in its life stands first."""
    forms_of = {
        _("Left the heat"): _left_heat,
        _("Reading by hand"): _by_hand,
        _("Moved"): travel_forms.moved,
        _("Out or back"): life_forms.out,
        _("Happened"): life_forms.happened,
        _("In use"): life_forms.in_use,
        _("Allergens"): life_forms.allergens,
        _("Labels"): label_forms.labels,
        _("Away"): travel_forms.travelled,
        _("Parts"): life_forms.parts,
        _("Place a probe"): _place,
        _("Note"): _note,
        _("End"): _end,
    }
    names = list(forms_of)
    if any(event.kind == EventKind.LEFT_HEAT for event in batch.events):
        names.append(names.pop(0))
    for tab, name in zip(st.tabs(names, key=f"b{batch.id}-tabs"), names, strict=True):
        with tab:
            forms_of[name](batch, site)


def _left_heat(batch: BatchView, site: SiteView) -> None:
    key = f"b{batch.id}-heat"
    with st.form(forms.fresh(key)):
        _noted(batch, site, EventKind.LEFT_HEAT, key, _("It has left the heat"))


def _by_hand(batch: BatchView, site: SiteView) -> None:
    key = f"b{batch.id}-hand"
    with st.form(forms.fresh(key)):
        celsius = forms.temperature(forms.fresh(key), site)
        slot = st.empty()
        vessel = _vessel(batch, forms.fresh(key))
        thermometer = st.text_input(_("With which thermometer"), key=f"{key}-thermometer", max_chars=60).strip()
        text = _("thermometer {name}").format(name=thermometer) if thermometer else ""
        _noted(
            batch,
            site,
            EventKind.READING,
            key,
            _("Record the reading"),
            slot=slot,
            vessel=vessel,
            celsius=celsius,
            text=text,
        )


def _note(batch: BatchView, site: SiteView) -> None:
    key = f"b{batch.id}-note"
    with st.form(forms.fresh(key)):
        text = st.text_area(_("What was seen or done"), max_chars=500, key=f"{forms.fresh(key)}-text").strip()
        slot = st.empty()
        _noted(batch, site, EventKind.NOTE, key, _("Record the note"), slot=slot, text=text)


def _vessel(batch: BatchView, key: str, first: int = 1) -> int:
    if batch.vessels == 1:
        return 1
    return int(st.number_input(_("Vessel"), min_value=1, max_value=batch.vessels, value=first, key=f"{key}-vessel"))


def _noted(
    batch: BatchView,
    site: SiteView,
    kind: EventKind,
    key: str,
    label: str,
    *,
    slot: DeltaGenerator | None = None,
    **more: object,
) -> None:
    """Draw who and when, and record on the button; what is missing is told in `slot`, beside its field."""
    by, at = forms.who(forms.fresh(key)), forms.when(forms.fresh(key), site)
    if not st.form_submit_button(label, type="primary"):
        return
    missing = ""
    if kind is EventKind.READING and more.get("celsius") is None:
        if st.session_state.get(f"{forms.fresh(key)}-temperature"):
            return  # what is wrong with what was written stands beside it
        missing = _("Write the temperature that the thermometer shows.")
    if kind is EventKind.NOTE and not more.get("text"):
        missing = _("Write what was seen or done.")
    if missing and slot is not None:
        with slot:
            forms.problem(missing)
    elif at is not None and data.note(batch.lot, kind, by=by, at_ms=at, **more):
        forms.recorded(
            key,
            _("Recorded: {kind}, {time}.").format(kind=words.event_words(kind), time=words.clock_words(at, site.zone)),
        )


def _place(batch: BatchView, site: SiteView) -> None:
    """Draw a button for each food probe: one touch moves it here, out of where it is, or takes it out of here."""
    key = f"b{batch.id}-place"
    fresh = forms.fresh(key)
    probes = [probe for probe in equipment_data.probes() if probe.medium == "food"]
    if not probes:
        st.html(sheet.line(_("No food probe yet: one that speaks is named and placed under Set-up.")))
        return
    with st.form(fresh):
        here = [placed for placed in batch.placements if placed.to_ms is None]
        taken = {placed.vessel for placed in here}
        free = next((number for number in range(1, batch.vessels + 1) if number not in taken), 1)
        vessel = _vessel(batch, fresh, free)
        slowest = st.checkbox(_("This vessel cools slowest"), value=False, key=f"{fresh}-slowest")
        by, at = forms.who(fresh), forms.when(fresh, site)
        slot = st.empty()
        with st.container(horizontal=True):
            pressed = [
                probe
                for probe in probes
                if st.form_submit_button(_out_of(probe.code, probe.placed), key=f"{fresh}-{probe.code}")
            ]
        with st.container(horizontal=True):
            out = [
                each
                for each in here
                if st.form_submit_button(
                    _("Take {probe} out").format(probe=each.probe), key=f"{fresh}-{each.probe}-out"
                )
            ]
    if out and at is not None:
        with slot.container():
            done = data.take_out(out[0].probe, by=by, at_ms=at)
        if done:
            forms.recorded(
                key,
                _("Probe {probe} is taken out, {time}.").format(
                    probe=out[0].probe, time=words.clock_words(at, site.zone)
                ),
            )
    if pressed and at is not None:
        probe = pressed[0]
        with slot.container():
            done = data.place_probe(batch.lot, probe.code, vessel=vessel, slowest=slowest, by=by, at_ms=at)
        if done:
            was = ""
            if probe.placed:
                was = " " + _("It was in {place}: a touch there moves it back.").format(place=probe.placed)
            clock = words.clock_words(at, site.zone)
            forms.recorded(
                key,
                _("Probe {probe} is placed in vessel {vessel}, {time}.").format(
                    probe=probe.code, vessel=vessel, time=clock
                )
                + was,
            )


def _out_of(code: str, place: str) -> str:
    """Name a probe, and where it stands now, if anywhere."""
    return sheet.plain(_("{code}, out of {unit}").format(code=code, unit=place) if place else code)


def _end(batch: BatchView, site: SiteView) -> None:
    key = f"b{batch.id}-end"
    fresh = forms.fresh(key)
    with st.form(fresh):
        outcome = st.radio(
            _("What became of it"),
            list(words.OUTCOMES),
            index=None,
            format_func=words.outcome_words,
            key=f"{fresh}-outcome",
        )
        outcome_slot = st.empty()
        sure = st.checkbox(_("Yes, end this batch"), key=f"{fresh}-sure")
        sure_slot = st.empty()
        by, at = forms.who(fresh), forms.when(fresh, site)
        if not st.form_submit_button(_("End the batch"), type="primary"):
            return
        if not outcome:
            with outcome_slot:
                forms.problem(_("Say what became of it."))
        if not sure:
            with sure_slot:
                forms.problem(_("Tick this to say that you mean it."))
        if outcome and sure and at is not None and data.end_batch(batch.lot, outcome=outcome, by=by, at_ms=at):
            forms.recorded(
                key, _("{batch} has ended: {outcome}.").format(batch=batch.title, outcome=words.outcome_words(outcome))
            )


def history(batch: BatchView, site: SiteView) -> None:
    """Draw what was recorded of the batch, and by whom."""
    several = batch.vessels > 1
    begun = {placed.from_ms for placed in batch.placements}
    told = []
    for event in batch.events:
        if event.kind == EventKind.PROBE_PLACED and event.at_ms in begun:
            continue  # told below, with the probe's name and until when
        later = event.recorded_ms - event.at_ms > 2 * clock.MS_PER_MINUTE
        entered = (
            " " + _("(entered {time})").format(time=words.clock_words(event.recorded_ms, site.zone)) if later else ""
        )
        vessel = _("vessel {vessel}").format(vessel=event.vessel) if several and event.vessel is not None else ""
        told.append((event.at_ms, entered, " · ".join(p for p in (event.words, vessel, event.text) if p), event.by))
    for placed in batch.placements:
        until = _("now") if placed.to_ms is None else words.clock_words(placed.to_ms, site.zone)
        where = " " + _("in vessel {vessel}").format(vessel=placed.vessel) if several else ""
        told.append(
            (
                placed.from_ms,
                "",
                _("probe {probe} placed{where}, until {until}").format(probe=placed.probe, where=where, until=until),
                placed.by,
            )
        )
    rows = [
        [sheet.esc(words.clock_words(at, site.zone) + entered), sheet.esc(what), sheet.esc(by or _("not said"))]
        for at, entered, what, by in sorted(told, key=lambda row: row[0])
    ]
    st.html(sheet.heading(_("Recorded"), 2))
    st.html(sheet.table([_("When"), _("What"), _("Who")], rows))


def page() -> None:
    """Draw one batch, or the list with the form."""
    site = data.site()
    wanted = st.query_params.get("batch", "")
    if not wanted.isdigit():
        forms.confirmation()
        if door := st.query_params.get("door", ""):
            travel_forms.at_the_door(door, site)
        st.html(sheet.heading(_("Start a batch")))
        start(site)
        st.html(sheet.heading(_("Batches")))
        listing(site)
        return
    batch = data.batch(int(wanted))
    if batch is None:
        st.html(sheet.trouble(_("There is no batch number {wanted}.").format(wanted=wanted)))
        st.page_link("screens/batches.py", label=_("All batches"))
        return
    forms.confirmation()
    st.html(sheet.heading(batch.title))
    of_batch.draw(batch)
    live(batch.id)
    if batch.running:
        st.html(f"{sheet.heading(_('Record'), 2)}{sheet.small_print(_(sheet.HOT))}")
        record(batch, site)
    history(batch, site)


page()
