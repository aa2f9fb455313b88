"""Reading a limits file, and refusing one that breaks its schema with the file, the key and what to do."""

import tomllib
from collections.abc import Callable
from datetime import date
from enum import StrEnum
from functools import cache
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from holdwatch.errors import LimitsError
from holdwatch.limits.model import Confidence, CoolingLimits, CoolingStage, Counts, HoldingLimits, Limits, NoFigure
from holdwatch.quantities import Duration, Level, Side, Temperature

__all__ = ["known_limits", "load_limits"]

_CODES = Path(__file__).parent / "codes"
_PROCESSES = ("cooling", "cold-holding", "hot-holding")
_Parsed = TypeVar("_Parsed")
_Choice = TypeVar("_Choice", bound=StrEnum)


def known_limits() -> tuple[str, ...]:
    """Return the names of the codes that come with the package."""
    return tuple(sorted(path.stem for path in _CODES.glob("*.toml")))


def load_limits(name_or_path: str) -> Limits:
    """Read a code by its name in the package, or from a file of one's own.

    Raises
    ------
    LimitsError
        If there is no such code or file, or if the file breaks the schema.
    """
    if name_or_path in known_limits():
        return _load_packaged(name_or_path)
    path = Path(name_or_path)
    if not path.is_file():
        known = ", ".join(known_limits())
        raise LimitsError(f"no limits called {name_or_path!r}: use one of {known}, or the path of a limits file")
    return _load(path)


@cache
def _load_packaged(name: str) -> Limits:
    return _load(_CODES / f"{name}.toml")


def _load(path: Path) -> Limits:
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as exc:
        raise LimitsError(f"cannot read limits file {path}: {exc.strerror}") from exc
    except UnicodeDecodeError as exc:
        raise LimitsError(f"limits file {path} is not UTF-8 text: save it as UTF-8") from exc
    except tomllib.TOMLDecodeError as exc:
        raise LimitsError(f"limits file {path} is not TOML: {exc}") from exc
    return _limits(_Table(path, "", data))


class _Table:
    """A table of the file, that knows where it stands and which of its keys were asked for."""

    def __init__(self, path: Path, where: str, data: dict[str, Any]) -> None:
        self._path, self._where, self._data = path, where, data
        self._asked: set[str] = set()

    def fail(self, key: str, problem: str) -> LimitsError:
        """Return the error that names the file, the key and what to do."""
        return LimitsError(f"limits file {self._path}, {self._where}{key}: {problem}")

    def has(self, key: str) -> bool:
        """Return whether the table has a key."""
        self._asked.add(key)
        return key in self._data

    def text(self, key: str) -> str:
        """Return words."""
        value = self._value(key)
        if not isinstance(value, str) or not value.strip():
            raise self.fail(key, "write words between quotes")
        return value

    def flag(self, key: str, *, default: bool) -> bool:
        """Return true or false."""
        value = self._data.get(key, default) if self.has(key) else default
        if not isinstance(value, bool):
            raise self.fail(key, "write true or false")
        return value

    def day(self, key: str) -> date:
        """Return a date."""
        value = self._value(key)
        if type(value) is not date:
            raise self.fail(key, "write a date such as 2026-11-25")
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """Return a list of words."""
        value = self._value(key)
        if not isinstance(value, list) or not value or not all(isinstance(item, str) for item in value):
            raise self.fail(key, "write a list of words between quotes, at least one")
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
        words = self.text(key)
        try:
            return choices(words)
        except ValueError as exc:
            raise self.fail(key, f"{words!r} is none of {', '.join(choices)}") from exc

    def table(self, key: str) -> "_Table":
        """Return a table inside this one."""
        value = self._value(key)
        if not isinstance(value, dict):
            raise self.fail(key, f"make it a table: [{self._where}{key}]")
        return _Table(self._path, f"{self._where}{key}.", value)

    def tables(self, key: str) -> list["_Table"]:
        """Return a list of tables inside this one."""
        value = self._value(key)
        if not isinstance(value, list) or not value or not all(isinstance(item, dict) for item in value):
            raise self.fail(key, f"make it a list of tables, at least one: [[{self._where}{key}]]")
        return [_Table(self._path, f"{self._where}{key}[{n}].", item) for n, item in enumerate(value, 1)]

    def done(self) -> None:
        """Refuse keys that nothing asked for: a misspelt key must not fall silent."""
        unknown = sorted(set(self._data) - self._asked)
        if unknown:
            known = ", ".join(sorted(self._asked))
            raise self.fail(unknown[0], f"unknown key; known here are {known}")

    def _value(self, key: str) -> Any:
        if not self.has(key):
            raise self.fail(key, "is missing: add it")
        return self._data[key]


def _limits(table: _Table) -> Limits:
    parts = {"cooling": _cooling, "cold-holding": _cold, "hot-holding": _hot}
    found: dict[str, Any] = {}
    without: dict[str, NoFigure] = {}
    for process in _PROCESSES:
        if not table.has(process):
            continue
        part = table.table(process)
        if part.has("no_figure"):
            without[process] = NoFigure(part.text("clause"), part.text("source"), part.text("no_figure"))
        else:
            found[process] = parts[process](part)
        part.done()
    limits = Limits(
        id=table.text("id"),
        title=table.text("title"),
        authority=table.text("authority"),
        edition=table.text("edition"),
        caution=table.text("caution"),
        cooling=found.get("cooling"),
        cold_holding=found.get("cold-holding"),
        hot_holding=found.get("hot-holding"),
        no_figure=MappingProxyType(without),
    )
    table.done()
    return limits


def _cooling(table: _Table) -> CoolingLimits:
    start = Level(table.parsed("start", Temperature.parse), Side.AT_LEAST)
    stages = tuple(_stage(stage) for stage in table.tables("stages"))
    if stages[0].counts is Counts.FURTHER:
        raise table.fail("stages[1].counts", "the first stage has none before it: write 'total'")
    levels = [start.celsius, *(stage.target.celsius for stage in stages)]
    if any(later >= earlier for earlier, later in pairwise(levels)):
        raise table.fail("stages", "each target must be colder than the one before, the first colder than the start")
    return CoolingLimits(start, stages)


def _stage(table: _Table) -> CoolingStage:
    stage = CoolingStage(
        clause=table.text("clause"),
        source=table.text("source"),
        requires=table.text("requires"),
        target=Level(
            table.parsed("target", Temperature.parse), Side.AT_MOST, table.flag("target_inclusive", default=True)
        ),
        within=table.parsed("within", Duration.parse),
        within_inclusive=table.flag("within_inclusive", default=True),
        counts=table.choice("counts", Counts),
        confidence=table.choice("confidence", Confidence),
        read_on=table.day("read_on"),
        read_at=table.texts("read_at"),
    )
    if stage.within.ms <= 0:
        raise table.fail("within", "must be longer than nothing")
    table.done()
    return stage


def _cold(table: _Table) -> HoldingLimits:
    return _holding(table, Side.AT_MOST)


def _hot(table: _Table) -> HoldingLimits:
    return _holding(table, Side.AT_LEAST)


def _holding(table: _Table, side: Side) -> HoldingLimits:
    return HoldingLimits(
        clause=table.text("clause"),
        source=table.text("source"),
        requires=table.text("requires"),
        level=Level(table.parsed("level", Temperature.parse), side, table.flag("inclusive", default=True)),
        confidence=table.choice("confidence", Confidence),
        read_on=table.day("read_on"),
        read_at=table.texts("read_at"),
    )
