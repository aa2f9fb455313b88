"""Rules that hold for every public formula."""

import doctest
import importlib
import inspect
import pkgutil

import pytest

from holdwatch import science

MODULES = [  # a module with a leading underscore serves another one, and promises nothing of its own
    importlib.import_module(f"holdwatch.science.{found.name}")
    for found in pkgutil.iter_modules(science.__path__)
    if not found.name.startswith("_")
]
FORMULAS = [
    (module, name) for module in MODULES for name in module.__all__ if inspect.isfunction(getattr(module, name))
]


@pytest.mark.parametrize(("module", "name"), FORMULAS, ids=lambda value: value if isinstance(value, str) else "")
def test_formula_states_its_equation_range_example_and_source(module: object, name: str) -> None:
    """Each public formula says what it takes, what it refuses, an example and where it is from."""
    text = inspect.getdoc(getattr(module, name)) or ""
    for section in ("Parameters", "Returns", "Raises", "Examples", "References"):
        assert f"\n{section}\n---" in text, f"{name} has no section {section}"


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_examples_of_the_docstrings_come_out(module: object) -> None:
    """The worked examples in the docstrings run."""
    failed, tried = doctest.testmod(module)  # type: ignore[arg-type]
    assert tried > 0
    assert failed == 0
