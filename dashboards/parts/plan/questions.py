"""What must be checked of a product before it is used: each question with its answer, and the form to answer it."""

import streamlit as st

from dashboards import plan_data
from dashboards.parts import forms, sheet
from holdwatch.language import _
from holdwatch.plan.answering import CHOICES
from holdwatch.plan.model import ABOUT, Asked, Product, Question

__all__ = ["draw"]


def draw(product: Product, susceptible: str) -> None:
    """Draw the questions, and a form for one of them; `susceptible` is what the site answered for all that it serves."""
    st.html(sheet.heading(_("To be checked before it is used"), 2))
    rows = [
        [
            sheet.esc(sheet.sentence(_(ABOUT[each.asked]))),
            _answered(each, susceptible),
            sheet.esc(_(each.why)),
        ]
        for each in product.questions
    ]
    st.html(sheet.table(["", _("Answer"), _("Why it matters")], rows))
    with st.expander(_("Answer"), expanded=bool(product.unanswered)):
        _answer(product)


def _answered(question: Question, susceptible: str) -> str:
    if question.answer is not None:
        return sheet.esc(f"{_(question.answer.said)} ({question.answer.by})")
    if question.asked is Asked.SUSCEPTIBLE and susceptible:
        return sheet.esc(_("{answer}, as the site answered").format(answer=_(susceptible)))
    return f"<b>{_('to check')}</b>"


def _answer(product: Product) -> None:
    key = forms.fresh(f"plan-answer-{product.name}")
    asked = {each.asked: each for each in product.questions}
    first = (product.unanswered or product.questions)[0].asked
    chosen = st.selectbox(
        _("Which question"),
        list(asked),
        index=list(asked).index(first),
        format_func=lambda each: _(ABOUT[each]),
        key=f"{key}-which",
    )
    with st.form(key):
        said = _said(asked[chosen], key)
        by, pin = forms.signer(key)
        with st.container(horizontal=True):
            pressed = st.form_submit_button(_("Record the answer"), type="primary")
            opened = asked[chosen].answer is not None and st.form_submit_button(_("Nobody knows: open again"))
    if pressed and not said:
        forms.problem(_("Answer the question."))
    elif (pressed or opened) and plan_data.answer(product.name, chosen, said if pressed else "", by=by, pin=pin):
        forms.recorded(
            f"plan-answer-{product.name}", f"{product.name}, {_(ABOUT[chosen])}: {_(said) if said else _('open')}."
        )


def _said(question: Question, key: str) -> str:
    """Ask a question in its own way: one of a few words, or a line."""
    before = question.answer.said if question.answer is not None else ""
    key = f"{key}-{question.asked}"
    if question.asked in CHOICES:
        choices = CHOICES[question.asked]
        index = choices.index(before) if before in choices else None
        return str(st.radio(_(question.ask), choices, format_func=_, index=index, horizontal=True, key=key) or "")
    return st.text_input(
        _("{ask} Write {how}").format(ask=_(question.ask), how=_(question.how)), before, max_chars=300, key=key
    ).strip()
