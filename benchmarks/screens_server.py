"""The server of the screens with a clock on every run of a page; `benchmarks.screens` starts it.

Run ``python -m benchmarks.screens_server TOLD SCRIPT PORT``: of each run it appends a line to TOLD, which part of a page ran
(empty: all of it) and how long. [ms]. With FASTER in the environment, parts that repeat do so that many times as
often; with AS_OF_MS, the clock goes on from that instant.
"""

import json
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import streamlit as st
from streamlit.runtime.scriptrunner import script_runner
from streamlit.runtime.scriptrunner_utils.script_requests import RerunData

from dashboards import serve
from holdwatch import clock


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

    _begin_at(os.environ.get("AS_OF_MS", ""))
    _repeat_faster(float(os.environ.get("FASTER", "1")))
    runner._run_script = timed  # type: ignore[method-assign]  # noqa: SLF001
    options = {"server.port": port, "server.address": "127.0.0.1"}
    sys.argv = ["streamlit", "run", script, *(part for name, to in options.items() for part in (f"--{name}", to))]
    serve.main(prog_name="streamlit")


def _begin_at(instant_ms: str) -> None:
    """Set the clock to an instant, from which it goes on; an empty one leaves it. [ms]."""
    if instant_ms:
        present, back_ms = clock.now_ms, clock.now_ms() - int(instant_ms)
        clock.now_ms = lambda: present() - back_ms


def _repeat_faster(times: float) -> None:
    """Let what a page repeats repeat so many times as often."""
    if times == 1:
        return
    usual: Callable[..., Any] = st.fragment

    def fragment(draw: Callable[..., Any], *, run_every: float | None = None) -> Any:
        return usual(draw, run_every=None if run_every is None else run_every / times)

    st.fragment = fragment  # type: ignore[assignment]


if __name__ == "__main__":
    main()
