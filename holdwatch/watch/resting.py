"""A unit that is out of use: what was read of it meanwhile is kept and shown, and held against no limit."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from holdwatch.language import _
from holdwatch.quantities import TOLERANCE
from holdwatch.readings import Record, Series
from holdwatch.rules.verdicts import ClauseVerdict, Judgement, Process, Verdict, worst
from holdwatch.rules.words import sentence
from holdwatch.storage.out_of_use import Rest
from holdwatch.watch.site import InForce

__all__ = ["in_use_only", "record_in_use", "rest_words", "with_rests"]


def rest_words(rest: Rest, here: InForce) -> str:
    """Say why a unit is out of use, from when to when, and who said so."""
    purpose = _(rest.purpose.value)
    why = f"{purpose}, {rest.text}" if rest.text else purpose
    if rest.to_ms is None:
        said = _("out of use from {first} ({why}), declared by {name}")
        return said.format(first=here.when(rest.from_ms), why=why, name=rest.by)
    said = _("out of use from {first} to {last} ({why}), declared by {name}")
    return said.format(first=here.when(rest.from_ms), last=here.when(rest.to_ms), why=why, name=rest.by)


def in_use_only(series: Series, rests: Iterable[Rest]) -> Series:
    """Leave out the readings of a unit while it was out of use."""
    keep = np.ones(len(series), dtype=np.bool_)
    for rest in rests:
        inside = series.at_ms >= rest.from_ms
        if rest.to_ms is not None:
            inside &= series.at_ms < rest.to_ms
        keep &= ~inside
    return series if bool(keep.all()) else Series(series.at_ms[keep], series.celsius[keep])


def record_in_use(record: Record, rests: Sequence[Rest]) -> Record:
    """Return a unit's record without the stretches in which it was out of use."""
    if not rests:
        return record
    probe, hand, air = (in_use_only(series, rests) for series in (record.probe, record.hand, record.air))
    return replace(record, probe=probe, hand=hand, air=air)


def with_rests(
    judgement: Judgement, rests: Sequence[Rest], period: tuple[int, int], here: InForce, whole: Record
) -> Judgement:
    """Say in a judgement that the unit was out of use; of a period that lies wholly in such a stretch nothing is asked.

    A stretch inside a period stays a hole: it is explained, and nothing shows that a limit was kept in it; where the
    hole is too short to be one, what the whole record has in it beyond the level does.
    """
    first_ms, last_ms = period
    inside = [rest for rest in rests if rest.touches(first_ms, last_ms)]
    if not inside:
        return judgement
    said = sentence("; ".join(dict.fromkeys(rest_words(rest, here) for rest in inside)) + ".")
    if any(rest.covers(first_ms) and rest.covers(last_ms) for rest in inside):
        clauses = tuple(
            replace(each, verdict=Verdict.NONE, reason=said, due=None, spells=(), doubtful=False)
            for each in judgement.clauses
        )
    else:
        read = [_read_in(rest, series, period) for rest in inside for series in (whole.probe, whole.hand)]
        celsius = np.concatenate(read)
        hot = judgement.process is Process.HOT_HOLDING
        clauses = tuple(_explained(each, said, celsius, here, hot=hot) for each in judgement.clauses)
    return replace(judgement, clauses=clauses, verdict=worst(each.verdict for each in clauses))


def _read_in(rest: Rest, series: Series, period: tuple[int, int]) -> NDArray[np.float64]:
    """Return what was read in a part of a period in which the unit was out of use. [°C]."""
    ends_ms = period[1] if rest.to_ms is None else min(period[1], rest.to_ms - 1)
    return series.between(max(period[0], rest.from_ms), ends_ms).celsius


def _explained(
    clause: ClauseVerdict, said: str, celsius: NDArray[np.float64], here: InForce, *, hot: bool
) -> ClauseVerdict:
    """Say why readings were left out; a limit that one of them is beyond is not shown to be kept."""
    clause = replace(clause, reason=f"{clause.reason} {said}")
    if clause.verdict is not Verdict.MET or clause.level_c is None or not len(celsius):
        return clause
    worst_c = float(np.min(celsius) if hot else np.max(celsius))
    beyond_c = clause.level_c - worst_c if hot else worst_c - clause.level_c
    if not beyond_c > TOLERANCE:
        return clause
    told = _("Meanwhile it was read at {degrees}: it is not shown that the limit was kept then.").format(
        degrees=here.degrees(worst_c)
    )
    return replace(clause, verdict=Verdict.UNPROVEN, reason=f"{clause.reason} {told}")
