"""Each page run as Streamlit runs it, over the morning of a kitchen."""

from collections.abc import Callable
from pathlib import Path

import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

import dashboards
from holdwatch import clock
from tests.views.conftest import NOW, empty, morning

__all__ = ["APP", "empty", "morning", "open_page", "press", "shown"]

APP = Path(dashboards.__file__ or "").with_name("app.py")

Opener = Callable[..., AppTest]


@pytest.fixture
def open_page(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Opener:
    """Return a function that opens a page of the screens at the morning's instant."""
    monkeypatch.setenv("HOLDWATCH_DATA", str(tmp_path))
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
    """Return the HTML and the messages that a page shows."""
    html = [element.proto.body for element in at.get("html")]
    return "\n".join([*html, *(e.value for e in at.error), *(s.value for s in at.success)])


def press(at: AppTest, label: str) -> None:
    """Press the button of that label and let the page be drawn again."""
    next(button for button in at.button if button.label == label).click().run()
    assert not at.exception
