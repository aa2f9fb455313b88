"""Write ``docs/cli.md`` from the help of the commands: ``python scripts/cli_docs.py docs/cli.md``."""

import sys
from collections.abc import Iterator
from pathlib import Path

import typer
from typer.testing import CliRunner

from holdwatch import settings
from holdwatch.cli.commands import COMMANDS, load
from holdwatch.cli.main import app

INTRODUCTION = """\
# Command line

Every command answers `--help` with what stands here; this page is made from it (`make docs`).

* **Where.** Commands that use a record take `--data DIR`. Without it they take `$HOLDWATCH_DATA`, else `./holdwatch-data`. A file `holdwatch.toml` in that directory may hold settings; an option given on the command line counts more than the environment (`HOLDWATCH_…`), that more than the file, that more than the default.
* **When.** A TIME is ISO 8601 with an offset (`2026-11-24T14:30-07:00`), or local time by the site's clock (`2026-11-24T14:30`, or `14:30` for today), or `now`. A local time that the clocks never showed, or showed twice, is refused; so is one in the future.
* **Who.** Without `--by` what is done is recorded under the name of the console's user.
* **For programs.** `--json` prints JSON, with instants in UTC. Errors are one line on standard error.
* **Exit status.** 0 when it worked, 1 when it could not, 2 when the command was not understood. `assess` has its own: 0 kept, 1 deviation, 3 not shown or running, 4 no limit asked, 2 could not judge. `checkup` ends with 1 when something is broken. `HOLDWATCH_DEBUG=1` shows the whole trace of a fault in Holdwatch itself.
"""

WIDTH = "100"


def pages() -> Iterator[list[str]]:
    """Return the words of every command, groups before what is in them."""
    yield []
    for name in COMMANDS:
        yield [name]
        for inner in getattr(load(name), "commands", {}):
            yield [name, inner]


def written() -> str:
    """Return the whole page."""
    runner = CliRunner()
    parts = [INTRODUCTION, f"## Settings\n\n```text\n{(settings.__doc__ or '').strip()}\n```\n"]
    for words in pages():
        result = runner.invoke(app, [*words, "--help"], env={"COLUMNS": WIDTH}, prog_name="holdwatch")
        if result.exit_code != 0:
            raise typer.BadParameter(f"{' '.join(words)} --help: {result.output}")
        level = "##" if len(words) < 2 else "###"  # noqa: PLR2004  a command inside a group
        title = " ".join(["holdwatch", *words])
        parts.append(f"{level} {title}\n\n```text\n{result.output.strip()}\n```\n")
    return "\n".join(parts)


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(written(), encoding="utf-8")
