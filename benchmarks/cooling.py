"""How well the cooling forecast sees ahead, on coolings that it never saw, beside two simpler ways.

Run ``python -m benchmarks.cooling``. The truth is the solver of :mod:`benchmarks.cooling_physics`, read as probes and
hands read (:mod:`benchmarks.cooling_cases`); no figure of the forecast was chosen on the shelf that is judged here. An
error is relative to the time that is truly left; how often there is no answer yet is told beside it.
"""

import math
import sys
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from benchmarks.cooling_cases import KINDS, UNSEEN, Case, Look, cases, look
from benchmarks.support import is_small, percentile, say, table
from holdwatch.readings import Series
from holdwatch.science.forecast import forecast

SHARES = (0.35, 0.6)
EACH = 100
AIR_OVER_MS = 30 * 60_000
WALK_IN_C = 3.0
"""What the log tail supposes of surroundings that nobody measured."""

_HEAD = """\
{each} coolings of each kind, invented from a seed and followed by a solver that the forecast shares nothing with: a grid
of cells in a pan or a pot, a surface coefficient for each face, tops that are wet and grow a skin, buoyant air, walk-ins
that cycle and are warmed by what is put in, chillers that are pulled down, moves of which half are declared, stirring
every one to ten minutes. Probes with noise, lag and steps of 0.06 to 0.5 °C are read every 10 s to 10 min; hands every 8
to 12 min in whole °F or half °C. No figure of the forecast was chosen on these foods, vessels and seeds. Each is judged
when 35 % and when 60 % of the way to the level is gone.

The error is that of the time left, relative to what was truly left; *answered* is how often there were readings enough
(three, and a fall of 2 °C) to say anything. Beside it, from the same readings: a straight line through the last third,
and a line through the logarithm of the last third, which is told the surroundings, or supposes a walk-in of 3 °C.
"""


@dataclass(frozen=True)
class Score:
    """One forecast held against the truth."""

    kind: str
    every_s: int
    share: float
    known: bool
    error: float
    """Relative to the time left; infinite without an answer."""
    signed: float
    held: bool | None
    """Whether the interval holds the truth; ``None`` without an answer."""
    line: float
    tail: float
    took_s: float
    """On a processor."""


def main() -> None:
    """Measure, and print the section of the page."""
    each = 4 if is_small() else EACH
    scores = [score for kind in KINDS for case in cases(UNSEEN, kind, each) for score in scores_of(case)]
    say("## How well the cooling forecast sees ahead", "")
    say(_HEAD.format(each=each))
    report(scores)
    if scores and not any(math.isfinite(score.error) for score in scores):
        sys.exit("no forecast was made")


def scores_of(case: Case) -> Iterable[Score]:
    """Yield the forecasts of one cooling, each at its share of the way, with and without the air."""
    for share in SHARES:
        seen = look(case, share)
        for known in (True, False):
            yield _score(case, seen, share, known=known)


def _score(case: Case, seen: Look, share: float, *, known: bool) -> Score:
    around = _around(seen.air, seen.now_ms) if known else None
    left = case.reached_ms - seen.now_ms
    began = time.process_time()
    answer = forecast(
        seen.read,
        target_c=case.target_c,
        now_ms=seen.now_ms,
        surroundings_c=around,
        moved_ms=tuple(at for at in case.moved_ms if at <= seen.now_ms),
        air=seen.air if known else None,
    )
    took = time.process_time() - began
    signed, held = math.inf, None
    if answer.reaches and answer.expected_ms is not None and answer.earliest_ms is not None:
        signed = (answer.expected_ms - case.reached_ms) / left
        late = math.inf if answer.latest_ms is None else answer.latest_ms
        held = answer.earliest_ms <= case.reached_ms <= late
    elif answer.reaches is False:
        held = False
    hours = left / 3.6e6
    third = _last_third(seen.read)
    return Score(
        case.kind,
        case.every_s,
        share,
        known,
        abs(signed),
        signed,
        held,
        abs(_straight(third, case.target_c, seen.now_ms) - hours) / hours,
        abs(_log_tail(third, case.target_c, WALK_IN_C if around is None else around, seen.now_ms) - hours) / hours,
        took,
    )


def _around(air: Series, now_ms: int) -> float | None:
    lately = air.between(now_ms - AIR_OVER_MS, now_ms)
    return float(np.median(lately.celsius)) if len(lately) else None


# ---------------------------------------------------------------- the two simpler ways


def _last_third(read: Series) -> Series:
    """Return the last third of the time, but at least two readings."""
    if len(read) < 2:
        return read
    first = min(
        int(np.searchsorted(read.at_ms, read.at_ms[0] + (read.at_ms[-1] - read.at_ms[0]) * 2 / 3)), len(read) - 2
    )
    return Series(read.at_ms[first:], read.celsius[first:])


def _straight(third: Series, target_c: float, now_ms: int) -> float:
    """Return the hours that a straight line says, infinite if it never gets there."""
    if len(third) < 2:
        return math.inf
    slope, level = np.polyfit((third.at_ms - now_ms) / 3.6e6, third.celsius, 1)
    return float((target_c - level) / slope) if slope < 0 else math.inf


def _log_tail(third: Series, target_c: float, around_c: float, now_ms: int) -> float:
    """Return the hours that a line through the logarithm says."""
    if len(third) < 2 or target_c <= around_c or third.celsius.min() <= around_c:
        return math.inf
    slope, level = np.polyfit((third.at_ms - now_ms) / 3.6e6, np.log(third.celsius - around_c), 1)
    return float((math.log(target_c - around_c) - level) / slope) if slope < 0 else math.inf


# ---------------------------------------------------------------- telling


def report(scores: Sequence[Score]) -> None:
    """Print the tables."""
    for known in (True, False):
        say("", f"### {'Surroundings measured' if known else 'Surroundings not measured'}", "")
        of = [score for score in scores if score.known is known]
        for share in SHARES:
            say(f"At {share:.0%} of the way:")
            there = [score for score in of if score.share == share]
            _table("Kind", [(kind, [s for s in there if s.kind == kind]) for kind in KINDS] + [("all", there)])
        probes = [score for score in of if score.kind != "hand readings"]
        every = sorted({score.every_s for score in probes})
        say("Both together, and by how often the probe was read:")
        _table("Every", [("all", of), *((f"{n} s", [s for s in probes if s.every_s == n]) for n in every)])
    for known in (True, False):
        took = [1000 * score.took_s for score in scores if score.known is known]
        say(
            f"A forecast with surroundings {'measured' if known else 'not measured'} takes {percentile(took, 50):.1f} ms of a "
            f"processor, nine of ten at most {percentile(took, 90):.1f} ms."
        )


def _table(first: str, rows: Iterable[tuple[str, Sequence[Score]]]) -> None:
    head = (first, "n", "answered", "median", "90th pct", "interval holds", "straight line", "log tail")
    table(head, [(name, *_figures(scores)) for name, scores in rows if scores])


def _figures(scores: Sequence[Score]) -> tuple[str, ...]:
    answered = [score for score in scores if score.held is not None]
    errors = [score.error for score in answered] or [math.inf]
    return (
        str(len(scores)),
        f"{len(answered) / len(scores):.0%}",
        _percent(percentile(errors, 50)),
        _percent(percentile(errors, 90)),
        f"{sum(bool(score.held) for score in answered) / max(1, len(answered)):.0%}",
        _percent(percentile([score.line for score in answered], 50)) if answered else "–",
        _percent(percentile([score.tail for score in answered], 50)) if answered else "–",
    )


def _percent(value: float) -> str:
    return f"{100 * value:.1f} %" if math.isfinite(value) else "none"


if __name__ == "__main__":
    main()
