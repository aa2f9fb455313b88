"""Putting a fault into a program that is loaded already: no file is touched, nothing is imported again."""

import ast
import importlib.abc
import importlib.machinery
import importlib.util
import inspect
import sys
from functools import cached_property
from types import CodeType, FunctionType, ModuleType
from typing import Any

__all__ = ["MutatedImport", "Unfit", "module_name", "swap"]

_PLAIN = (int, float, str, bool, type(None))


class Unfit(Exception):  # noqa: N818 - it is no error: the fault is put in by importing afresh instead
    """The fault cannot be put into the loaded program."""


def module_name(path: str) -> str:
    """Return the name under which a file is imported."""
    return path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


def swap(path: str, where: str, kind: str, code: str) -> None:
    """Put a fault into the loaded program.

    Raises
    ------
    Unfit
        If it can only be put in by importing its file afresh.
    """
    if kind == "body":
        _swap_function(path, where, code)
    elif kind == "constant":
        _swap_constant(path, where, code)
    else:
        raise Unfit(where)


def _swap_function(path: str, where: str, code: str) -> None:
    """Give a loaded function the code that it has in a mutated source."""
    wanted = _code_named(compile(code, path, "exec", dont_inherit=True), where)
    function = _function(sys.modules[module_name(path)], where)
    try:
        function.__code__ = wanted
    except ValueError as error:  # it holds names of a function around it
        raise Unfit(where) from error


def _swap_constant(path: str, where: str, code: str) -> None:
    """Give a constant, wherever it was imported, the value that it has in a mutated source."""
    module = sys.modules[module_name(path)]
    fresh: dict[str, Any] = {**module.__dict__}
    try:
        exec(compile(code, path, "exec", dont_inherit=True), fresh)  # noqa: S102 - it is our own source
    except Exception as error:
        raise Unfit(where) from error  # the file cannot even be imported: what is started afresh will find that
    old, new = module.__dict__.get(where), fresh.get(where)
    if where not in module.__dict__ or not (isinstance(old, _PLAIN) and isinstance(new, _PLAIN)):
        raise Unfit(where)
    holders = {
        other: ast.parse(inspect.getsource(other))
        for name, other in list(sys.modules.items())
        if name.split(".")[0] == "holdwatch" and other.__dict__.get(where) is old
    }
    if any(_used_when_imported(tree, where) for tree in holders.values()):
        raise Unfit(where)  # a default, or another constant, is made of it
    for holder, tree in holders.items():
        if holder is module or _imports(tree, where):
            holder.__dict__[where] = new


def _imports(tree: ast.Module, name: str) -> bool:
    """Return whether a module has a name from another, not one of its own that is called alike."""
    return any(alias.name == name for node in tree.body if isinstance(node, ast.ImportFrom) for alias in node.names)


def _used_when_imported(tree: ast.Module, name: str) -> bool:
    """Return whether a name is read outside the bodies of functions."""
    waiting: list[ast.AST] = list(tree.body)
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load) and node.id == name:
            return True
        if isinstance(node, ast.FunctionDef):
            waiting += [*node.decorator_list, *node.args.defaults, *(one for one in node.args.kw_defaults if one)]
        else:
            waiting += ast.iter_child_nodes(node)
    return False


def _code_named(code: CodeType, where: str) -> CodeType:
    for constant in code.co_consts:
        if isinstance(constant, CodeType):
            if constant.co_qualname == where:
                return constant
            if where.startswith(f"{constant.co_qualname}."):
                return _code_named(constant, where)
    raise Unfit(where)


def _function(module: ModuleType, where: str) -> FunctionType:
    *classes, name = where.split(".")
    holder: Any = module
    for inner in classes:
        holder = holder.__dict__[inner]
    found = holder.__dict__[name]
    if isinstance(found, property):
        found = found.fget
    elif isinstance(found, cached_property):
        found = found.func
    elif isinstance(found, classmethod | staticmethod):
        found = found.__func__
    found = getattr(found, "__wrapped__", found)
    if not isinstance(found, FunctionType):
        raise Unfit(where)
    return found


class MutatedImport(importlib.abc.MetaPathFinder):
    """Imports one module with a fault in it."""

    def __init__(self, path: str, code: str) -> None:
        self._name, self._path, self._code = module_name(path), path, code

    def find_spec(self, fullname: str, path: Any = None, target: Any = None) -> importlib.machinery.ModuleSpec | None:  # noqa: ARG002 - the protocol's names
        """Find the module, and no other."""
        if fullname != self._name:
            return None
        return importlib.util.spec_from_file_location(
            fullname, self._path, loader=_Loader(fullname, self._path, self._code)
        )


class _Loader(importlib.machinery.SourceFileLoader):
    def __init__(self, fullname: str, path: str, code: str) -> None:
        super().__init__(fullname, path)
        self._mutated = code

    def get_code(self, fullname: str) -> CodeType:
        """Return the code with the fault in it."""
        return compile(self._mutated, self.get_filename(fullname), "exec", dont_inherit=True)
