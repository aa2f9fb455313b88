"""Perhaps out of the food: stretches of readings that may be of air, of ice, of the bench.

A doubt begins with a change that food does not make by itself, and ends when the readings are back where they
were, when somebody places the probe or moves the food, or when a hand thermometer agrees.

A hand thermometer answers the question that a doubt asks. One that reads otherwise within it shows that the probe was
out: these readings are nobody's. One that agrees soon after the change shows that it never was: the food itself changed
so fast. One that agrees late only ends the doubt, since by then the food may have come down to the air by itself. One
that reads otherwise with no such change to explain it begins a doubt, back to the last time the two agreed.

All figures here are ours, from no code of practice.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import _
from holdwatch.quantities import span_c
from holdwatch.readings import Series
from holdwatch.sieve.changes import changes
from holdwatch.sieve.doubt import SLACK_C, Doubt, Judged, Surroundings, doubt_of
from holdwatch.sieve.following import air_followed

__all__ = ["Doubt", "Surroundings", "doubts_of"]

HAND_MS = 5 * MS_PER_MINUTE
HAND_C = span_c(4)  # 2 °F for each of the two thermometers
AGREED_SOON_MS = 15 * MS_PER_MINUTE


def doubts_of(series: Series, around: Surroundings, *, out_of_food: bool = True) -> tuple[Doubt, ...]:
    """Return the stretches that may not be the food's in order, none touching another's readings; then those of nobody.

    Without `out_of_food` only a hand thermometer that reads otherwise makes a doubt.
    """
    if not len(series):
        return ()
    agreed, differing = _hand_checks(series, around.hand)
    probe = Judged(series.at_ms, series.celsius, around, agreed)
    if not out_of_food:
        return _merged(_disagreements(probe, differing))
    ends = sorted((*around.placed, *agreed))
    changed = [
        *changes(probe),
        *(
            doubt_of(probe, first, stop, _("the probe followed the air"), over=stop < len(probe))
            for first, stop in air_followed(series, around.air, ends)
        ),
    ]
    doubts, outs = _settled(probe, _merged(changed), differing)
    unexplained = [at for at in differing if not any(_within(probe, out, at) for out in outs)]
    return *_merged([*doubts, *_disagreements(probe, unexplained)]), *outs


def _settled(probe: Judged, changed: Iterable[Doubt], differing: Sequence[int]) -> tuple[list[Doubt], list[Doubt]]:
    """Return the doubts that no hand reading has answered, and the stretches in which the probe was out."""
    doubts: list[Doubt] = []
    outs: list[Doubt] = []
    for doubt in changed:
        if any(_within(probe, doubt, at) for at in differing):
            outs.append(replace(doubt, out=True))
        elif not any(doubt.first_ms < at <= doubt.first_ms + AGREED_SOON_MS for at in probe.agreed):
            doubts.append(doubt)
    return doubts, outs


def _within(probe: Judged, doubt: Doubt, at_ms: int) -> bool:
    """Tell whether an instant lies in a doubt."""
    return doubt.first_ms <= at_ms and (doubt.stop_index == len(probe) or at_ms < int(probe.at[doubt.stop_index]))


def _merged(found: Iterable[Doubt]) -> tuple[Doubt, ...]:
    """Join doubts that share readings; the one that began first gives its reason."""
    merged: list[Doubt] = []
    for doubt in sorted(found, key=lambda d: (d.first_index, -d.stop_index)):
        if merged and doubt.first_index < merged[-1].stop_index:
            last = merged[-1]
            longer = doubt if doubt.stop_index > last.stop_index else last
            merged[-1] = Doubt(
                last.first_index, longer.stop_index, last.first_ms, longer.last_ms, last.why, longer.over
            )
        else:
            merged.append(doubt)
    return tuple(merged)


# ---------------------------------------------------------------- the hand thermometer beside it


def _hand_checks(series: Series, hand: Series) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return the instants (ms) of hand readings that agree with the probe, and of those that differ."""
    agreed: list[int] = []
    differing: list[int] = []
    for at, celsius in zip(hand.at_ms.tolist(), hand.celsius.tolist(), strict=True):
        after = int(np.searchsorted(series.at_ms, at, side="left"))
        beside = [
            float(series.celsius[n])
            for n in (after - 1, after)
            if 0 <= n < len(series) and abs(int(series.at_ms[n]) - at) <= HAND_MS
        ]
        if not beside:
            continue
        fits = min(beside) - HAND_C - SLACK_C <= celsius <= max(beside) + HAND_C + SLACK_C
        (agreed if fits else differing).append(at)
    return tuple(agreed), tuple(differing)


def _disagreements(probe: Judged, differing: Iterable[int]) -> list[Doubt]:
    """Return the doubts that hand readings begin: from the last agreement to the next."""
    known = sorted((*probe.agreed, *probe.around.placed))
    found = []
    for at in differing:
        since = max((instant for instant in known if instant < at), default=None)
        ends = min((instant for instant in known if instant > at), default=None)
        first = 0 if since is None else int(np.searchsorted(probe.at, since, side="right"))
        stop = len(probe) if ends is None else int(np.searchsorted(probe.at, ends, side="left"))
        if first < stop:
            found.append(doubt_of(probe, first, stop, _("a hand thermometer read otherwise"), over=ends is not None))
    return found
