"""One long-running part in this process: its log, its signals, and its exit status."""

import gc
import logging
import signal
import threading
from collections.abc import Callable
from types import FrameType

from holdwatch.errors import ConfigError, StoreVersionError
from holdwatch.run.logs import start_logging
from holdwatch.run.presence import present
from holdwatch.settings import Settings

__all__ = ["USELESS_TO_RESTART", "run_role"]

USELESS_TO_RESTART = 2
"""Exit status of a part that would fail again in the same way: settings, or a store of another version."""

_COLLECT = (50_000, 20, 20)
"""How often garbage is looked for: more often than in a command that soon ends, for memory's sake."""

_log = logging.getLogger(__name__)


def run_role(name: str, role: Callable[[Settings, threading.Event], None], settings: Settings) -> int:
    """Run a part until SIGTERM or SIGINT; return the exit status."""
    start_logging(name, settings.logs, settings.log_level)
    gc.set_threshold(*_COLLECT)
    stop = threading.Event()

    def ask_to_stop(_number: int, _frame: FrameType | None) -> None:
        stop.set()

    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, ask_to_stop)
    _log.info("%s begins", name)
    try:
        with present(name, settings):
            role(settings, stop)
    except (ConfigError, StoreVersionError) as exc:
        _log.error("%s", exc)
        return USELESS_TO_RESTART
    _log.info("%s ends", name)
    return 0
