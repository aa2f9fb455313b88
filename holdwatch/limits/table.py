"""A table of a file that answers with what is wrong: the file, the key and what to do."""

from collections.abc import Callable
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import Any, TypeVar

from holdwatch.errors import ConfigError, LimitsError
from holdwatch.language import N_, _

__all__ = ["Table"]

_Parsed = TypeVar("_Parsed")
_Choice = TypeVar("_Choice", bound=StrEnum)


class Table:
    """A table of the file, that knows where it stands and which of its keys were asked for."""

    def __init__(
        self,
        path: Path,
        where: str,
        data: dict[str, Any],
        *,
        what: str = N_("limits file"),
        error: type[ConfigError] = LimitsError,
    ) -> None:
        self._path, self._where, self._data = path, where, data
        self._what, self._error = what, error
        self._asked: set[str] = set()

    def fail(self, key: str, problem: str) -> ConfigError:
        """Return the error that names the file, the key and what to do."""
        said = _("{what} {path}, {key}: {problem}")
        what = _(self._what)
        return self._error(said.format(what=what, path=self._path, key=f"{self._where}{key}", problem=problem))

    def has(self, key: str) -> bool:
        """Return whether the table has a key."""
        self._asked.add(key)
        return key in self._data

    def text(self, key: str) -> str:
        """Return words."""
        value = self._value(key)
        if not isinstance(value, str) or not value.strip():
            raise self.fail(key, _("write words between quotes"))
        return value

    def flag(self, key: str, *, default: bool) -> bool:
        """Return true or false."""
        value = self._data.get(key, default) if self.has(key) else default
        if not isinstance(value, bool):
            raise self.fail(key, _("write true or false"))
        return value

    def day(self, key: str) -> date:
        """Return a date."""
        value = self._value(key)
        if type(value) is not date:
            raise self.fail(key, _("write a date such as 2026-11-25"))
        return value

    def count(self, key: str) -> int:
        """Return a whole number, at least one."""
        value = self._value(key)
        if isinstance(value, bool) or not isinstance(value, int) or value < 1:
            raise self.fail(key, _("write a whole number, at least 1"))
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """Return a list of words."""
        value = self._value(key)
        if not isinstance(value, list) or not value or not all(isinstance(item, str) for item in value):
            raise self.fail(key, _("write a list of words between quotes, at least one"))
        return tuple(value)

    def parsed(self, key: str, parse: Callable[[str], _Parsed]) -> _Parsed:
        """Return what `parse` makes of the words."""
        words = self.text(key)
        try:
            return parse(words)
        except ValueError as exc:
            raise self.fail(key, str(exc)) from exc

    def choice(self, key: str, choices: type[_Choice]) -> _Choice:
        """Return one of a few words."""
        return self._chosen(key, self.text(key), choices)

    def choices(self, key: str, choices: type[_Choice]) -> tuple[_Choice, ...]:
        """Return a list of some of a few words."""
        return tuple(self._chosen(key, words, choices) for words in self.texts(key))

    def table(self, key: str) -> "Table":
        """Return a table inside this one."""
        value = self._value(key)
        if not isinstance(value, dict):
            raise self.fail(key, _("make it a table: {table}").format(table=f"[{self._where}{key}]"))
        return self._inner(f"{self._where}{key}.", value)

    def tables(self, key: str) -> list["Table"]:
        """Return a list of tables inside this one."""
        value = self._value(key)
        if not isinstance(value, list) or not value or not all(isinstance(item, dict) for item in value):
            said = _("make it a list of tables, at least one: {table}")
            raise self.fail(key, said.format(table=f"[[{self._where}{key}]]"))
        return [self._inner(f"{self._where}{key}[{n}].", item) for n, item in enumerate(value, 1)]

    def done(self) -> None:
        """Refuse keys that nothing asked for: a misspelt key must not fall silent."""
        unknown = sorted(set(self._data) - self._asked)
        if unknown:
            known = ", ".join(sorted(self._asked))
            raise self.fail(unknown[0], _("unknown key; known here are {known}").format(known=known))

    def _inner(self, where: str, data: dict[str, Any]) -> "Table":
        return Table(self._path, where, data, what=self._what, error=self._error)

    def _chosen(self, key: str, words: str, choices: type[_Choice]) -> _Choice:
        try:
            return choices(words)
        except ValueError as exc:
            said = _("{words!r} is none of {known}")
            raise self.fail(key, said.format(words=words, known=", ".join(choices))) from exc

    def _value(self, key: str) -> Any:
        if not self.has(key):
            raise self.fail(key, _("is missing: add it"))
        return self._data[key]
