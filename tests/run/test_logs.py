"""Logs: JSON lines in the data directory, warnings for people; a full disk stops nothing."""

import json
import logging
from collections.abc import Iterator
from pathlib import Path

import pytest

from holdwatch.run.logs import start_logging


@pytest.fixture(autouse=True)
def _root_logger_as_before() -> Iterator[None]:
    """Put the root logger back."""
    root = logging.getLogger()
    handlers, level, raising = list(root.handlers), root.level, logging.raiseExceptions
    yield
    for handler in [each for each in root.handlers if each not in handlers]:
        handler.close()
    root.handlers[:], logging.raiseExceptions = handlers, raising
    root.setLevel(level)


def test_log_is_one_json_object_a_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A program reads the file; a person reads the warnings."""
    start_logging("watch", tmp_path / "logs", "info")
    logging.getLogger("holdwatch.x").info("went round\nonce")
    logging.getLogger("holdwatch.x").warning("nearly full")
    lines = [json.loads(line) for line in (tmp_path / "logs" / "watch.log").read_text(encoding="utf-8").splitlines()]
    assert [(line["level"], line["from"], line["says"]) for line in lines] == [
        ("info", "holdwatch.x", "went round\nonce"),
        ("warning", "holdwatch.x", "nearly full"),
    ]
    assert capsys.readouterr().err == "warning: nearly full\n"


def test_log_of_an_error_keeps_the_trace_out_of_what_people_see(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The whole story is in the file."""
    start_logging("watch", tmp_path, "info")
    try:
        int("inside")
    except ValueError:
        logging.getLogger("holdwatch.x").exception("a round failed")
    assert "ValueError: invalid literal" in json.loads((tmp_path / "watch.log").read_text(encoding="utf-8"))["trace"]
    assert capsys.readouterr().err == "error: a round failed\n"


def test_log_that_cannot_be_written_is_told_and_stops_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file stands where the directory should be."""
    (tmp_path / "logs").write_text("", encoding="utf-8")
    start_logging("watch", tmp_path / "logs", "info")
    logging.getLogger("holdwatch.x").warning("still said")
    told = capsys.readouterr().err
    assert "cannot be written" in told
    assert "still said" in told
