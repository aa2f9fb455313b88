"""A paper of any length: set in pieces, each in a process of its own, joined, and given its heads and feet.

In one piece a month of a large kitchen would take two gigabytes to set. A short paper is one piece, which has its heads and
feet from the beginning. While a piece is set, the next one is gathered.
"""

import json
import subprocess
import sys
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from types import TracebackType
from typing import Any, BinaryIO, Self

from holdwatch.errors import ConfigError
from holdwatch.language import _
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
        """Begin to set a piece; `number` tells where it stands. The first one (0) comes last.

        Raises
        ------
        ConfigError
            If the machine is too small for one that was begun before.
        """
        self._wait(_AT_WORK - 1)
        sheet, out = (Path(self._directory.name) / f"{number}.{kind}" for kind in ("json", "pdf"))
        alone = number == 0 and not self._set  # the first piece comes last
        sheet.write_text(json.dumps({**facts, "bare": not alone}, ensure_ascii=False), encoding="utf-8")
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
        if len(self._set) == 1:
            file.write(self._set[0].read_bytes())
            return
        from holdwatch.records.joining import count_pages, join  # a short paper does without

        pieces = [self._set[number] for number in sorted(self._set)]
        total = count_pages(pieces)
        feet = typeset({**{key: facts[key] for key in _ON_EVERY_PAGE}, "pages": total}, self._now_ms, pages=FEET)
        join(pieces, feet, file)

    def _wait(self, most: int) -> None:
        """Wait until at most so many children run."""
        while len(self._running) > most:
            child = self._running[0]
            said = child.communicate()[1]
            self._running.pop(0)
            if child.returncode < 0:
                raise ConfigError(
                    _(
                        "the pages were not set to their end, as where a machine is short of memory: print "
                        "fewer days at a time"
                    )
                )
            if child.returncode:
                raise RuntimeError(f"the pages could not be set: {said}")


def _child() -> subprocess.Popen[str]:
    """Start a child that waits for a piece; meanwhile it gets what it needs ready."""
    command = [sys.executable, "-m", "holdwatch.records.press"]
    return subprocess.Popen(command, stdin=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
