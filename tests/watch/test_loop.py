"""The role itself: real processes, a real clock, real kills."""

import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest

from holdwatch.clock import now_ms
from holdwatch.errors import StorageError
from holdwatch.settings import Settings
from holdwatch.storage.arrivals import waiting
from holdwatch.storage.engine import store_url
from holdwatch.storage.lock import watch_lock
from holdwatch.storage.states import due_watch_states
from holdwatch.storage.status import statuses
from holdwatch.watch.loop import run
from tests.support.waiting import wait_for
from tests.watch.day import answers, messages, send, set_up, shuffled, standing
from tests.watch.kitchen import HOUR, MIN, Kitchen, cooling

KILLS = 5
_CHILD = """
import sys, threading
from pathlib import Path
from holdwatch.errors import StorageError
from holdwatch.settings import Settings
from holdwatch.watch.loop import run
run(Settings(data=Path(sys.argv[1])), threading.Event())
"""


@contextmanager
def _watching(data: Path) -> Iterator[subprocess.Popen[bytes]]:
    child = subprocess.Popen([sys.executable, "-c", _CHILD, str(data)])
    try:
        yield child
    finally:
        if child.poll() is None:
            os.kill(child.pid, signal.SIGKILL)
        child.wait()


def _is_quiet(kitchen: Kitchen) -> bool:
    with kitchen.store.read() as session:
        return not waiting(session) and not due_watch_states(session, now_ms())


def _is_at_work(kitchen: Kitchen) -> bool:
    """Whether the watch took what arrived and has judged some of it at most."""
    with kitchen.store.read() as session:
        return not waiting(session)


def test_watch_killed_again_and_again_finds_the_same(tmp_path: Path) -> None:
    """SIGKILL in the midst of its work, five times: the findings are those of a watch that nobody disturbed."""
    zero = (now_ms() - 25 * HOUR) // MIN * MIN
    told = shuffled(messages(zero), 5)
    for name in ("calm", "killed"):
        (tmp_path / name).mkdir()
    calm = Kitchen.on(store_url(tmp_path / "calm", None), migrate=True, zero_ms=zero)
    set_up(calm, zero)
    send(calm, told, now_ms())
    calm.rounds(now_ms())
    killed = Kitchen.on(store_url(tmp_path / "killed", None), migrate=True, zero_ms=zero)
    set_up(killed, zero)
    chance = np.random.default_rng(11)
    parts = np.array_split(np.arange(len(told)), KILLS)
    for part in parts:
        send(killed, [told[n] for n in part], now_ms())
        with _watching(tmp_path / "killed") as child:
            wait_for(lambda: _is_at_work(killed), 60)
            quiet = threading.Event()
            quiet.wait(float(chance.uniform(0, 0.15)))
            assert child.poll() is None
    with _watching(tmp_path / "killed"):
        wait_for(lambda: _is_quiet(killed), 60)
    assert answers(killed) == answers(calm)
    assert standing(killed) == standing(calm)
    calm.store.close()
    killed.store.close()


def test_run_judges_what_arrives_and_says_how_it_is(tmp_path: Path) -> None:
    """The role starts, reports ready, turns readings into a finding, and stops when it is told to."""
    kitchen = Kitchen.on(store_url(tmp_path, None), migrate=True, zero_ms=now_ms())
    kitchen.probe("p1")
    begun = now_ms() - 4 * HOUR
    kitchen.batch("L1", "p1", at_ms=begun)
    stop = threading.Event()
    role = threading.Thread(target=run, args=(Settings(data=tmp_path), stop))
    role.start()
    try:
        wait_for(lambda: _state(kitchen) == "ready")
        kitchen.arrive("p1", cooling(235, half_min=120, start_ms=begun), now_ms())
        (found,) = wait_for(lambda: [f for f in kitchen.found() if f.clause == "3-501.14(A)(1)"])
        assert found.kind == "deviation"
    finally:
        stop.set()
        role.join(20)
    assert not role.is_alive()
    assert _state(kitchen) == "stopped"
    kitchen.store.close()


def _state(kitchen: Kitchen) -> str:
    with kitchen.store.read() as session:
        return next((status.state for status in statuses(session) if status.role == "watch"), "")


def test_watch_beside_another_does_not_start(kitchen: Kitchen, tmp_path: Path) -> None:
    """Two of them would find and alert everything twice."""
    with watch_lock(kitchen.store), pytest.raises(StorageError, match="another watch"):
        run(Settings(data=tmp_path), threading.Event())
