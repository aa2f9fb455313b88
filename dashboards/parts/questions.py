"""What the watch asks of a person, with the answers to touch."""

import streamlit as st

from dashboards import data
from dashboards.parts import forms, sheet
from holdwatch.language import N_, _
from holdwatch.storage.tables import EventKind
from holdwatch.views.model import BatchView

_ANSWERS = {
    EventKind.PROBE_IN_FOOD: N_("It is in the food"),
    EventKind.PROBE_OUT_OF_FOOD: N_("It is out of the food"),
}
_HERE = N_("Or measure the food, and note what it reads under “Reading by hand”: that settles it either way.")


def ask(batch: BatchView, *, on_its_page: bool = False) -> None:
    """Draw the questions about a batch, vessel by vessel: an answer is about the vessel that was looked at."""
    for vessel in dict.fromkeys(vessel for vessel, _asks in batch.doubts):
        where = (
            _("{batch}, vessel {vessel}").format(batch=batch.title, vessel=vessel) if batch.vessels > 1 else batch.title
        )
        for question in (words for v, words in batch.doubts if v == vessel):
            st.html(sheet.ask(f"{where}: {question}"))
        by = forms.who(f"b{batch.id}-{vessel}")
        with st.container(horizontal=True, key=f"answers-{batch.id}-{vessel}"):
            for kind, words in _ANSWERS.items():
                if st.button(_(words), key=f"b{batch.id}-{vessel}-{kind.value}"):
                    _answer(batch, vessel, where, kind, by)
        if on_its_page:
            st.html(sheet.small_print(_(_HERE)))
        else:
            link = f'<a href="/batches?batch={batch.id}" target="_self">{_("note what it reads by hand")}</a>'
            st.html(
                f'<div class="hw hw-line">{_("Or measure the food and {link}: that settles it either way.").format(link=link)}</div>'
            )


def _answer(batch: BatchView, vessel: int, where: str, kind: EventKind, by: str) -> None:
    if data.note(batch.lot, kind, by=by, at_ms=data.now_ms(), vessel=vessel):
        answer = _(_ANSWERS[kind])
        forms.say(
            _("Recorded for {where}: {answer}. The watch judges it again now.").format(
                where=where, answer=f"{answer[:1].lower()}{answer[1:]}"
            )
        )
        st.rerun()
