"""Linear algebra keeps to one thread: on small matrices others only spin, on a core that the listener needs."""

import subprocess
import sys

THREADS = """
import os
import holdwatch.science.forecast
import numpy as np
np.linalg.inv(np.eye(400) + 1.0)
print(len(os.listdir("/proc/self/task")))
"""


def test_one_thread_of_linear_algebra() -> None:
    """Count the threads of a process that has inverted a matrix."""
    counted = subprocess.run([sys.executable, "-c", THREADS], capture_output=True, text=True, check=True, timeout=60)
    assert counted.stdout.strip() == "1"
