"""The server of the screens: Streamlit, with what we set for it."""

import http.client
import importlib.util
import os
import sys
from pathlib import Path
from typing import NoReturn

from holdwatch.errors import ConfigError
from holdwatch.run.ports import require_free
from holdwatch.settings import Settings

__all__ = ["MEMORY", "healthy", "serve"]

MEMORY = {"MALLOC_ARENA_MAX": "2"}
"""For the C library. Streamlit draws each refresh in a thread of its own, and by itself glibc opens eight stocks of memory a core
for threads, fills each with holes and gives none back: in 1,200 refreshes from 138.9 to 141.4 MB, on 2026-11-26, all of it free
room. With two it went from 138.6 to 139.0 MB, and stays there (docs/wearing.md)."""


def serve(settings: Settings) -> NoReturn:
    """Become the server of the screens.

    Raises
    ------
    ConfigError
        If the port is in use, or the screens are not installed.
    """
    require_free(settings.address, settings.port, "the screens", "--port")
    script = _script()
    os.chdir(script.parent)  # where Streamlit looks for its configuration
    os.execve(sys.executable, _command(settings, script), {**MEMORY, **os.environ, **settings.environment()})  # noqa: S606


def healthy(address: str, port: int, timeout_s: float = 1.0) -> bool:
    """Return whether the screens answer."""
    host = "127.0.0.1" if address in {"0.0.0.0", "::"} else address  # noqa: S104  asked for, not served on
    connection = http.client.HTTPConnection(host, port, timeout=timeout_s)
    try:
        connection.request("GET", "/_stcore/health")
        return connection.getresponse().status == http.HTTPStatus.OK
    except (OSError, http.client.HTTPException):
        return False
    finally:
        connection.close()


def _script() -> Path:
    """Return the file that Streamlit runs."""
    found = importlib.util.find_spec("dashboards")
    for place in (found.submodule_search_locations or ()) if found is not None else ():
        script = Path(place) / "server.py"
        if script.is_file():
            return script.resolve()
    raise ConfigError("the screens are not installed: install Holdwatch again, with its package dashboards")


def _command(settings: Settings, script: Path) -> list[str]:
    """Return how Streamlit is started."""
    options = {
        "server.address": settings.address,
        "server.port": str(settings.port),
        "server.headless": "true",
        "server.fileWatcherType": "none",
        "browser.gatherUsageStats": "false",
        "browser.serverAddress": settings.address,
    }
    return [
        sys.executable,
        "-m",
        "dashboards.serve",
        "run",
        str(script),
        *(part for name, value in options.items() for part in (f"--{name}", value)),
    ]
