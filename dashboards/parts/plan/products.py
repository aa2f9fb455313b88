"""The products of the plan: the list, a starter to take, and one product whole."""

import streamlit as st

from dashboards import plan_data
from dashboards.parts import forms, sheet
from dashboards.parts.plan import paper, questions, steps
from holdwatch.language import _
from holdwatch.plan.allergens import told, told_us
from holdwatch.plan.control import need_of
from holdwatch.plan.model import Product
from holdwatch.plan.starters import known_starters, starter
from holdwatch.plan.telling import TCS_WORDS
from holdwatch.views import words
from holdwatch.views.model import SiteView

__all__ = ["draw"]


def draw(site: SiteView) -> None:
    """Draw the list, the form for a starter, and the product that was chosen."""
    products = plan_data.in_force()
    st.html(sheet.heading(_("Products and their steps"), 2))
    st.html(
        sheet.small_print(
            _(
                "The kitchen's own written plan, by the seven principles of Codex CXC 1-1969. It holds no figure of its own: critical limits are read from the limits in force. A batch follows the plan as it was when it was started."
            )
        )
    )
    if products:
        rows = [
            [
                sheet.esc(each.name),
                sheet.esc(_(TCS_WORDS[need_of(each).tcs.value])),
                sheet.esc(told(each.contains)),
                sheet.esc(
                    _("{count} to check").format(count=len(each.unanswered)) if each.unanswered else _("all answered")
                ),
            ]
            for each in products
        ]
        st.html(sheet.table([_("Product"), _("Temperature control"), _("Allergens"), _("Questions")], rows))
    with st.expander(_("Take a starter"), expanded=not products):
        _take()
    if products:
        paper.draw()
        names = [each.name for each in products]
        name = st.selectbox(
            _("Look at, or change"), names, index=None, placeholder=_("Choose a product"), key="plan-product"
        )
        product = next((each for each in products if each.name == name), None)
        if product is not None:
            _whole(product, site)


def _take() -> None:
    key = forms.fresh("plan-take")
    word = st.selectbox(
        _("Starter"),
        known_starters(),
        index=None,
        format_func=lambda each: starter(each).name,
        placeholder=_("Choose what it is like"),
        key=f"{key}-word",
    )
    if word is None:
        return
    found = starter(word)
    st.html(sheet.small_print(f"{found.about} {found.tcs_reason}"))
    with st.form(key):
        name = st.text_input(_("What it is called here"), found.name, max_chars=120, key=f"{key}-name-{word}").strip()
        by, pin = forms.signer(key)
        pressed = st.form_submit_button(_("Take it into the plan"), type="primary")
    if pressed and plan_data.take(word, name, by=by, pin=pin):
        forms.recorded(
            "plan-take", _("{name} is in the plan. Answer what must be checked of it.").format(name=name or found.name)
        )


def _whole(product: Product, site: SiteView) -> None:
    need = need_of(product)
    facts = [
        (_("What it is"), product.about),
        (_("Temperature control"), f"{sheet.sentence(_(TCS_WORDS[need.tcs.value]))}. {need.reason}"),
        (
            _("Allergens"),
            _("{allergens} (in the United States: {named_there})").format(
                allergens=told(product.contains), named_there=told_us(product.contains)
            ),
        ),
        (_("Shelf life of our own"), f"{product.shelf_days} d" if product.shelf_days else ""),
        (
            _("In use"),
            _("{length} at most: a piping bag, a garnish tub, a tray").format(length=product.in_use)
            if product.in_use
            else "",
        ),
        (_("Discard"), product.discard),
    ]
    st.html(sheet.heading(product.name, 2))
    st.html(sheet.table(["", ""], [[sheet.whole(name), sheet.esc(value)] for name, value in facts if value]))
    questions.draw(product, plan_data.susceptible())
    steps.draw(product)
    with st.expander(_("Shelf life, time in use, and when it is thrown away")):
        _shelf_life(product)
    with st.expander(_("Take it out of the plan")):
        _retire(product)
    _history(product, site)


def _shelf_life(product: Product) -> None:
    key = forms.fresh(f"plan-shelf-{product.name}")
    with st.form(key):
        days = st.number_input(
            _(
                "Our own shelf life in days, the day of preparation being day 1 (0: the date mark of the limits in force)"
            ),
            0,
            365,
            product.shelf_days or 0,
            key=f"{key}-days",
        )
        in_use = st.text_input(
            _("A piping bag, a garnish tub or a tray of it is in use for (empty: not said)"),
            product.in_use,
            key=f"{key}-in-use",
            max_chars=12,
            placeholder="4 h",
        ).strip()
        discard = st.text_area(_("Thrown away besides"), product.discard, max_chars=500, key=f"{key}-discard").strip()
        why = st.text_input(_("Why the plan is changed"), max_chars=300, key=f"{key}-why").strip()
        by, pin = forms.signer(key)
        pressed = st.form_submit_button(_("Set these times"), type="primary")
    if pressed and plan_data.set_own_times(product.name, int(days), in_use, discard, why, by=by, pin=pin):
        forms.recorded(
            f"plan-shelf-{product.name}", _("{product}: its own times are set.").format(product=product.name)
        )


def _retire(product: Product) -> None:
    key = forms.fresh(f"plan-retire-{product.name}")
    with st.form(key):
        why = st.text_input(_("Why it is made no more"), max_chars=300, key=f"{key}-why").strip()
        by, pin = forms.signer(key)
        pressed = st.form_submit_button(_("Take it out"))
    if pressed and plan_data.retire(product.name, why, by=by, pin=pin):
        forms.recorded(
            f"plan-retire-{product.name}",
            _("{product} is in the plan no more; its history stays.").format(product=product.name),
        )


def _history(product: Product, site: SiteView) -> None:
    with st.expander(_("What was changed, by whom and why")):
        rows = [
            [
                sheet.esc(words.clock_words(each.from_ms, site.zone)),
                sheet.esc(each.by),
                sheet.esc(each.why) + "".join(_small(line) for line in each.what),
            ]
            for each in plan_data.history(product.name)
        ]
        st.html(sheet.table([_("From"), _("By"), _("What")], rows))


def _small(line: str) -> str:
    return f'<div class="hw-small">{sheet.esc(line)}</div>'
