"""Forms for what befalls a batch after it was made: out of temperature control, frozen, reheated, mixed, divided."""

from dataclasses import dataclass, field
from typing import Any

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from dashboards import data
from dashboards.parts import forms
from holdwatch import clock
from holdwatch.language import N_, _
from holdwatch.storage.tables import EventKind
from holdwatch.views import words
from holdwatch.views.model import BatchView, SiteView

__all__ = ["BEGINNINGS", "BY_THE_PLAN", "allergens", "beginnings", "happened", "in_use", "out", "parts"]

BEGINNINGS: dict[str, tuple[str, ...]] = {
    N_("It is hot: it cools, and is then held cold"): (),
    N_("Egg mixture, still to be cooked; then it cools"): ("cook-eggs",),
    N_("Made from ingredients at room temperature"): ("ambient-cooling",),
    N_("Delivered above the limit, as the law allows"): ("received-cooling",),
    N_("It is cold, and is held cold"): ("cold-holding",),
    N_("It is hot, and is held hot"): ("hot-holding",),
}
"""What a batch may begin with, as a cook would say it; nothing for what the step decides."""

BY_THE_PLAN = N_("As the plan says")


def beginnings(*, planned: bool) -> dict[str, tuple[str, ...]]:
    """Return what a batch may begin with, and first of all what the plan says, where there is one."""
    if not planned:
        return BEGINNINGS
    said = {label: processes or ("cooling",) for label, processes in BEGINNINGS.items()}
    return {BY_THE_PLAN: (), **said}


@dataclass(frozen=True)
class _Said:
    """What an answer in a form records."""

    kind: EventKind
    more: dict[str, Any] = field(default_factory=dict)


_HAPPENED = {
    N_("It was prepared"): _Said(EventKind.PREPARED),
    N_("Its container was opened"): _Said(EventKind.OPENED),
    N_("It is being assembled"): _Said(EventKind.STEP, {"text": "assemble"}),
    N_("It was put in store"): _Said(EventKind.STEP, {"text": "store"}),
    N_("It was put on display"): _Said(EventKind.STEP, {"text": "display"}),
    N_("Reheating for hot holding begins"): _Said(EventKind.REHEATING, {"text": "hot-holding"}),
    N_("Reheating to be served at once begins"): _Said(EventKind.REHEATING, {"text": "service"}),
    N_("It was frozen"): _Said(EventKind.FROZEN),
    N_("It was thawed"): _Said(EventKind.THAWED),
}
_OUT = {
    N_("Taken out to be prepared"): _Said(EventKind.REMOVED),
    N_("Taken out: 4 h count from now"): _Said(EventKind.REMOVED, {"facts": {"under": "time-control-4h"}}),
    N_("Taken out: 6 h count from now, at 70 °F or less"): _Said(
        EventKind.REMOVED, {"facts": {"under": "time-control-6h"}}
    ),
    N_("Cut or opened at room temperature: 4 h count from now"): _Said(
        EventKind.REMOVED, {"facts": {"under": "time-control-from-room"}}
    ),
    N_("Taken out: its times are added up (2 h and 4 h)"): _Said(
        EventKind.REMOVED, {"facts": {"under": "cumulative-time"}}
    ),
    N_("Put back"): _Said(EventKind.RETURNED),
}


def happened(batch: BatchView, site: SiteView) -> None:
    """Draw the form for a step, a reheating, freezing and the like."""
    key = f"b{batch.id}-happened"
    fresh = forms.fresh(key)
    with st.form(fresh):
        chosen = st.selectbox(_("What happened"), list(_HAPPENED), format_func=_, index=None, key=f"{fresh}-what")
        slot = st.empty()
        _record(batch, site, _Form(key, _("Record what happened"), _HAPPENED), chosen, slot, {})


def out(batch: BatchView, site: SiteView) -> None:
    """Draw the form for taking it out of temperature control, and putting it back."""
    key = f"b{batch.id}-out"
    fresh = forms.fresh(key)
    with st.form(fresh):
        chosen = st.selectbox(_("Taken out or put back"), list(_OUT), format_func=_, index=None, key=f"{fresh}-what")
        slot = st.empty()
        unit = st.selectbox(_("Where to"), [name for _id, name in data.units()], index=None, key=f"{fresh}-unit")
        room_air = st.checkbox(
            _("The written procedure lets the air of that room stand for the food"), key=f"{fresh}-room"
        )
        facts = dict(_OUT[chosen].more.get("facts", {})) if chosen else {}
        if room_air and facts:
            facts["room_air"] = True
        _record(batch, site, _Form(key, _("Record out or back"), _OUT), chosen, slot, {"unit": unit, "facts": facts})


def in_use(batch: BatchView, site: SiteView) -> None:
    """Draw the form for a piping bag, a tub or a tray that is taken into use: its own clock runs from then on."""
    key = f"b{batch.id}-use"
    fresh = forms.fresh(key)
    proposed, by_plan = data.hours_in_use(batch.lot)
    with st.form(fresh):
        hours = st.number_input(
            _("In use for (hours, as your plan says)")
            if by_plan
            else _("In use for (hours; your plan says nothing of it)"),
            min_value=0.25,
            max_value=168.0,
            value=proposed,
            step=0.25,
            key=f"{fresh}-hours",
        )
        slot = st.empty()
        by, at = forms.who(fresh), forms.when(fresh, site)
        if not st.form_submit_button(_("It is taken into use"), type="primary"):
            return
        if hours is None:
            with slot:
                forms.problem(_("Write for how many hours it may be in use."))
        elif at is not None and data.note(
            batch.lot,
            EventKind.IN_USE,
            by=by,
            at_ms=at,
            text=f"{hours:g} h",
            facts={"for_ms": round(hours * clock.MS_PER_HOUR)},
        ):
            until = words.clock_words(at + round(hours * clock.MS_PER_HOUR), site.zone)
            forms.recorded(key, _("Recorded: in use, until {until}.").format(until=until))


def allergens(batch: BatchView, site: SiteView) -> None:
    """Draw the form that says what is in this batch; what came into it from other batches is added by itself."""
    key = f"b{batch.id}-allergens"
    fresh = forms.fresh(key)
    with st.form(fresh):
        said = st.text_input(
            _("In it"),
            max_chars=300,
            placeholder=_("none, or: eggs, milk, gluten (wheat), nuts (almond)"),
            key=f"{fresh}-in",
        ).strip()
        slot = st.empty()
        by, at = forms.who(fresh), forms.when(fresh, site)
        if not st.form_submit_button(_("Declare the allergens"), type="primary"):
            return
        with slot:
            if not said:
                forms.problem(_("Write what is in it, or none."))
            elif at is not None and data.note(batch.lot, EventKind.ALLERGENS, by=by, at_ms=at, text=said):
                forms.recorded(key, _("Recorded: {said}.").format(said=said))


@dataclass(frozen=True)
class _Form:
    """A form of choices."""

    key: str
    button: str
    said: dict[str, _Said]


def _record(
    batch: BatchView, site: SiteView, form: _Form, chosen: str | None, slot: DeltaGenerator, more: dict[str, Any]
) -> None:
    """Draw who and when, and record on the button."""
    by, at = forms.who(forms.fresh(form.key)), forms.when(forms.fresh(form.key), site)
    if not st.form_submit_button(form.button, type="primary"):
        return
    if not chosen:
        with slot:
            forms.problem(_("Choose what happened."))
        return
    said = form.said[chosen]
    if at is not None and data.note(batch.lot, said.kind, by=by, at_ms=at, **{**said.more, **more}):
        forms.recorded(
            form.key, _("Recorded: {chosen}, {time}.").format(chosen=_(chosen), time=words.clock_words(at, site.zone))
        )


def parts(batch: BatchView, site: SiteView) -> None:
    """Draw the forms for dividing it, and for food of another batch that comes in."""
    _divide(batch, site)
    _add(batch, site)


def _divide(batch: BatchView, site: SiteView) -> None:
    key = f"b{batch.id}-divide"
    fresh = forms.fresh(key)
    with st.form(fresh):
        lot = st.text_input(_("Lot of the part that is divided off"), max_chars=60, key=f"{fresh}-lot").strip()
        slot = st.empty()
        by, at = forms.who(fresh), forms.when(fresh, site)
        if not st.form_submit_button(_("Divide it off")):
            return
        if not lot:
            with slot:
                forms.problem(_("Name the lot of the part."))
        elif at is not None and data.divide_batch(batch.lot, lot, by=by, at_ms=at):
            forms.recorded(
                key, _("{lot} is divided off; its clock is that of {from_lot}.").format(lot=lot, from_lot=batch.lot)
            )


def _add(batch: BatchView, site: SiteView) -> None:
    key = f"b{batch.id}-add"
    fresh = forms.fresh(key)
    with st.form(fresh):
        others = {f"{product} {lot}": lot for product, lot in data.running_lots() if lot != batch.lot}
        part = st.selectbox(_("Food of another batch comes in"), list(others), index=None, key=f"{fresh}-part")
        slot = st.empty()
        by, at = forms.who(fresh), forms.when(fresh, site)
        if not st.form_submit_button(_("Add it")):
            return
        if not part:
            with slot:
                forms.problem(_("Choose the other batch."))
        elif at is not None and data.add_part(batch.lot, others[part], by=by, at_ms=at):
            forms.recorded(key, _("{part} is added: the oldest of what is in it governs.").format(part=part))
