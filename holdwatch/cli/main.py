"""``holdwatch``: where every command begins, and the one place that turns an error into one line."""

import atexit
import gc
import os
import sys
from typing import Any

import typer

from holdwatch.cli.commands import CommandGroup
from holdwatch.errors import HoldwatchError

__all__ = ["app", "main"]

_COULD_NOT_JUDGE = 2
_FAILED = 1
_INTERRUPTED = 130
_COLLECT_RARELY = (250_000, 20, 20)
"""Loading libraries makes many objects and no garbage: looking for it all the while is an eighth of a command's start.

A command that opens the store ends with some 160,000 to 190,000 objects.
"""

_ABOUT = """Keep the temperature record of a kitchen and hold it against published food-code limits.

It never says that food is safe: it says what the record shows.

\b
To begin:
  holdwatch init --data kitchen --site "My kitchen" --timezone America/Denver
  export HOLDWATCH_DATA=kitchen
  holdwatch probe add p1 --medium food
  holdwatch batch start --product "Pastry cream" --lot L1 --probe p1
  holdwatch run
"""


class _Holdwatch(CommandGroup):
    """Answers anything a person can put right with one line on standard error, and no success."""

    def invoke(self, ctx: Any) -> Any:
        """Run a command; with HOLDWATCH_DEBUG set, a fault of our own shows all of itself."""
        try:
            return super().invoke(ctx)
        except (HoldwatchError, OSError, KeyboardInterrupt) as exc:
            status = _answer(exc)
        except (typer.Exit, typer.Abort, typer.TyperException):
            raise
        except Exception as exc:
            if os.environ.get("HOLDWATCH_DEBUG"):
                raise
            status = _answer(exc)
        raise typer.Exit(_COULD_NOT_JUDGE if status == _FAILED and ctx.invoked_subcommand == "assess" else status)


def _answer(exc: BaseException) -> int:
    """Say in one line what went wrong; return the exit status."""
    if isinstance(exc, KeyboardInterrupt):
        return _INTERRUPTED
    if isinstance(exc, BrokenPipeError):  # a reader that has seen enough, such as head
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    if isinstance(exc, HoldwatchError):
        line = str(exc)
    elif isinstance(exc, OSError):
        line = f"{exc.filename or 'the system'}: {exc.strerror or exc}"
    else:
        line = f"a fault in Holdwatch itself ({type(exc).__name__}: {exc}); HOLDWATCH_DEBUG=1 shows all of it"
    typer.echo(f"holdwatch: {' '.join(line.split())}", err=True)
    return _FAILED


app = typer.Typer(
    name="holdwatch",
    cls=_Holdwatch,
    help=_ABOUT,
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


@app.callback()
def _begin() -> None:
    """Be a group, although no command is imported yet."""


def main() -> None:
    """Run ``holdwatch``."""
    gc.set_threshold(*_COLLECT_RARELY)
    # it all goes with the process: looking through it once more takes a tenth of a command's time
    atexit.register(gc.freeze)
    app(prog_name="holdwatch")
