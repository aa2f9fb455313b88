"""The server of the screens with a clock on every run of a page; `benchmarks.screens` starts it.

Run ``python -m benchmarks.screens_server TOLD SCRIPT PORT``: of each run it appends a line to TOLD, which part of a page ran
(empty: all of it) and how long. [ms]. With ASKS=1 in the environment each run asks the store, with no
answer of a second ago; with AS_OF_MS, the clock goes on from that instant.
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

from holdwatch import clock


def main() -> None:
    """Put the clock in, and serve."""
    if os.environ.get("ASKS") == "1":
        _keep_no_answer()
    from dashboards import serve  # it says how long answers are kept

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
    runner._run_script = timed  # type: ignore[method-assign]  # noqa: SLF001
    options = {"server.port": port, "server.address": "127.0.0.1"}
    sys.argv = ["streamlit", "run", script, *(part for name, to in options.items() for part in (f"--{name}", to))]
    serve.main(prog_name="streamlit")


def _begin_at(instant_ms: str) -> None:
    """Set the clock to an instant, from which it goes on; an empty one leaves it. [ms]."""
    if instant_ms:
        present, back_ms = clock.now_ms, clock.now_ms() - int(instant_ms)
        clock.now_ms = lambda: present() - back_ms


def _keep_no_answer() -> None:
    """Let what the pages keep for some seconds be over at once."""
    usual: Callable[..., Any] = st.cache_resource

    def cache_resource(*, ttl: float, **more: Any) -> Any:
        return usual(ttl=ttl / 1e3, **more)

    st.cache_resource = cache_resource  # type: ignore[assignment]


if __name__ == "__main__":
    main()
