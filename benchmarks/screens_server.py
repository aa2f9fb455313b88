"""The server of the screens with a clock on every run of a page; `benchmarks.screens` starts it.

Run ``python -m benchmarks.screens_server TOLD SCRIPT PORT``: of each run it appends a line to TOLD, which part of a page ran
(empty: all of it) and how long. [ms].
"""

import json
import sys
import time
from pathlib import Path

from streamlit.runtime.scriptrunner import script_runner
from streamlit.runtime.scriptrunner_utils.script_requests import RerunData

from dashboards import serve


def main() -> None:
    """Put the clock in, and serve."""
    told, script, port = Path(sys.argv[1]), sys.argv[2], sys.argv[3]
    runner = script_runner.ScriptRunner
    run = runner._run_script  # noqa: SLF001  the one place through which every run passes

    def timed(self: script_runner.ScriptRunner, asked: RerunData) -> None:
        began, worked = time.perf_counter(), time.thread_time()
        run(self, asked)
        took_ms, cpu_ms = 1e3 * (time.perf_counter() - began), 1e3 * (time.thread_time() - worked)
        part = next(iter(asked.fragment_id_queue or ()), "")
        with told.open("a", encoding="utf-8") as file:
            file.write(json.dumps([part, took_ms, cpu_ms]) + "\n")

    runner._run_script = timed  # type: ignore[method-assign]  # noqa: SLF001
    options = {"server.port": port, "server.address": "127.0.0.1"}
    sys.argv = ["streamlit", "run", script, *(part for name, to in options.items() for part in (f"--{name}", to))]
    serve.main(prog_name="streamlit")


if __name__ == "__main__":
    main()
