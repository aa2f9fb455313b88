"""Reading a cake from a file, and refusing one that cannot be planned with the file, the key and what to do."""

import tomllib
from collections.abc import Callable
from enum import StrEnum
from itertools import pairwise
from pathlib import Path
from typing import Any, TypeVar

from holdwatch.calculators.cakes.model import Cake, Display, Part, Stage
from holdwatch.calculators.containers import read_container
from holdwatch.calculators.cooling_places import Way
from holdwatch.calculators.foods import read_food
from holdwatch.errors import ConfigError, HoldwatchError
from holdwatch.measures import length_m
from holdwatch.quantities import Duration, Temperature

__all__ = ["cake_text", "known_cakes", "read_cake"]

_HERE = Path(__file__).parent

T = TypeVar("T")
_Word = TypeVar("_Word", bound=StrEnum)


def known_cakes() -> tuple[str, ...]:
    """Return the names of the cakes that come with the package."""
    return tuple(sorted(path.stem for path in _HERE.glob("*.toml")))


def cake_text(name_or_path: str) -> str:
    """Return the file of a cake, to copy and change.

    Raises
    ------
    ConfigError
        If there is none, or it cannot be read.
    """
    path = _HERE / f"{name_or_path}.toml" if name_or_path in known_cakes() else Path(name_or_path)
    if not path.is_file():
        known = ", ".join(known_cakes())
        raise ConfigError(f"no cake called {name_or_path!r}: write one of {known}, or the path of a file like theirs")
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as exc:
        raise ConfigError(f"cannot read {path}: it is no UTF-8 text that may be read") from exc


def read_cake(name_or_path: str) -> Cake:
    """Read a cake by its name in the package, or from a file of one's own.

    Raises
    ------
    ConfigError
        If there is none, or a key is missing, unknown or cannot be used.
    """
    try:
        data = tomllib.loads(cake_text(name_or_path))
    except tomllib.TOMLDecodeError as exc:
        raise ConfigError(f"{name_or_path} is not TOML: {exc}") from exc
    whole = _Table(name_or_path, "", data)
    assembling, setting, display = (whole.table(name) for name in ("assemble", "set", "display"))
    cake = Cake(
        title=whole.take("title", str),
        layers=_part(whole.table("layers")),
        filling=_part(whole.table("filling")),
        assemble=assembling.take("takes", Duration.parse),
        height_m=assembling.take("height", length_m),
        set=setting.take("takes", Duration.parse),
        display=display.take("takes", Duration.parse),
        where=display.take("where", _word(Display)),
        serving=display.take("serving", Duration.parse),
    )
    for table in (whole, assembling, setting, display):
        table.done()
    return cake


def _part(table: "_Table") -> Part:
    stages = []
    for stage in table.tables("cool"):
        stages.append(Stage(stage.take("where", _word(Way)), stage.take("to", Temperature.parse)))
        stage.done()
    part = Part(
        food=table.take("food", read_food),
        container=table.take("container", read_container),
        depth_m=table.take("depth", length_m),
        takes=table.take("takes", Duration.parse),
        out_at=table.take("out_at", Temperature.parse),
        cool=tuple(stages),
        controlled=table.flag("controlled"),
    )
    table.done()
    levels = [part.out_at.celsius, *(stage.to.celsius for stage in stages)]
    if any(later >= before for before, later in pairwise(levels)):
        raise table.fail("cool", "is to name lower and lower temperatures, from that at which it comes out")
    if not part.food.stirs and any(stage.way is Way.STIRRED for stage in stages):
        raise table.fail("cool", f"has {part.food.title} stirred, which it cannot be")
    return part


def _word(choices: type[_Word]) -> Callable[[str], _Word]:
    def read(text: str) -> _Word:
        if text not in set(choices):
            raise ConfigError(f"{text!r} is none of {', '.join(choices)}")
        return choices(text)

    return read


class _Table:
    """One table of the file; what is taken is gone, and what is left over at the end is unknown."""

    def __init__(self, file: str, name: str, data: dict[str, Any]) -> None:
        self._file, self._name, self._left = file, name, dict(data)

    def fail(self, key: str, why: str) -> ConfigError:
        """Return an error that names file, table and key."""
        where = f"[{self._name}] {key}" if self._name else key
        return ConfigError(f"{self._file}: {where} {why}")

    def take(self, key: str, read: Callable[[str], T]) -> T:
        """Take a key that must be there."""
        value = self._left.pop(key, None)
        if not isinstance(value, str) or not value.strip():
            raise self.fail(key, "is missing: write a text in quotes")
        try:
            return read(value)
        except (HoldwatchError, ValueError) as exc:
            raise self.fail(key, f"cannot be used: {exc}") from exc

    def flag(self, key: str) -> bool:
        """Take true or false; false where it is not there."""
        value = self._left.pop(key, False)
        if not isinstance(value, bool):
            raise self.fail(key, "is neither true nor false")
        return value

    def table(self, key: str) -> "_Table":
        """Take a table that must be there."""
        value = self._left.pop(key, None)
        if not isinstance(value, dict):
            raise self.fail(key, "is missing: it is a table of its own")
        return _Table(self._file, key, value)

    def tables(self, key: str) -> list["_Table"]:
        """Take one or more tables of one name."""
        value = self._left.pop(key, None)
        if not isinstance(value, list) or not value or not all(isinstance(each, dict) for each in value):
            raise self.fail(key, f"is missing: write one or more [[{self._name}.{key}]] with where and to")
        return [_Table(self._file, f"{self._name}.{key}", each) for each in value]

    def done(self) -> None:
        """Refuse what nobody asked for: it is a mistake of spelling."""
        for key in self._left:
            raise self.fail(key, "is unknown here: look at its spelling")
