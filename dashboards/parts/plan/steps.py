"""The steps of a product: each with the seven principles, and the form to change it, add one or leave one out."""

from dataclasses import asdict

import streamlit as st

from dashboards import data, plan_data
from dashboards.parts import forms, sheet
from holdwatch.language import N_, _
from holdwatch.limits.telling import NAMES
from holdwatch.plan.model import PlanStep, Product
from holdwatch.plan.telling import step_rows, step_words
from holdwatch.rules.verdicts import Step

__all__ = ["draw"]

_ADD = N_("one more step")
_LINES = {
    "hazard": N_("Hazard: what can go wrong"),
    "why_critical": N_("Why control here is critical, or not"),
    "watched": N_("How it is watched"),
    "how_often": N_("How often"),
    "in_time": N_("What helps while the limit can still be kept"),
    "action": N_("Corrective action, when the limit is not kept"),
    "verified_by": N_("Who verifies, and how"),
    "record": N_("Which record shows it"),
}


def draw(product: Product) -> None:
    """Draw every step with its principles, and the form for one of them."""
    limits = plan_data.limits()
    st.html(sheet.heading(_("Steps"), 2))
    for number, step in enumerate(product.steps, 1):
        place = " " + _("Usually in {place}.").format(place=step.place) if step.place else ""
        rows = [[sheet.whole(name), sheet.esc(words)] for name, words in step_rows(step, limits)]
        st.html(
            f'<div class="hw hw-line"><b>{number}. {sheet.esc(step.name)}</b> ({step_words(step.step)}).{sheet.esc(place)}</div>'
            f"{sheet.table(['', ''], rows)}"
        )
    with st.expander(_("Change, add or leave out a step")):
        _form(product)


def _form(product: Product) -> None:
    key = forms.fresh(f"plan-step-{product.name}")
    names = {f"{number}. {step.name}": number for number, step in enumerate(product.steps, 1)}
    chosen = st.selectbox(
        _("Which step"), [*names, _ADD], format_func=lambda each: _(each) if each == _ADD else each, key=f"{key}-which"
    )
    number = names.get(chosen)
    with st.form(key):
        step = _fields(product.steps[number - 1] if number else None, f"{key}-{number or 'new'}")
        place = 0
        if number is None:
            place = int(st.number_input(_("As step number"), 1, len(names) + 1, len(names) + 1, key=f"{key}-number"))
        why = st.text_input(_("Why the plan is changed"), max_chars=300, key=f"{key}-why").strip()
        by, pin = forms.signer(key)
        with st.container(horizontal=True):
            pressed = st.form_submit_button(_("Change the step") if number else _("Add the step"), type="primary")
            dropped = bool(number) and st.form_submit_button(_("Leave the step out"))
    if not (pressed or dropped):
        return
    name, signs = product.name, {"by": by, "pin": pin}
    if number is None:
        done = plan_data.add_step(name, place, step, why, **signs)
    elif dropped:
        done = plan_data.drop_step(name, number, why, **signs)
    else:
        done = plan_data.change_step(name, number, step, why, **signs)
    if done:
        forms.recorded(
            f"plan-step-{name}",
            (_("{name}: the step is left out.") if dropped else _("{name}: the step is in the plan.")).format(
                name=name
            ),
        )


def _fields(step: PlanStep | None, key: str) -> PlanStep:
    """Draw the fields of a step, filled with what it says now."""
    before = asdict(step) if step is not None else {}
    where = list(Step)
    kind = st.selectbox(
        _("Step of the batch"),
        where,
        index=where.index(step.step) if step else 0,
        format_func=step_words,
        key=f"{key}-step",
    )
    name = st.text_input(_("What is done"), before.get("name", ""), max_chars=200, key=f"{key}-name").strip()
    processes = st.multiselect(
        _("Held against these parts of the limits in force"),
        list(NAMES),
        default=list(before.get("processes", ())),
        format_func=lambda each: _(NAMES[each]),
        key=f"{key}-processes",
    )
    critical = st.checkbox(_("It is a critical control point"), before.get("critical", False), key=f"{key}-critical")
    lines = {
        field: st.text_area(_(label), before.get(field, ""), max_chars=500, height=80, key=f"{key}-{field}").strip()
        for field, label in _LINES.items()
    }
    units = [unit for _id, unit in data.units()]
    usual = before.get("place", "")
    place = st.selectbox(
        _("Where it usually stands"),
        units,
        index=units.index(usual) if usual in units else None,
        placeholder=_("nowhere in particular"),
        key=f"{key}-place",
    )
    return PlanStep(
        step=kind, name=name, critical=critical, processes=tuple(processes), place=str(place or ""), **lines
    )
