"""From gathered facts to an archive PDF (PDF/A-2b), always the same bytes for the same facts.

Names reach the typesetter as JSON text, never as markup. A character that none of the fonts has is printed by its number,
as in ``[U+1F370]``: an archive PDF may not hold a blank box in its place.
"""

import json
import re
from collections.abc import Callable, Sequence
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from holdwatch.charts.fonts import font_directory
from holdwatch.clock import MS_PER_SECOND

if TYPE_CHECKING:
    import typst

__all__ = ["FEET", "RECORD", "fonts", "typeset"]

_MISSING = re.compile(r'the text `"(.+?)"` could not be displayed', re.DOTALL)
_LONG_WORD = re.compile(r"\S{26,}")
_ANYWHERE = "\u200b"
_MOST_ROUNDS = 8

RECORD = ("paper.typ", "sections.typ", "record.typ")
"""How papers of the record are set."""
FEET = ("paper.typ", "feet.typ")
"""How their heads and feet are."""


def typeset(sheet: dict[str, Any], now_ms: int, *, pages: Sequence[str] = RECORD) -> bytes:
    """Return the PDF of gathered facts, set as the files `pages` say together; its date is the instant of printing."""
    import typst  # here, not above: whoever prints nothing is spared of it

    template = b"".join(files("holdwatch.records").joinpath(name).read_bytes() for name in pages)
    sheet = _each(sheet, _breakable)
    missing: set[str] = set()
    for _ in range(_MOST_ROUNDS):
        text = json.dumps(sheet if not missing else _numbered(sheet, missing), ensure_ascii=False)
        try:
            pdf: bytes = typst.compile(
                template,
                format="pdf",
                font_paths=fonts(),
                sys_inputs={"sheet": text},
                pdf_standards=["a-2b"],
                timestamp=now_ms // MS_PER_SECOND,
                pdf_tags=False,
            )
            return pdf  # noqa: TRY300  nothing else stands in the block that could fail
        except typst.TypstError as exc:
            found = {c for run in _MISSING.findall(exc.diagnostic) for c in _unescaped(run)} - missing
            if not found:
                raise
            missing |= found
    raise AssertionError("the typesetter keeps finding characters without a shape")


@cache
def fonts() -> "typst.Fonts":
    """Return our fonts, found once."""
    import typst

    return typst.Fonts(include_system_fonts=False, font_paths=[font_directory()])


def _unescaped(run: str) -> str:
    r"""Read a run of text as the typesetter quotes it: unusual characters as ``\\u{200d}``."""
    return re.sub(r"\\u\{([0-9a-fA-F]+)\}", lambda match: chr(int(match[1], 16)), run)


def _numbered(value: Any, missing: set[str]) -> Any:
    """Replace characters without a shape everywhere in the facts, and in the words of the charts."""
    return _each(value, lambda text: "".join(f"[U+{ord(c):04X}]" if c in missing else c for c in text))


def _breakable(text: str) -> str:
    """Let a word that is longer than a column break: a space of no width stands where it may."""
    if text.startswith("<svg"):
        return text
    return _LONG_WORD.sub(lambda word: _ANYWHERE.join(word[0]), text)


def _each(value: Any, change: Callable[[str], str]) -> Any:
    """Change every text in JSON-like facts."""
    if isinstance(value, str):
        return change(value)
    if isinstance(value, list):
        return [_each(item, change) for item in value]
    if isinstance(value, dict):
        return {key: _each(item, change) for key, item in value.items()}
    return value
