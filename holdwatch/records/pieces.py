"""A paper of any length: set in pieces, each in a process of its own, joined, and given its heads and feet.

In one piece a month of a large kitchen would take two gigabytes to set. A short paper is one piece, set in the same way.
While a piece is set, the next one is gathered.
"""

import json
import re
import subprocess
import sys
from collections.abc import Sequence
from contextlib import suppress
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from types import TracebackType
from typing import Any, BinaryIO, Self, cast

import pikepdf

from holdwatch.errors import ConfigError
from holdwatch.records.typeset import FEET, RECORD, typeset

__all__ = ["Press"]

_AT_WORK = 1
"""How many pieces are set at the same time: one beside the one that is gathered, for memory's sake."""
_ON_EVERY_PAGE = ("paper", "document_title", "caution", "head", "language", "region", "words")
"""The facts that heads and feet are made of."""


class Press:
    """Sets the pieces of one paper, printed at `now_ms`, and joins them; to be used in a ``with`` statement."""

    def __init__(self, now_ms: int) -> None:
        self._now_ms = now_ms
        self._directory = TemporaryDirectory(prefix="holdwatch-paper-")
        self._running: list[subprocess.Popen[str]] = []
        self._set: dict[int, Path] = {}
        self._ready = [_child()]

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, _error: BaseException | None, _at: TracebackType | None
    ) -> None:
        for child in (*self._ready, *self._running):
            child.kill()
            child.communicate()
        self._directory.cleanup()

    def set(self, number: int, facts: dict[str, Any]) -> None:
        """Begin to set a piece; `number` tells where it stands, and pieces may come in any order.

        Raises
        ------
        ConfigError
            If the machine is too small for one that was begun before.
        """
        self._wait(_AT_WORK - 1)
        sheet, out = (Path(self._directory.name) / f"{number}.{kind}" for kind in ("json", "pdf"))
        sheet.write_text(json.dumps({**facts, "bare": True}, ensure_ascii=False), encoding="utf-8")
        child = self._ready.pop() if self._ready else _child()
        self._running.append(child)
        with suppress(BrokenPipeError):  # it has ended already: `_wait` says so
            print(json.dumps([str(sheet), str(out), self._now_ms, *RECORD]), file=child.stdin, flush=True)
        self._set[number] = out

    def join(self, facts: dict[str, Any], file: BinaryIO) -> None:
        """Write the whole paper: its pieces one after the other, heads and feet by `facts` laid over, one outline.

        Raises
        ------
        ConfigError
            If the machine is too small for one of the pieces.
        """
        self._wait(0)
        pieces = [pikepdf.open(self._set[number]) for number in sorted(self._set)]
        total = sum(len(piece.pages) for piece in pieces)
        feet = typeset({**{key: facts[key] for key in _ON_EVERY_PAGE}, "pages": total}, self._now_ms, pages=FEET)
        whole, *rest = pieces
        lines = _outline(pieces)
        for piece in rest:
            whole.pages.extend(piece.pages)
        with whole.open_outline() as outline:
            outline.root[:] = lines
        with pikepdf.open(BytesIO(feet)) as over:
            for page, foot in zip(whole.pages, over.pages, strict=True):
                _lay_over(whole, page, foot)
            _count(whole, total)
            whole.save(file, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)
        for piece in pieces:
            piece.close()

    def _wait(self, most: int) -> None:
        """Wait until at most so many children run."""
        while len(self._running) > most:
            child = self._running[0]
            _, said = child.communicate()
            self._running.pop(0)
            if child.returncode < 0:
                raise ConfigError(
                    "the pages were not set to their end, as where a machine is short of memory: print fewer days at a time"
                )
            if child.returncode:
                raise RuntimeError(f"the pages could not be set: {said}")


def _child() -> subprocess.Popen[str]:
    """Start a child that waits for a piece; meanwhile it gets what it needs ready."""
    command = [sys.executable, "-m", "holdwatch.records.press"]
    return subprocess.Popen(command, stdin=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


_GOES_ON = "…"
"""The title of a heading that went before, in an earlier piece (``sections.typ``)."""
_COUNT = re.compile(rb"(<xmpTPg:NPages>)\d+(</xmpTPg:NPages>)")


def _lay_over(whole: pikepdf.Pdf, page: pikepdf.Page, foot: pikepdf.Page) -> None:
    """Lay head and foot over a page of the same size; the library's own way names them at random."""
    resources = dict(page.resources.items())
    drawn = dict(resources["/XObject"].items()) if "/XObject" in resources else {}
    resources["/XObject"] = pikepdf.Dictionary({**drawn, "/Foot": whole.copy_foreign(foot.as_form_xobject())})
    page.obj.Resources = pikepdf.Dictionary(resources)
    page.contents_add(b"q", prepend=True)
    page.contents_add(b"Q q /Foot Do Q")


def _outline(pieces: Sequence[pikepdf.Pdf]) -> list[pikepdf.OutlineItem]:
    """Return the one outline of the joined paper; what goes on from an earlier piece stands under the heading it began under."""
    found: list[pikepdf.OutlineItem] = []
    before = 0
    for piece in pieces:
        numbers = {page.obj.objgen: number for number, page in enumerate(piece.pages, before)}
        before += len(piece.pages)
        with piece.open_outline() as outline:
            for item in _copied(outline.root, numbers):
                if item.title == _GOES_ON and found:
                    found[-1].children += item.children
                else:
                    found.append(item)
    return found


def _copied(items: Sequence[pikepdf.OutlineItem], numbers: dict[tuple[int, int], int]) -> list[pikepdf.OutlineItem]:
    """Return lines of an outline that point into the joined paper, by the number of each page of their piece in it."""
    copied = []
    for item in items:
        page, _, left, top, *_ = cast("pikepdf.Array", item.destination)
        new = pikepdf.OutlineItem(str(item.title), numbers[page.objgen], "XYZ", left=float(left), top=float(top))
        new.children += _copied(item.children, numbers)
        new.is_closed = bool(new.children)
        copied.append(new)
    return copied


def _count(whole: pikepdf.Pdf, pages: int) -> None:
    """Correct what the first piece's properties say of the number of pages."""
    said, times = _COUNT.subn(rb"\g<1>%d\g<2>" % pages, whole.Root.Metadata.read_bytes())
    if times != 1:
        raise RuntimeError("the typesetter's properties tell the number of pages in another way than they did")
    whole.Root.Metadata.write(said)
