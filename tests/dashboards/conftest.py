"""Each page run as Streamlit runs it, over the morning of a kitchen."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import streamlit as st
from streamlit.runtime.state.common import user_key_from_element_id
from streamlit.testing.v1 import AppTest

import dashboards
from dashboards import data, signedin
from dashboards.signedin import SignedIn
from holdwatch import clock
from holdwatch.people.roles import PersonRole
from holdwatch.storage.people import people
from holdwatch.storage.shifts import OnShift
from tests.views.conftest import NOW, empty, morning

__all__ = ["APP", "elements", "empty", "kitchen_screen", "morning", "on_shift", "open_page", "press", "shown", "unfold"]

APP = Path(dashboards.__file__ or "").with_name("app.py")

Opener = Callable[..., AppTest]


def on_shift(*names: str) -> tuple[OnShift, ...]:
    """Return people of the store who are on shift, in that order."""
    with data.store().read() as session:
        here = {each.name: each for each in people(session)}
    return tuple(
        OnShift(here[n].id or 0, n, here[n].initials, PersonRole(here[n].role), NOW - 1, NOW + clock.MS_PER_HOUR)
        for n in names
    )


def kitchen_screen(*names: str) -> SignedIn:
    """Return the kitchen's own screen with people on shift there."""
    return SignedIn("", PersonRole.COOK, kitchen=True, on_shift=on_shift(*names))


def _everybody() -> SignedIn | None:
    """Return the kitchen's screen with everybody on shift who may; nobody signs in before somebody is entered."""
    names = data.people()
    return kitchen_screen(*names) if names else None


@pytest.fixture
def open_page(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Opener:
    """Return a function that opens a page of the screens at the morning's instant, on the kitchen's own screen."""
    monkeypatch.setenv("HOLDWATCH_DATA", str(tmp_path))
    monkeypatch.setattr(signedin, "here", _everybody)
    signedin.forget()
    monkeypatch.setattr(clock, "now_ms", lambda: NOW)
    st.cache_resource.clear()

    def opened(page: str = "bench", **query: str) -> AppTest:
        at = AppTest.from_file(str(APP), default_timeout=60)
        for name, value in query.items():
            at.query_params[name] = value
        at.run()
        if page != "bench":
            at.switch_page(f"screens/{page}.py")
            for name, value in query.items():
                at.query_params[name] = value
            at.run()
        assert not at.exception
        return at

    return opened


def shown(at: AppTest) -> str:
    """Return the HTML and the messages that a page shows, these without the signs that keep them from being Markdown."""
    html = [element.proto.body for element in at.get("html")]
    said = [re.sub(r"\\([\\`*_\[\]<>$~|:])", r"\1", each.value) for each in (*at.error, *at.success)]
    return "\n".join([*html, *said])


def elements(at: AppTest) -> Iterator[Any]:
    """Return every element of a page, however deep it stands."""
    for tree in (at.main, at.sidebar):
        yield from _within(tree)


def _within(block: Any) -> Iterator[Any]:
    for child in block.children.values():
        if hasattr(child, "children"):
            yield from _within(child)
        yield child


def press(at: AppTest, label: str) -> None:
    """Press the button of that label and let the page be drawn again."""
    next(button for button in at.button if button.label == label).click().run()
    assert not at.exception


def unfold(at: AppTest, label: str = "") -> None:
    """Unfold everything that is made when it is unfolded, or what is called so."""
    for each in at.expander:
        key = user_key_from_element_id(each.proto.id) if each.proto.id else None
        if key is not None and label in each.label:
            at.session_state[key] = True
    at.run()
    assert not at.exception
