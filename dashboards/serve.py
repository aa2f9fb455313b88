"""The server of the screens, started with everything loaded that pages need: the first visitor waits no longer."""

import signal
from types import FrameType

from streamlit.web.cli import main

from dashboards import data, loaded, speaking
from dashboards.parts import charts, dark, forms, lasting, questions, sheet, unheard
from holdwatch.run.presence import present
from holdwatch.settings import load_settings

__all__ = ["LOADED", "main"]

LOADED = (data, speaking, charts, dark, forms, lasting, questions, sheet, unheard)
"""What every page asks for; loading it is most of what a first visit used to cost."""

loaded.settle()


def _end(_number: int, _frame: FrameType | None) -> None:
    """End as asked, so that it is told; the server of Streamlit raises the signal again once it has closed."""
    raise SystemExit(0)


if __name__ == "__main__":
    signal.signal(signal.SIGTERM, _end)
    with present("dashboard", load_settings(), otherwise="ready"):
        main(prog_name="streamlit")
