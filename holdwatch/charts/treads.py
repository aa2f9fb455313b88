"""The staircase as figures: which treads, brackets and rules a judged curve asks for, before anything is drawn."""

from dataclasses import dataclass

from holdwatch.charts.curves import CurveView, FanView
from holdwatch.charts.marks import Mark, mark_of
from holdwatch.language import _
from holdwatch.rules.verdicts import Bracket, ClauseVerdict, Verdict

__all__ = ["BracketBar", "HoldingTread", "Tread", "bracket_bars", "fan_to_draw", "holding_tread", "mark_in", "treads"]


@dataclass(frozen=True)
class Tread:
    """One step of the staircase: until `ends_ms` the food may be as warm as `height_c`, from then on `target_c`."""

    clause: ClauseVerdict
    mark: Mark
    height_c: float
    target_c: float
    begins_ms: int
    ends_ms: int
    """The earliest instant at which the limit may have fallen due: reached by then, it is kept. [ms]"""
    surely_due_ms: int
    """The latest such instant: still above then, it is missed. [ms]"""


@dataclass(frozen=True)
class HoldingTread:
    """The level that is asked for without an end."""

    clause: ClauseVerdict
    level_c: float
    begins_ms: int


@dataclass(frozen=True)
class BracketBar:
    """Two readings between which a level was crossed; an unknown end is ``None``."""

    level_c: float
    ends: Bracket
    what: str
    clause: str


def _asked(clause: ClauseVerdict) -> bool:
    return clause.start_level_c is not None and clause.level_c is not None and clause.verdict is not Verdict.NONE


def fan_to_draw(curve: CurveView) -> FanView | None:
    """Return the forecast that reaches farthest; the others are the beginning of the same course."""
    drawn = [fan for fan in curve.fans if fan.path]
    return max(drawn, key=lambda fan: fan.path[-1][0], default=None)


def mark_in(curve: CurveView, clause: ClauseVerdict) -> Mark:
    """Return the screen word of a clause; a running one of which a warning stands is "soon"."""
    if clause.verdict is Verdict.OPEN and clause.clause in curve.soon:
        return Mark.SOON
    return mark_of(clause.verdict)


def treads(curve: CurveView) -> tuple[Tread, ...]:
    """Return the steps of the staircase, from the starting level down; none before the clock has started."""
    running = [c for c in curve.steps if _asked(c) and c.due is not None and c.due[1] is not None]
    made: list[Tread] = []
    for clause in sorted(running, key=lambda c: c.due[1] if c.due and c.due[1] is not None else 0):
        due, started = clause.due, clause.started
        if due is None or due[1] is None or clause.start_level_c is None or clause.level_c is None:
            continue
        known = [at for at in (started or (None, None)) if at is not None]
        begins = made[-1].ends_ms if made else (known[0] if known else curve.from_ms)
        height = made[-1].target_c if made else clause.start_level_c
        ends = due[0] if due[0] is not None else due[1]
        made.append(Tread(clause, mark_in(curve, clause), height, clause.level_c, begins, ends, due[1]))
    return tuple(made)


def holding_tread(curve: CurveView, steps: tuple[Tread, ...]) -> HoldingTread | None:
    """Return the level of holding, from where it begins; ``None`` where no holding is judged."""
    for clause in curve.steps:
        if clause.start_level_c is None and clause.level_c is not None and clause.verdict is not Verdict.NONE:
            known = [at for at in (clause.started or (None, None)) if at is not None]
            if steps:
                return HoldingTread(clause, clause.level_c, steps[-1].ends_ms)
            return HoldingTread(clause, clause.level_c, known[0] if known else curve.from_ms)
    return None


def bracket_bars(curve: CurveView) -> tuple[BracketBar, ...]:
    """Return the brackets of every crossing that a clause rests on, each once."""
    bars: dict[tuple[float, Bracket], BracketBar] = {}
    for clause in curve.steps:
        if not _asked(clause):
            continue
        for level, ends, what in (
            (clause.start_level_c, clause.started, _("the clock started")),
            (clause.level_c, clause.reached, _("reached")),
        ):
            # Without a reading on the far side there is no crossing yet, only a level still to be reached.
            if level is not None and ends is not None and ends[1] is not None:
                bars.setdefault((level, ends), BracketBar(level, ends, what, clause.clause))
    return tuple(bars.values())
