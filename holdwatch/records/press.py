"""One piece of a paper, set in a process of its own, which gives all of its memory back.

Started as ``python -m holdwatch.records.press`` by `pieces`, it waits for one line on its input: a list in JSON of the
file of facts, the PDF to write, the instant of printing in ms, and the templates. It opens no store.
"""

import json
import sys
from pathlib import Path

from holdwatch.records.typeset import fonts, typeset

__all__: list[str] = []


def _main() -> None:
    fonts()
    asked = sys.stdin.readline()
    if not asked:
        return  # whoever started it has gone, or needs it no more
    facts, out, now_ms, *pages = json.loads(asked)
    Path(out).write_bytes(typeset(json.loads(Path(facts).read_text(encoding="utf-8")), now_ms, pages=pages))


if __name__ == "__main__":
    _main()
