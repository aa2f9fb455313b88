"""``python -m holdwatch.run.lifeline PARENT PROGRAM …``: become a program that dies with the process that started it.

The supervisor starts every part through this, so that nothing is left running when it is killed itself. It asks
Linux to send SIGKILL when the parent is gone (PR_SET_PDEATHSIG), which outlives becoming another program.
"""

import ctypes
import os
import signal
import sys

__all__ = ["main"]

_PR_SET_PDEATHSIG = 1
_NOT_FOUND = 127


def main(arguments: list[str]) -> int:
    """Tie this process to its parent, then become the program; return only if that fails."""
    parent, program = int(arguments[0]), arguments[1:]
    if sys.platform == "linux":
        ctypes.CDLL(None, use_errno=True).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0)
    if os.getppid() != parent:  # it died before we could ask
        return 1
    try:
        os.execvp(program[0], program)  # noqa: S606  no shell is wanted between us and it
    except OSError as exc:
        sys.stderr.write(f"{program[0]} cannot be started: {exc.strerror}\n")
    return _NOT_FOUND


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
