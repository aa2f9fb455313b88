"""Write every clause of every code that comes with Holdwatch as a page: ``python scripts/limits_docs.py docs/clauses.md``."""

import sys
from collections.abc import Iterator
from pathlib import Path

from holdwatch.limits import Limits, known_limits, load_limits
from holdwatch.limits.telling import NAMES, heading, how_read

__all__ = ["page"]

_HEAD = """# Every clause of every code

Written from the limits files by `scripts/limits_docs.py`; `holdwatch limits show NAME` reads the same aloud. What the words *seen*, *secondary* and *memory* mean, and where the texts were read, stands in [limits.md](limits.md).
"""


def page() -> str:
    """Return the page as Markdown."""
    return "\n".join([_HEAD, *(line for name in known_limits() for line in _code(load_limits(name)))])


def _code(limits: Limits) -> Iterator[str]:
    yield f"## {limits.title}\n"
    yield f"`{limits.id}`: {heading(limits)[1]} Edition: {limits.edition}.\n"
    if limits.places:
        yield f"Taken where the authority is of: {', '.join(limits.places)}.\n"
    yield "| Part | Clause | Asks | How it was read |"
    yield "|---|---|---|---|"
    figures = limits.figures()
    for part, name in NAMES.items():
        for figure in (figure for named, figure in figures if named == part):
            yield f"| {name} | {figure.clause} | {figure.requires} | {figure.confidence.value}. {how_read(figure)} |"
        without = limits.no_figure.get(part)
        if without is not None:
            yield f"| {name} | {without.clause} | no figure | {without.says} |"
    yield ""


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(page(), encoding="utf-8")
