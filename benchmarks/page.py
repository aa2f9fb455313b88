"""Runs every benchmark and writes what they say into docs/benchmarks.md.

Run ``make bench``; with ``--small`` it tries all benchmarks with small sizes and writes nothing.
"""

import subprocess
import sys
import time

from benchmarks.support import ROOT, commit, is_small, load, machine, say, today

SECTIONS = (
    "listening", "storing", "judging", "verifying", "watching", "alerting", "screens", "start_up", "log", "cooling",
)  # fmt: skip
_BUSY = 1.0

_HEAD = """\
# How fast it is

Written by `make bench`; measure your own machine with it. Nothing here is asserted by a test: a figure is true of one
machine on one day. What holds elsewhere is the *ratio* to a ceiling that was measured in the same run, in turn with the
thing itself: a bare driver, a client that only counts, a judgement of a record that is in memory already. A ratio of 1
would mean that Holdwatch costs nothing beyond it. No benchmark can be fast by leaving work out: each counts the rows,
readings, verdicts or answers that it made, and fails if one is missing.

Measured on {date}, commit {commit}:

{machine}

How busy the machine was when a section began, as the mean number of processes that wanted to run in the minute before:
{loads}. {remark}

Noise: publisher, broker, listener and store share the cores, so figures of the network tell what the whole machine does,
and vary by a third between two runs of the same thing; the other medians repeat within about a tenth on a quiet machine.
The spread stands beside each. A commit waits for the disk: on an SD card it takes ten to a hundred times as long.
"""


def main() -> None:
    """Run the benchmarks one after the other, each in a process of its own."""
    small = is_small()
    date, measured = today(), commit()
    parts, loads = [], []
    for name in SECTIONS:
        loads.append((name, load()))
        began = time.monotonic()
        command = [sys.executable, "-m", f"benchmarks.{name}", *(["--small"] if small else [])]
        done = subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, text=True, check=False)
        if done.returncode:
            sys.exit(f"the benchmark {name} failed, and nothing was written")
        say(done.stdout, f"({name}: {time.monotonic() - began:.0f} s)", "")
        parts.append(done.stdout.strip())
    if small:
        say("all benchmarks work; nothing was written, since small sizes tell nothing of the machine")
        return
    head = _HEAD.format(
        date=date,
        commit=measured,
        machine="\n".join(f"* {line}" for line in machine()),
        loads=", ".join(f"{name.replace('_', ' ')} {busy:.1f}" for name, busy in loads),
        remark=_remark([busy for _, busy in loads]),
    )
    out = ROOT / "docs" / "benchmarks.md"
    out.write_text("\n\n".join((head.strip(), *parts)) + "\n", encoding="utf-8")
    say(f"{out.relative_to(ROOT)} is written")


def _remark(loads: list[float]) -> str:
    """Say what the load means for the figures; each benchmark leaves some of its own behind for the next."""
    if loads[0] < _BUSY:
        return "Nothing else of note ran; what the later sections found was left by the earlier ones."
    return "**Other programs were at work meanwhile: take the ratios, not the figures, and run it again on a quiet machine.**"


if __name__ == "__main__":
    main()
