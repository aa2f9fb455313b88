"""How well the cooling forecast sees ahead, on coolings that it never saw, beside two simpler ways.

Run ``python -m benchmarks.cooling``. The truth is the solver of :mod:`benchmarks.cooling_physics`, read as probes and
hands read (:mod:`benchmarks.cooling_cases`); no figure of the forecast was chosen on the shelf that is judged here. An
error is relative to the time that is truly left; where no answer is given, it counts as infinite.
"""

import math
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from benchmarks.cooling_cases import KINDS, UNSEEN, Case, Look, cases, look
from benchmarks.support import is_small, percentile, say, seconds_of, table
from holdwatch.readings import Series
from holdwatch.science.forecast import forecast

SHARES = (0.35, 0.6)
EACH = 100
AIR_OVER_MS = 30 * 60_000
WALK_IN_C = 3.0
"""What the log tail supposes of surroundings that nobody measured."""


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


def main() -> None:
    """Measure, and print the section of the page."""
    each = 4 if is_small() else EACH
    scores = [score for kind in KINDS for case in cases(UNSEEN, kind, each) for score in scores_of(case)]
    say("## How well the cooling forecast sees ahead", "")
    say(f"{each} coolings of each kind, judged when 35 % and 60 % of the way to the level were gone.")
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
    made = []
    took = seconds_of(
        lambda: made.append(
            forecast(
                seen.read,
                target_c=case.target_c,
                now_ms=seen.now_ms,
                surroundings_c=around,
                moved_ms=tuple(at for at in case.moved_ms if at <= seen.now_ms),
                air=seen.air if known else None,
            )
        )
    )
    (answer,) = made
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
        say("By how often the probe was read, both shares together:")
        _table("Every", [(f"{seconds} s", [s for s in probes if s.every_s == seconds]) for seconds in every])
    took = sorted(score.took_s for score in scores)
    say(
        f"A forecast takes {1000 * took[len(took) // 2]:.1f} ms (nine of ten at most {1000 * percentile(took, 90):.1f} ms)."
    )


def _table(first: str, rows: Iterable[tuple[str, Sequence[Score]]]) -> None:
    head = (first, "n", "answered", "median", "90th pct", "interval holds", "straight line", "log tail")
    table(head, [(name, *_figures(scores)) for name, scores in rows if scores])


def _figures(scores: Sequence[Score]) -> tuple[str, ...]:
    held = [score.held for score in scores if score.held is not None]
    answered = sum(math.isfinite(score.error) for score in scores)
    return (
        str(len(scores)),
        f"{answered / len(scores):.0%}",
        _percent(percentile([score.error for score in scores], 50)),
        _percent(percentile([score.error for score in scores], 90)),
        f"{sum(held) / len(held):.0%}" if held else "–",
        _percent(percentile([score.line for score in scores], 50)),
        _percent(percentile([score.tail for score in scores], 50)),
    )


def _percent(value: float) -> str:
    return f"{100 * value:.1f} %" if math.isfinite(value) else "none"


if __name__ == "__main__":
    main()
