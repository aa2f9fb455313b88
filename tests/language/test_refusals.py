"""Refusals that a screen or a paper can show are said in the language of whoever reads them."""

import ast
from collections.abc import Iterator
from pathlib import Path

from holdwatch.intake.decoded import AsideReason
from scripts.words import FORMS, ROOMS, ROOT, catalog

TOLD_AT_THE_CONSOLE = {
    "holdwatch/cli": "the command line is English",
    "holdwatch/run": "parts that start and stop, told where they were started",
    "holdwatch/demo": "the demonstration is started at the console",
    "holdwatch/settings.py": "a setting is read before anything is spoken",
    "holdwatch/intake/address.py": "the broker's address is a setting",
    "holdwatch/intake/listener.py": "a second listener is refused at the console",
    "holdwatch/calculators/cakes/reading.py": "a cake's file is named at the console",
    "holdwatch/storage/backups.py": "backups are made and put back at the console",
    "holdwatch/storage/engine.py": "a store that cannot be opened tells no language",
    "holdwatch/storage/locks.py": "a second process is refused at the console",
    "holdwatch/storage/migrating.py": "`init` and `run` alone migrate",
    "holdwatch/storage/place.py": "where the store is, is a setting",
    "holdwatch/storage/witness.py": "a witness file is named at the console",
    "holdwatch/limits/loading.py": "whoever writes a limits file writes its English keys",
    "holdwatch/limits/parts.py": "the same",
    "holdwatch/limits/plans.py": "the same",
    "holdwatch/limits/table.py": "the same",
    "holdwatch/plan/reading.py": "the same of a product file",
    "holdwatch/records/check_record.py": "the checker that is handed out needs nothing of ours",
}
"""What no page shows, and why."""
NO_SENTENCE = frozenset({"ValueError", "TypeError", "RuntimeError", "AssertionError", "SystemExit", "Exit"})
"""What is a programmer's mistake, or says nothing."""


def _bare(node: ast.AST) -> Iterator[str]:
    """Give the words in a node that nobody looks up; keywords of an error say who tried what, and are no sentence."""
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in FORMS:
        return
    if isinstance(node, ast.Constant) and isinstance(node.value, str) and " " in node.value.strip():
        yield node.value
    children = node.args if isinstance(node, ast.Call) else ast.iter_child_nodes(node)
    for child in children:
        yield from _bare(child)


def _refusals(path: Path) -> Iterator[tuple[int, str]]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        made = node.exc if isinstance(node, ast.Raise) else None
        if isinstance(made, ast.Call) and ast.unparse(made.func).rpartition(".")[2] not in NO_SENTENCE:
            for argument in made.args:
                yield from ((node.lineno, words) for words in _bare(argument))


def test_every_refusal_that_a_page_can_show_is_looked_up() -> None:
    """A sentence in an error that is raised stands inside `_`, wherever no reason is given why it need not."""
    looked, found = 0, []
    for room in ROOMS:
        for path in sorted((ROOT / room).rglob("*.py")):
            name = path.relative_to(ROOT).as_posix()
            if not any(name == each or name.startswith(f"{each}/") for each in TOLD_AT_THE_CONSOLE):
                looked += 1
                found += [f"{name}:{line}: {words}" for line, words in _refusals(path)]
    assert looked > 100
    assert found == []


def _data_said(path: Path) -> Iterator[int]:
    """Give the lines in which a sentence that is looked up is filled with an instant or a day as data has it."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and ast.unparse(node.func).endswith(").format"):
            called = {
                ast.unparse(each.func).rpartition(".")[2] for each in ast.walk(node) if isinstance(each, ast.Call)
            }
            if called & {"to_iso", "isoformat"}:
                yield node.lineno


def test_no_sentence_tells_an_instant_or_a_day_as_data_has_it() -> None:
    """People read the site's local time with its zone, and days written out; ISO in UTC is for programs."""
    paths = [path for room in ROOMS for path in sorted((ROOT / room).rglob("*.py"))]
    assert [f"{path.relative_to(ROOT)}:{line}" for path in paths for line in _data_said(path)] == []


def test_what_need_not_be_looked_up_is_there() -> None:
    """A room that is gone needs no reason any more."""
    assert [each for each in TOLD_AT_THE_CONSOLE if not (ROOT / each).exists()] == []


def test_why_a_message_is_set_aside_can_be_said_in_every_language() -> None:
    """The Bench looks the words up as the store keeps them."""
    known = {message.id for message in catalog("es")}
    assert {each.value.replace("-", " ") for each in AsideReason} <= known
