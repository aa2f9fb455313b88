"""No public formula without a check against a value from outside."""

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from holdwatch import science
from tests.science.published import CHECKS, Check, name_of, published

for _path in sorted(Path(__file__).parent.glob("test_*.py")):
    if _path.stem != Path(__file__).stem:
        importlib.import_module(f"tests.science.{_path.stem}")


def _modules() -> Iterator[ModuleType]:
    for found in pkgutil.walk_packages(science.__path__, f"{science.__name__}."):
        if not found.name.rpartition(".")[2].startswith("_"):
            yield importlib.import_module(found.name)


MODULES = list(_modules())
FORMULAS: list[Callable[..., Any]] = [
    getattr(module, name)
    for module in MODULES
    for name in getattr(module, "__all__", [])
    if inspect.isfunction(getattr(module, name)) and getattr(module, name).__module__ == module.__name__
]


IMPORTED_AND_MARKED = 2
"""How often a formula's name stands in a file of tests that never uses it."""


def unchecked(formulas: list[Callable[..., Any]], checks: list[Check]) -> list[str]:
    """Return the formulas for which no check stands."""
    named = {check.formula for check in checks}
    return [name_of(formula) for formula in formulas if name_of(formula) not in named]


def what_is_wrong(check: Check) -> str:
    """Return why a check does not count, or nothing."""
    code, short = inspect.getsource(check.test), check.formula.rpartition(".")[2]
    around = inspect.getsource(inspect.getmodule(check.test) or check.test)
    if not check.test.__name__.startswith("test_"):
        return "is no test"
    if "pinned" in check.test.__name__:
        return "holds a value of our own"
    if len(check.source.split()) < 2:
        return "names no source"
    if "assert" not in code and "pytest.raises" not in code:
        return "asserts nothing"
    if f"{short}(" not in around and len(re.findall(rf"\b{short}\b", around)) <= IMPORTED_AND_MARKED:
        return f"never uses {short}"
    return ""


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_module_names_what_is_public(module: ModuleType) -> None:
    """Each module of formulas lists what it offers, so that nothing public escapes the checks."""
    offered = set(module.__all__)
    for name, value in vars(module).items():
        if inspect.isfunction(value) and value.__module__ == module.__name__ and not name.startswith("_"):
            assert name in offered, f"{module.__name__}.{name} is neither private nor listed in __all__"


@pytest.mark.parametrize("formula", FORMULAS, ids=name_of)
def test_formula_is_held_against_a_published_value(formula: Callable[..., Any]) -> None:
    """Each public formula has a test marked ``@published`` with its source."""
    assert not unchecked([formula], CHECKS), f"mark a test of it: @published({formula.__name__}, source=…)"


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: f"{check.test.__name__}-{check.formula}")
def test_published_check_is_one(check: Check) -> None:
    """Each check is a test that asserts something of the formula, and its source is no value of our own."""
    assert not what_is_wrong(check)


def test_formula_without_a_check_is_refused() -> None:
    """A formula that nobody holds against anything is named."""

    def nobody_holds_it() -> None: ...

    assert unchecked([nobody_holds_it], CHECKS) == [name_of(nobody_holds_it)]


def test_check_without_source_is_refused() -> None:
    """A check of our own value, of no value, or of no source does not count."""

    def test_x_pinned_value() -> None:
        assert unchecked([], []) == []

    def test_x_matches_nothing() -> None:
        unchecked([], [])

    before = len(CHECKS)
    published(unchecked, source="A. Author, Table 1")(test_x_pinned_value)
    published(unchecked, source="A. Author, Table 1")(test_x_matches_nothing)
    published(unchecked, source=" ")(test_check_without_source_is_refused)
    own, empty, nameless = CHECKS[before:]
    del CHECKS[before:]
    assert "our own" in what_is_wrong(own)
    assert "asserts nothing" in what_is_wrong(empty)
    assert "no source" in what_is_wrong(nameless)
