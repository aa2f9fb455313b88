"""Rules that hold for every public formula."""

import doctest
import importlib
import inspect
import pkgutil
from pathlib import Path

import pytest

from holdwatch import science

MODULES = [
    importlib.import_module(f"holdwatch.science.{found.name}") for found in pkgutil.iter_modules(science.__path__)
]
FORMULAS = [
    (module, name) for module in MODULES for name in module.__all__ if inspect.isfunction(getattr(module, name))
]
TESTS = "\n".join(path.read_text(encoding="utf-8") for path in Path(__file__).parent.glob("test_*.py"))


@pytest.mark.parametrize(("module", "name"), FORMULAS, ids=lambda value: value if isinstance(value, str) else "")
def test_formula_states_its_equation_range_example_and_source(module: object, name: str) -> None:
    """Each public formula says what it takes, what it refuses, an example and where it is from."""
    text = inspect.getdoc(getattr(module, name)) or ""
    for section in ("Parameters", "Returns", "Raises", "Examples", "References"):
        assert f"\n{section}\n---" in text, f"{name} has no section {section}"


@pytest.mark.parametrize(("module", "name"), FORMULAS, ids=lambda value: value if isinstance(value, str) else "")
def test_formula_is_held_against_a_published_value(module: object, name: str) -> None:
    """Each public formula has a test named after a source, or stands in one of its worked examples."""
    assert hasattr(module, name)
    named = f"def test_{name}_matches_" in TESTS or f"def test_{name}_first_term_matches_" in TESTS
    in_examples = (
        "def test_theta_matches_textbook_examples" in TESTS and f"{name}(" in TESTS and name.endswith("_theta")
    )
    measured = f"def test_{name}_with_known_surroundings_matches_" in TESTS
    assert named or in_examples or measured, f"{name} has no published check"


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_examples_of_the_docstrings_come_out(module: object) -> None:
    """The worked examples in the docstrings run."""
    failed, tried = doctest.testmod(module)  # type: ignore[arg-type]
    assert tried > 0
    assert failed == 0
