"""The commands of the README do what it says: those in blocks that follow ``<!-- run -->`` are run."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

README = Path(__file__).parents[2] / "README.md"
_RUN = re.compile(r"<!-- run -->\n```sh\n(?P<text>.*?)```", re.DOTALL)


def test_readme_commands_work_in_the_order_in_which_they_stand(tmp_path: Path) -> None:
    """A newcomer who types them one after the other gets no error."""
    blocks = [block["text"] for block in _RUN.finditer(README.read_text(encoding="utf-8"))]
    assert blocks, "the README has no block to run"
    known = {name: value for name, value in os.environ.items() if not name.startswith("HOLDWATCH_")}
    path = os.pathsep.join([str(Path(sys.executable).parent), known["PATH"]])
    done = subprocess.run(
        ["bash", "-euo", "pipefail", "-c", "\n".join(blocks)],
        cwd=tmp_path,
        env={**known, "PATH": path},
        capture_output=True,
        text=True,
        check=False,
        timeout=280,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stderr == ""
    if "log.pdf" in "".join(blocks):
        assert (tmp_path / "log.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("word", ["make demo", "make test", "never says that food is safe"])
def test_readme_tells_what_a_newcomer_needs(word: str) -> None:
    """The two commands, and the caution."""
    assert word in README.read_text(encoding="utf-8")
