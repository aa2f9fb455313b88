"""Short ways to write a record down in a test."""

import re
from collections.abc import Iterable, Sequence

import numpy as np

from holdwatch.limits import load_limits
from holdwatch.quantities import celsius_of_f
from holdwatch.readings import Declaration, DeclarationKind, Medium, Record, Series
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import Judgement, Process, Verdict

T0 = 1_772_000_400_000  # a whole minute in February 2026
MINUTE = 60_000
HOUR = 60 * MINUTE
LIMITS = load_limits("us-food-code-2022")

_TOKEN = re.compile(r"(?P<value>_|-?\d+(?:\.\d+)?)(?:x(?P<times>\d+))?")


def series(words: str, every_ms: int = MINUTE, start_ms: int = T0) -> Series:
    """Return °F readings written as ``40x10 70 _x3 40``: value, times; ``_`` is a reading that did not come."""
    pairs, at = [], start_ms
    for token in words.split():
        match = _TOKEN.fullmatch(token)
        assert match is not None, token
        for _ in range(int(match["times"] or 1)):
            if match["value"] != "_":
                pairs.append((at, celsius_of_f(float(match["value"]))))
            at += every_ms
    return Series.of(pairs)


def points(*pairs: tuple[float, float]) -> Series:
    """Return readings given as (minutes after T0, °F)."""
    return Series.of((T0 + round(minutes * MINUTE), celsius_of_f(degrees)) for minutes, degrees in pairs)


def line(*pairs: tuple[float, float], every: float = 1.0) -> Series:
    """Return readings every so many minutes on straight lines between (minutes, °F)."""
    minutes = np.arange(pairs[0][0], pairs[-1][0] + every / 2, every)
    degrees = np.interp(minutes, [m for m, _ in pairs], [f for _, f in pairs])
    return points(*zip(minutes.tolist(), degrees.tolist(), strict=True))


def joined(*parts: Series) -> Series:
    """Return the readings of several series as one."""
    return Series.of(pair for part in parts for pair in zip(part.at_ms.tolist(), part.celsius.tolist(), strict=True))


def declared(*pairs: tuple[str, float]) -> tuple[Declaration, ...]:
    """Return declarations given as (key, minutes after T0)."""
    return tuple(Declaration(T0 + round(minutes * MINUTE), DeclarationKind(key)) for key, minutes in pairs)


def ask(
    process: Process,
    probe: Series,
    *,
    until: float | None = None,
    notes: Sequence[tuple[str, float]] = (),
    hand: Series | None = None,
    air: Series | None = None,
    medium: Medium = Medium.FOOD,
) -> Judgement:
    """Judge a record under the Food Code; `until` in minutes after T0, default the last reading."""
    hand = hand or Series.empty()
    record = Record(probe, hand, medium, declared(*notes), air or Series.empty())
    last = max(int(s.at_ms[-1]) for s in (probe, hand) if len(s)) if until is None else T0 + round(until * MINUTE)
    return judge(process, record, LIMITS, until_ms=last)


def cooling(probe: Series, **options: object) -> tuple[Verdict, ...]:
    """Return the verdicts of the cooling stages."""
    return verdicts(ask(Process.COOLING, probe, **options))  # type: ignore[arg-type]


def cold(probe: Series, **options: object) -> Verdict:
    """Return the verdict of cold holding."""
    return ask(Process.COLD_HOLDING, probe, **options).verdict  # type: ignore[arg-type]


def hot(probe: Series, **options: object) -> Verdict:
    """Return the verdict of hot holding."""
    return ask(Process.HOT_HOLDING, probe, **options).verdict  # type: ignore[arg-type]


def verdicts(judgement: Judgement) -> tuple[Verdict, ...]:
    """Return the verdicts of a judgement's clauses."""
    return tuple(clause.verdict for clause in judgement.clauses)


def reasons(found: Iterable[object]) -> set[str]:
    """Return the reasons of readings set aside."""
    return {str(getattr(reading, "reason", "")) for reading in found}
