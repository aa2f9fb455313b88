"""A viewer, such as an inspector, looks and prints everywhere and writes nowhere."""

import ast
import importlib
import inspect
import pkgutil
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest
from streamlit.testing.v1 import AppTest

import dashboards
from dashboards import signedin
from dashboards.signedin import SignedIn
from holdwatch.errors import RefusedError
from holdwatch.people.roles import PersonRole
from holdwatch.storage.engine import Store
from holdwatch.storage.events import record_event
from holdwatch.storage.every_table import every_table
from holdwatch.storage.findings import findings
from holdwatch.storage.people import add_person
from holdwatch.storage.refusals import refusals
from holdwatch.storage.register import add_unit
from holdwatch.storage.tables import EventKind
from tests.dashboards.conftest import Opener, empty, morning, on_shift, open_page
from tests.views.conftest import BY, NOW, Morning

__all__ = ["empty", "morning", "open_page"]

_AROUND = {
    "data.recorded_act": "checks role and PIN itself; the phone's page uses it",
    "data.keep_refused": "keeps a refused try",
    "signedin.touch": "when a screen was last used",
    "signedin.opened": "signing in",
    "signedin.sign_out": "signing out",
    "shift_data.reviewed": "takes a manager's PIN; the phone's page uses it",
    "shift_data.review_link": "a link, drawn for those who record alone",
    "phone_review._to_verify": "links to findings, for whoever holds the link of a review",
    "data.set_up": "how what a manager sets up is written and signed, with a PIN; each use of it is guarded",
    "speaking_data.keep_for_myself": "one's own language and degrees: they are nobody else's and say nothing of food",
    "sso._coded": "the key of single sign-on",
    "sso._decoded": "the key of single sign-on",
}
"""Functions that write and are no entry of a page, with what they write."""


def _modules() -> Iterator[ModuleType]:
    for found in pkgutil.walk_packages(dashboards.__path__, "dashboards."):
        if not found.name.startswith(("dashboards.screens", "dashboards.app", "dashboards.serve")):
            yield importlib.import_module(found.name)


def _told() -> list[tuple[str, object]]:
    """Return every entry of every page: what `data.told` guards."""
    found = {}
    for module in _modules():
        for name, each in inspect.getmembers(module, inspect.isfunction):
            if hasattr(each, "__wrapped__") and each.__code__.co_qualname.startswith("told."):
                found[id(each)] = (f"{module.__name__}.{name}", each)
    return list(found.values())


def _rows(store: Store) -> dict[str, list[str]]:
    """Return every row of the store but the tries that were refused, and the lines of the chain that hold them."""
    with store.read() as session:
        connection = session.connection()
        return {
            name: [str(row) for row in connection.exec_driver_sql(f"select * from {name}")]  # noqa: S608  our own names
            for name in sorted(set(every_table()) - {"refusal", "link"})
        }


def _press_everything(at: AppTest) -> int:
    """Fill every field that is empty, press every button at once, and return how many there were."""
    for field in (*at.text_input, *at.text_area):
        if not field.value:
            field.set_value("1")
    for choice in at.selectbox:
        if choice.value is None and choice.options:
            choice.select_index(0)
    buttons = [each for each in at.button if not each.disabled]
    for each in buttons:
        each.click()
    at.run()
    assert not at.exception
    return len(buttons)


def test_a_viewer_who_presses_every_button_of_every_page_changes_nothing(
    morning: Morning, open_page: Opener, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Every page is drawn, with whatever fields and buttons it offers; what is tried all the same is kept."""
    with morning.store.write() as session:
        add_person(session, "Ines Okafor", "IO", "manager", now_ms=NOW, by=BY)
        add_person(session, "Dr Falk", "DF", "viewer", now_ms=NOW, by=BY)
        found = [each.id for each in findings(session, open_only=True)]
        place = add_unit(session, "Cellar", "walk-in", now_ms=NOW, by=BY).id
    monkeypatch.setattr(signedin, "here", lambda: SignedIn("Dr Falk", PersonRole.VIEWER, on_shift=on_shift("Dr Falk")))
    (tmp_path / "inbox.jsonl").touch()  # the demonstration's page is there too
    before, pressed = _rows(morning.store), 0
    opened = [(path.stem, {}) for path in sorted(Path(dashboards.__file__ or "").parent.glob("screens/*.py"))]
    opened += [("batches", {"batch": str(morning.slow)}), ("units", {"unit": str(place)})]
    opened += [("findings", {"finding": str(found[0])})]
    at = open_page()
    for page, query in opened:
        at.switch_page(f"screens/{page}.py")
        for name in ("batch", "unit", "finding"):
            at.query_params[name] = query.get(name, "")
        at.run()
        parts = next((each for each in at.pills if each.key in {"records-part", "round-part"}), None)
        pressed += _press_everything(at)
        for part in [] if parts is None else parts.options[1:]:
            at.pills(key=parts.key).set_value(part).run()
            pressed += _press_everything(at)
    assert pressed > 40
    assert _rows(morning.store) == before
    with morning.store.read() as session:
        assert {each.who for each in refusals(session)} == {"Dr Falk"}


@pytest.mark.usefixtures("open_page")
def test_no_entry_of_any_page_takes_anything_of_a_viewer(morning: Morning, monkeypatch: pytest.MonkeyPatch) -> None:
    """Refused before anything is asked of the store, and kept."""
    with morning.store.write() as session:
        add_person(session, "Dr Falk", "DF", "viewer", now_ms=NOW, by=BY)
    monkeypatch.setattr(signedin, "here", lambda: SignedIn("Dr Falk", PersonRole.VIEWER, on_shift=on_shift("Dr Falk")))
    entries = _told()
    assert len(entries) > 15
    for name, each in entries:
        assert each() is None, name  # type: ignore[operator]
    with morning.store.read() as session:
        assert sum(each.times for each in refusals(session)) == len(entries)
        assert {each.who for each in refusals(session)} == {"Dr Falk"}


def test_nothing_else_of_the_pages_writes() -> None:
    """Whoever adds a function that writes guards it with `told`, or says here why not."""
    loose = set()
    root = Path(dashboards.__file__ or "").parent
    for path in root.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                guarded = any("told" in ast.unparse(each) for each in node.decorator_list)
                if not guarded and any(word in ast.unparse(node) for word in (".write()", "keep_refusal(")):
                    loose.add(f"{path.stem}.{node.name}")
    assert loose - {*_AROUND, "signedin.sign_in", "sso._keep"} == set()


@pytest.mark.parametrize("by", ["Dr Falk", "dr falk", "DF"])
def test_the_store_takes_nothing_in_a_viewers_name(morning: Morning, by: str) -> None:
    """Whichever command says it: below all of them."""
    with morning.store.write() as session:
        add_person(session, "Dr Falk", "DF", "viewer", now_ms=NOW, by=BY)
    for kind in set(EventKind) - {EventKind.PERSON_CHANGED}:
        with pytest.raises(RefusedError, match="looks and prints"), morning.store.write() as session:
            record_event(session, kind, at_ms=NOW, now_ms=NOW, by=by)
