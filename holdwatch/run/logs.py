"""Where the parts write what happened: JSON lines in DATA/logs, and warnings on standard error.

A log that cannot be written (a full or read-only disk) never stops the part that writes it.
"""

import json
import logging
from logging.handlers import RotatingFileHandler
from pathlib import Path

from holdwatch.clock import to_iso

__all__ = ["log_file", "start_logging"]

_LARGEST = 5_000_000
_KEPT = 5


class _JsonLine(logging.Formatter):
    """One JSON object a line."""

    def format(self, record: logging.LogRecord) -> str:
        """Write a record."""
        line = {
            "at": to_iso(round(record.created * 1_000)),
            "level": record.levelname.lower(),
            "from": record.name,
            "says": record.getMessage(),
        }
        if record.exc_info:
            line["trace"] = self.formatException(record.exc_info)
        return json.dumps(line, ensure_ascii=False)


class _ForPeople(logging.Formatter):
    """One line a person can read; what led to an error stays in the log file."""

    def format(self, record: logging.LogRecord) -> str:
        """Write a record."""
        return " ".join(f"{record.levelname.lower()}: {record.getMessage()}".split())


def log_file(directory: Path, name: str) -> logging.Handler:
    """Return a handler that writes JSON lines to DIRECTORY/NAME.log, and starts a new file when that grows large.

    Raises
    ------
    OSError
        If the file cannot be opened.
    """
    directory.mkdir(parents=True, exist_ok=True)
    handler = RotatingFileHandler(
        directory / f"{name}.log", maxBytes=_LARGEST, backupCount=_KEPT, encoding="utf-8", delay=False
    )
    handler.setFormatter(_JsonLine())
    return handler


def start_logging(name: str, directory: Path, level: str) -> None:
    """Send what this process logs to its file, and its warnings to standard error."""
    logging.raiseExceptions = False  # a full disk must not fill standard error with tracebacks
    root = logging.getLogger()
    root.setLevel(level.upper())
    for old in list(root.handlers):
        root.removeHandler(old)
    shown = logging.StreamHandler()
    shown.setLevel(logging.WARNING)
    shown.setFormatter(_ForPeople())
    root.addHandler(shown)
    try:
        root.addHandler(log_file(directory, name))
    except OSError as exc:
        root.warning("%s cannot be written (%s): what happens is told here only", directory, exc.strerror)
