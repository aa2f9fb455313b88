"""Whatever somebody writes as a name, or a stranger sends, stands on every page as its letters and does nothing.

Inside HTML that is markup (OWASP, Cross Site Scripting Prevention Cheat Sheet: encode for the place it stands in); in
labels and messages, which Streamlit reads as Markdown, it is pictures of other servers, links, formulas and directives.
"""

import re
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest

from dashboards import plain
from dashboards.parts import sheet
from holdwatch.clock import MS_PER_HOUR
from holdwatch.storage.batching import batch_named, note, start_batch
from holdwatch.storage.contacts import add_contact
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import open_finding
from holdwatch.storage.heard import keep_heard
from holdwatch.storage.people import add_person
from holdwatch.storage.register import add_probe, add_unit, place, set_site
from holdwatch.storage.tables import EventKind, FindingKind
from tests.dashboards.conftest import Opener, elements
from tests.support.heard import heard_now
from tests.views.conftest import NOW

HOSTILE = "<img src=x onerror=alert(1)><script>alert(2)</script>![p](http://e.example/p.png)[l](javascript:f)$x$"
THEN = NOW - MS_PER_HOUR
PAGES = ("bench", "batches", "units", "findings", "round", "records", "shift", "calculators", "setup")
PARTS = {
    "round": ("closing", "opening", "deliveries", "breakdown", "out-of-use", "visits"),
    "records": ("sheet", "days", "probes", "whole"),
}
_MARKDOWN = re.compile(r"(?<!\\)(\[l\]|!\[p\]|<img|\$x\$)")


@pytest.fixture
def hostile(empty: Store) -> Store:
    """A kitchen in which every name and every word that somebody can write is hostile."""
    with empty.write() as session:
        set_site(session, name=HOSTILE, authority=HOSTILE, from_ms=THEN, now_ms=THEN, by=HOSTILE)
        unit = add_unit(session, HOSTILE, "walk-in", now_ms=THEN, by=HOSTILE)
        for code in ("w1", "p1"):
            add_probe(session, code, medium="food", now_ms=THEN, by=HOSTILE)
        place(session, _probe(session, "w1"), unit=unit, at_ms=THEN, now_ms=THEN, by=HOSTILE)
        batch = start_batch(session, product=HOSTILE, lot=HOSTILE, vessels=2, at_ms=THEN, now_ms=THEN, by=HOSTILE)
        note(session, batch, EventKind.NOTE, at_ms=THEN, now_ms=THEN, by=HOSTILE, text=HOSTILE)
        add_contact(session, HOSTILE, "json://x.example", now_ms=THEN, by=HOSTILE)
        add_person(session, HOSTILE, "XX", "manager", now_ms=THEN, by=HOSTILE)
        add_person(session, f"b {HOSTILE}", "YY", "cook", now_ms=THEN, by=HOSTILE)
        keep_heard(
            session, [heard_now(f"holdwatch/{HOSTILE}", at_ms=NOW, said=HOSTILE, battery=HOSTILE, signal=HOSTILE)]
        )
        open_finding(
            session,
            key="batch:1:1",
            kind=FindingKind.DEVIATION,
            subject="batch:1:1",
            title=HOSTILE,
            reason=HOSTILE,
            batch_id=batch.id,
            since_ms=THEN,
            now_ms=THEN,
        )
    return empty


def _probe(session: Any, code: str) -> Any:
    from holdwatch.storage.register import probe_named

    return probe_named(session, code)


def _harmless(at: AppTest) -> None:
    """Hold all that a page draws against what must not be in it."""
    drawn = list(elements(at))
    assert len(drawn) > 10, "it has looked"
    for element in drawn:
        proto = getattr(element, "proto", None)
        if element.type == "html":
            assert "<img src=x" not in proto.body
            assert "<script>alert" not in proto.body
            continue
        said = [str(getattr(proto, name, "")) for name in ("label", "help", "body")]
        if element.type in {"radio", "button_group"}:
            said += [str(getattr(option, "content", option)) for option in proto.options]
        for text in said:
            assert not _MARKDOWN.search(text), (element.type, text)


@pytest.mark.parametrize("page", PAGES)
def test_no_name_becomes_markup_on_a_page(hostile: Store, open_page: Opener, page: str) -> None:
    """Each page, and each of its parts."""
    assert hostile
    for part in PARTS.get(page, ("",)):
        _harmless(open_page(page, **({"part": part} if part else {})))


def test_no_name_becomes_markup_on_the_page_of_one_thing(hostile: Store, open_page: Opener) -> None:
    """A batch, a finding, a unit; and a refusal that names what was typed."""
    assert hostile
    for page, name in (("batches", "batch"), ("findings", "finding"), ("units", "unit")):
        _harmless(open_page(page, **{name: "1"}))
    at = open_page("batches")
    at.text_input(key="start-another").input(HOSTILE)
    at.text_input(key="start-lot").input(HOSTILE[:60])
    next(button for button in at.button if button.label == "Start the batch").click().run()
    _harmless(at)
    with hostile.read() as session:
        assert batch_named(session, HOSTILE).lot == HOSTILE


def test_plain_words_are_left_as_they_are() -> None:
    """Only what would do something is kept from it; a time and a name stay as they were written."""
    assert sheet.plain("Walk-in 1, 06:30, 39.2 °F: kept (6 of 6)") == "Walk-in 1, 06:30, 39.2 °F: kept (6 of 6)"
    assert sheet.plain(":red[a] :material/home:") == r"\:red\[a\] \:material/home:"
    assert "<script>" not in plain.page(HOSTILE, "")
