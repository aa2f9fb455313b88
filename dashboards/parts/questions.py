"""What the watch asks of a person, with the answers to touch."""

import streamlit as st

from dashboards import data
from dashboards.parts import forms, sheet
from holdwatch.storage.tables import EventKind
from holdwatch.views.model import BatchView

_ANSWERS = {
    EventKind.PROBE_IN_FOOD: "It is in the food",
    EventKind.PROBE_OUT_OF_FOOD: "It is out of the food",
}
_HERE = "Or measure the food, and note what it reads under “Reading by hand”: that settles it either way."


def ask(batch: BatchView, *, on_its_page: bool = False) -> None:
    """Draw the questions about a batch, vessel by vessel: an answer is about the vessel that was looked at."""
    for vessel in dict.fromkeys(vessel for vessel, _ in batch.doubts):
        where = f"{batch.title}, vessel {vessel}" if batch.vessels > 1 else batch.title
        for question in (words for v, words in batch.doubts if v == vessel):
            st.html(sheet.ask(f"{where}: {question}"))
        by = forms.who(f"b{batch.id}-{vessel}")
        with st.container(horizontal=True, key=f"answers-{batch.id}-{vessel}"):
            for kind, words in _ANSWERS.items():
                if st.button(words, key=f"b{batch.id}-{vessel}-{kind.value}"):
                    _answer(batch, vessel, where, kind, by)
        if on_its_page:
            st.html(sheet.small_print(_HERE))
        else:
            link = f'<a href="/batches?batch={batch.id}" target="_self">note what it reads by hand</a>'
            st.html(f'<div class="hw hw-line">Or measure the food and {link}: that settles it either way.</div>')


def _answer(batch: BatchView, vessel: int, where: str, kind: EventKind, by: str) -> None:
    if data.note(batch.lot, kind, by=by, at_ms=data.now_ms(), vessel=vessel):
        answer = _ANSWERS[kind]
        forms.say(f"Recorded for {where}: {answer[:1].lower()}{answer[1:]}. The watch judges it again now.")
        st.rerun()
