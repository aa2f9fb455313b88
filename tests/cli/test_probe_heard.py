"""``holdwatch probe heard``: what speaks and was not added, with the command that adds it."""

import shlex
from pathlib import Path

import pytest

from holdwatch import clock
from holdwatch.storage.engine import open_store, store_url
from holdwatch.storage.heard import keep_heard
from tests.support.commands import printed, succeed
from tests.support.heard import heard_now

HOSTILE = "holdwatch/x; touch gone"


@pytest.fixture
def hearing(kitchen: Path) -> Path:
    """A kitchen in which two things speak that nobody has added."""
    store = open_store(store_url(kitchen, None))
    now = clock.now_ms()
    with store.write() as session:
        row = heard_now("holdwatch/hall/box7", at_ms=now, payload="json", pointer="/d/temp", unit="F", battery="87 %")
        keep_heard(session, [row, heard_now(HOSTILE, at_ms=now)])
    store.close()
    return kitchen


def test_what_is_heard_is_listed_and_its_command_adds_it(hearing: Path) -> None:
    """Whoever copies the line, with the medium, has added the probe; then it is no longer among what is not."""
    said = succeed("probe", "heard", "--data", hearing)
    (line,) = [each for each in said.splitlines() if each.startswith("holdwatch probe add box7")]
    assert "87 %" in said
    assert "39.2 °F" in said
    words = ["air" if word == "MEDIUM" else word for word in shlex.split(line)[1:]]
    succeed(*words, "--data", hearing)
    assert [each["topic"] for each in printed("probe", "heard", "--data", hearing)] == [HOSTILE]


def test_a_topic_is_written_so_that_a_shell_takes_it_for_one_word(hearing: Path) -> None:
    """A stranger names the topic: what is copied from there must not run."""
    said = succeed("probe", "heard", "--data", hearing)
    line = next(each for each in said.splitlines() if "touch" in each and each.startswith("holdwatch probe add"))
    assert shlex.split(line)[-1] == HOSTILE
    assert "--unit UNIT" in line


def test_where_nothing_is_heard_it_says_what_a_probe_must_do(kitchen: Path) -> None:
    """The empty list teaches."""
    assert "below the topic holdwatch/" in succeed("probe", "heard", "--data", kitchen)
