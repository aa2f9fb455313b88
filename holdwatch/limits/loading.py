"""Reading a limits file, and refusing one that breaks its schema with the file, the key and what to do."""

import tomllib
from dataclasses import dataclass, replace
from functools import cache
from hashlib import sha256
from pathlib import Path
from types import MappingProxyType
from typing import Any

from holdwatch.errors import LimitsError
from holdwatch.language import _
from holdwatch.limits.model import Cited, Limits, NoFigure, Standing
from holdwatch.limits.parts import PARTS, cold_holding, cooling, hot_holding
from holdwatch.limits.plans import on_base, read_laxer
from holdwatch.limits.table import Table

__all__ = ["LimitsFile", "known_limits", "load_limits", "parse_limits", "read_limits", "whole_name"]

_CODES = Path(__file__).parent / "codes"


@dataclass(frozen=True)
class LimitsFile:
    """A limits file as it was read, with the text of its base where it names one: enough to judge by it for ever."""

    name: str
    """The name of a code of the package, or the path of a file of one's own."""
    text: str
    base_text: str = ""

    @property
    def digest(self) -> str:
        """SHA-256 of the text and of the base's after it, in hex: one letter changed is another version."""
        return sha256(self.text.encode() + self.base_text.encode()).hexdigest()


def known_limits() -> tuple[str, ...]:
    """Return the names of the codes that come with the package."""
    return tuple(sorted(path.stem for path in _CODES.glob("*.toml")))


def whole_name(name_or_path: str) -> str:
    """Return the name of a code as it is, and a path from the root on: it is read again from elsewhere."""
    return name_or_path if name_or_path in known_limits() else str(Path(name_or_path).absolute())


def load_limits(name_or_path: str) -> Limits:
    """Read a code by its name in the package, or from a file of one's own.

    Raises
    ------
    LimitsError
        If there is no such code or file, or if the file breaks the schema.
    """
    if name_or_path in known_limits():
        return _load_packaged(name_or_path)
    return parse_limits(read_limits(name_or_path))


def read_limits(name_or_path: str) -> LimitsFile:
    """Return the text of a limits file, and of the base that it names.

    Raises
    ------
    LimitsError
        If there is no such code or file, or if it is not TOML in UTF-8.
    """
    if name_or_path in known_limits():
        return LimitsFile(name_or_path, _text(_CODES / f"{name_or_path}.toml"))
    path = Path(name_or_path)
    if not path.is_file():
        known = ", ".join(known_limits())
        raise LimitsError(
            _("no limits called {name_or_path!r}: use one of {known}, or the path of a limits file").format(
                name_or_path=name_or_path, known=known
            )
        )
    text = _text(path)
    base = _parsed(path, text).get("base")
    return LimitsFile(name_or_path, text, _text(_CODES / f"{base}.toml") if base in known_limits() else "")


def parse_limits(file: LimitsFile) -> Limits:
    """Return what a limits file says, judged by its own text and the text of its base as they were read.

    Raises
    ------
    LimitsError
        If it breaks the schema, or is laxer than its base and nobody answers for it.
    """
    path = Path(file.name)
    table = Table(path, "", _parsed(path, file.text))
    limits = replace(_limits(table), digest=file.digest)
    if limits.base is None:
        if limits.laxer is not None:
            raise table.fail("base", _("is missing: a plan that is laxer names the code that it is laxer than"))
        return limits
    if not file.base_text:
        said = _("{words!r} is none of {known}")
        raise table.fail("base", said.format(words=limits.base, known=", ".join(known_limits())))
    return on_base(limits, parse_limits(LimitsFile(limits.base, file.base_text)), table)


@cache
def _load_packaged(name: str) -> Limits:
    return parse_limits(read_limits(name))


def _text(path: Path) -> str:
    """Return the text of a file, its line ends as they are."""
    try:
        return path.read_bytes().decode("utf-8")
    except OSError as exc:
        raise LimitsError(
            _("cannot read limits file {path}: {strerror}").format(path=path, strerror=exc.strerror)
        ) from exc
    except UnicodeDecodeError as exc:
        raise LimitsError(_("limits file {path} is not UTF-8 text: save it as UTF-8").format(path=path)) from exc


def _parsed(path: Path, text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as exc:
        raise LimitsError(_("limits file {path} is not TOML: {exc}").format(path=path, exc=exc)) from exc


def _limits(table: Table) -> Limits:
    more: dict[str, Cited] = {}
    without: dict[str, NoFigure] = {}
    for name, parse in PARTS.items():
        part = _part(table, name, without)
        if part is not None:
            more[name] = parse(part)
            part.done()
    first = {}
    for name in ("cooling", "cold-holding", "hot-holding"):
        first[name] = _part(table, name, without)
    limits = Limits(
        id=table.text("id"),
        title=table.text("title"),
        authority=table.text("authority"),
        edition=table.text("edition"),
        caution=table.text("caution"),
        standing=table.choice("standing", Standing) if table.has("standing") else Standing.PLAN,
        base=table.text("base") if table.has("base") else None,
        laxer=read_laxer(table.table("laxer")) if table.has("laxer") else None,
        places=table.texts("places") if table.has("places") else (),
        cooling=None if first["cooling"] is None else cooling(first["cooling"]),
        cold_holding=None if first["cold-holding"] is None else cold_holding(first["cold-holding"]),
        hot_holding=None if first["hot-holding"] is None else hot_holding(first["hot-holding"]),
        more=MappingProxyType(more),
        no_figure=MappingProxyType(without),
    )
    for part in first.values():
        if part is not None:
            part.done()
    table.done()
    return limits


def _part(table: Table, name: str, without: dict[str, NoFigure]) -> Table | None:
    """Return a part that has a figure; one that has none is written down as such."""
    if not table.has(name):
        return None
    part = table.table(name)
    if not part.has("no_figure"):
        return part
    without[name] = NoFigure(part.text("clause"), part.text("source"), part.text("no_figure"))
    part.done()
    return None
