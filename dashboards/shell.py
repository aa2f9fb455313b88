"""The empty page that a browser loads first, at whatever address: Streamlit's own, told where its server is.

Left alone it looks for the server below the address of the page (``/batches/_stcore/health``) and, being told that
there is none, at the root: two requests and two errors in the browser's console at each page that is opened directly.
"""

from functools import lru_cache
from pathlib import Path

import streamlit
from starlette.requests import Request
from starlette.responses import HTMLResponse
from starlette.routing import Route

__all__ = ["ROUTES"]

_STATIC = Path(streamlit.__file__).with_name("static") / "index.html"
_HEAD = "<head>"
_TOLD = f"{_HEAD}<script>window.__streamlit = {{ BACKEND_BASE_URL: location.origin }}</script>"
_PAGES = sorted(path.stem for path in (Path(__file__).parent / "screens").glob("[a-z]*.py"))


@lru_cache(maxsize=1)
def _page() -> str:
    return _STATIC.read_text(encoding="utf-8").replace(_HEAD, _TOLD, 1)


async def _shell(_request: Request) -> HTMLResponse:
    """Give the empty page; it is asked for anew each time, as it names scripts that change with the version."""
    return HTMLResponse(_page(), headers={"Cache-Control": "no-cache"})


ROUTES = [Route(path, _shell, methods=["GET"]) for path in ("/", *(f"/{name}" for name in _PAGES))]
