"""A process that the supervisor keeps: tied to it, read, and started again after a growing pause."""

import logging
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from holdwatch.run.child import Child, Running
from tests.support.waiting import wait_for

LOG = logging.getLogger("test")

PARENT = """
import os, sys, time
from holdwatch.run.child import Child, Running
import logging
child = Running(Child("sleeper", (sys.executable, "-c", "import time; time.sleep(600)")), logging.getLogger())
child.start(os.environ, 0)
print(child.pid, flush=True)
time.sleep(600)
"""


def python(text: str, **more: object) -> Child:
    """Return a child that runs some Python."""
    return Child("child", (sys.executable, "-c", text), **more)  # type: ignore[arg-type]


@contextmanager
def running(child: Child) -> Iterator[Running]:
    """Start a child, and leave nothing of it."""
    each = Running(child, LOG)
    each.start(os.environ, 0)
    try:
        yield each
    finally:
        each.kill()


def alive(pid: int) -> bool:
    """Return whether a process is there and no zombie."""
    with suppress(OSError):
        return Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()[0] != "Z"
    return False


def test_child_dies_with_the_parent_that_was_killed() -> None:
    """Nothing is left running when the supervisor is killed by force."""
    parent = subprocess.Popen([sys.executable, "-c", PARENT], stdout=subprocess.PIPE, text=True)
    assert parent.stdout is not None
    with parent.stdout as out:
        pid = int(out.readline())
    wait_for(lambda: alive(pid), what="the child runs")
    wait_for(lambda: b"time.sleep" in Path(f"/proc/{pid}/cmdline").read_bytes(), what="it became the program")
    parent.kill()
    parent.wait()
    wait_for(lambda: not alive(pid), what="the child is gone")


def test_child_is_in_a_session_of_its_own() -> None:
    """Ctrl-C in the terminal reaches the supervisor alone, which then stops the others in order."""
    with running(python("import time; time.sleep(600)")) as each:
        assert each.pid is not None
        pid = each.pid
        wait_for(lambda: os.getsid(pid) == pid, what="it has its own session")
        assert os.getsid(pid) != os.getsid(0)


def test_child_that_is_killed_takes_its_own_children_along() -> None:
    """What a part has started itself is ended with it."""
    text = (
        "import subprocess, sys, time\n"
        "p = subprocess.Popen([sys.executable, '-c', 'import time; time.sleep(600)'])\n"
        "print(p.pid, flush=True); time.sleep(600)"
    )
    with running(python(text)) as each:
        (line,) = wait_for(each.read_lines, what="it says whom it started")
        assert alive(int(line))
    wait_for(lambda: not alive(int(line)), what="the grandchild is gone")


def test_child_lines_are_read_whole_and_long_ones_cut() -> None:
    """Half a line waits for its rest; a line without end does not fill the memory."""
    with running(python("import sys; print('one'); print('x' * 10_000); sys.stdout.write('half')")) as each:
        process = each.process
        assert process is not None
        process.wait(30)
        lines = wait_for(each.read_lines)
    assert lines[0] == "one"
    assert len(lines[1]) == 2_000
    assert len(lines) == 2


def test_child_that_fails_again_and_again_is_started_later_and_later() -> None:
    """A broken part does not take the machine; one that ran well for a while starts afresh."""
    each = Running(python(""), LOG)
    pauses = []
    for _ in range(9):
        each.started_ms = 0
        each.note_end(1, useless=2, now_ms=1_000)
        pauses.append(each.restart_ms - 1_000)
    assert pauses == [500, 1_000, 2_000, 4_000, 8_000, 15_000, 30_000, 30_000, 30_000]
    each.started_ms = 0
    each.note_end(1, useless=2, now_ms=60_000)
    assert each.restart_ms - 60_000 == 500


def test_child_that_ends_uselessly_is_given_up() -> None:
    """Settings do not mend themselves."""
    each = Running(python(""), LOG)
    assert "starting it again would not help" in each.note_end(2, useless=2, now_ms=0)
    assert each.given_up


def test_child_that_was_killed_is_told_by_the_name_of_the_signal() -> None:
    """A person sees why it ended."""
    assert "killed by SIGKILL" in Running(python(""), LOG).note_end(-signal.SIGKILL, useless=2, now_ms=0)


def test_child_program_that_is_not_there_says_so() -> None:
    """The line that a person sees names the program."""
    with running(Child("ghost", ("/no/such/program",))) as each:
        process = each.process
        assert process is not None
        assert process.wait(30) == 127
        assert "/no/such/program cannot be started: No such file or directory" in wait_for(each.read_lines)
