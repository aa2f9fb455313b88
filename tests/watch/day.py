"""A day of Linden Street Patisserie, and all of its readings as messages: the same set, sent in any order.

What happens: a custard that misses both stages; a cream whose readings have a hole where its first stage falls due; a
walk-in whose food is too warm twice, the second time across midnight, with air that is beyond the level for long once
and briefly often; a display case whose probe falls silent in the evening for good. The walk-in's food probe brings a
week of readings.
"""

from dataclasses import dataclass

import numpy as np

from holdwatch.quantities import celsius_of_f
from holdwatch.storage.tables import EventKind, Finding
from tests.watch.kitchen import DAY, HOUR, MIN, T0, Kitchen, Pair, cooling

END_MS = T0 + 25 * HOUR
MIDNIGHT_MS = T0 + 16 * HOUR
"""Denver's."""
Message = tuple[str, Pair]


@dataclass(frozen=True)
class Standing:
    """All of a finding that does not depend on how the readings came."""

    key: str
    kind: str
    subject: str
    title: str
    clause: str
    verdict: str
    since_ms: int
    is_open: bool
    reason: str
    over_reason: str


def set_up(kitchen: Kitchen, zero_ms: int = T0) -> None:
    """Place the probes and start the batches; nothing is read yet."""
    shift = zero_ms - T0
    for code, medium in (("p1", "food"), ("p2", "food"), ("f1", "food"), ("a1", "air"), ("d1", "food")):
        kitchen.probe(code, medium)
    kitchen.unit("Walk-in 1", "walk-in", "f1", "a1", at_ms=T0 - 6 * DAY + shift)
    kitchen.unit("Display case", "display-case", "d1", at_ms=T0 + shift)
    custard = kitchen.batch("L1", "p1", at_ms=T0 + shift)
    kitchen.batch("L2", "p2", at_ms=T0 + HOUR + shift)
    kitchen.note(custard, EventKind.LEFT_HEAT, T0 + 5 * MIN + shift)


def messages(zero_ms: int = T0) -> list[Message]:
    """Return every reading, in the order of their instants."""
    shift = zero_ms - T0
    told: list[Message] = []
    told += [("p1", pair) for pair in cooling(8 * 60, from_f=160, half_min=130, every_min=3)]
    slow = cooling(7 * 60, from_f=155, half_min=48, start_ms=T0 + HOUR, every_min=3)
    told += [("p2", pair) for pair in slow if not 70 * MIN < pair[0] - T0 - HOUR < 165 * MIN]
    for n, at_ms in enumerate(range(T0 - 6 * DAY, END_MS, 10 * MIN)):
        told.append(("f1", (at_ms, celsius_of_f(_food_f(at_ms, n)))))
    for n, at_ms in enumerate(range(T0, END_MS, 10 * MIN)):
        told.append(("a1", (at_ms + MIN, celsius_of_f(_air_f(at_ms, n)))))
    told += [("d1", (at_ms, celsius_of_f(39))) for at_ms in range(T0, T0 + 20 * HOUR, 10 * MIN)]
    return sorted(((code, (at_ms + shift, c)) for code, (at_ms, c) in told), key=lambda m: (m[1][0], m[0]))


def _food_f(at_ms: int, n: int) -> float:
    base = 38.0 + 0.5 * (n % 3)
    if T0 + 5 * HOUR <= at_ms < T0 + 6 * HOUR:
        return base + 5
    if MIDNIGHT_MS - HOUR <= at_ms < MIDNIGHT_MS + 2 * HOUR:
        return base + 7
    if T0 - 3 * DAY <= at_ms < T0 - 3 * DAY + 2 * HOUR:
        return base + 4
    return base


def _air_f(at_ms: int, n: int) -> float:
    if T0 + 5 * HOUR <= at_ms < T0 + 7 * HOUR:
        return 50.0
    return 46.0 if n % 24 == 3 else 36.0  # a defrost every four hours


def standing(kitchen: Kitchen) -> set[Standing]:
    """Return the findings that stand, open or over."""
    return {_standing(finding) for finding in kitchen.found() if finding.facts["stands"]}


def _standing(finding: Finding) -> Standing:
    return Standing(
        key=finding.key,
        kind=finding.kind,
        subject=finding.subject,
        title=finding.title,
        clause=finding.clause,
        verdict=finding.verdict,
        since_ms=finding.since_ms,
        is_open=finding.closed_ms is None,
        reason=finding.reason if finding.kind != "soon" else "",
        over_reason=finding.close_reason,
    )


def answers(kitchen: Kitchen) -> dict[tuple[str, str, str], tuple[object, ...]]:
    """Return the latest verdicts with their brackets and spells."""
    return {
        (row.subject, row.day, row.clause): (
            row.verdict,
            *(str(row.facts[name]) for name in ("started", "due", "reached", "spells", "last_ms", "used")),
        )
        for row in kitchen.clauses()
    }


def shuffled(told: list[Message], seed: int) -> list[Message]:
    """Return the messages in a random order."""
    order = np.random.default_rng(seed).permutation(len(told))
    return [told[n] for n in order]


def send(kitchen: Kitchen, told: list[Message], now_ms: int) -> None:
    """Let messages arrive in one group a probe."""
    for code in sorted({code for code, _ in told}):
        kitchen.arrive(code, [pair for whose, pair in told if whose == code], now_ms)
