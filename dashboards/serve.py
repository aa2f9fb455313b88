"""The server of the screens, started with everything loaded that pages need: the first visitor waits no longer."""

from streamlit.web.cli import main

from dashboards import data
from dashboards.parts import charts, forms, sheet

__all__ = ["LOADED", "main"]

LOADED = (data, charts, forms, sheet)
"""What every page asks for; loading it is most of what a first visit used to cost."""

if __name__ == "__main__":
    main(prog_name="streamlit")
