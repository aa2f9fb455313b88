"""Implausible probe: it speaks, and what it says cannot be a temperature of food.

Three kinds: it reads the value that one common chip answers when it has not measured at all; it jumps away and back
again and again, as a loose contact does; or it sends error codes and words instead of temperatures, or word that it
went away. The sieve sets such values aside one by one; here somebody is told that the probe needs a look.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from holdwatch.clock import MS_PER_HOUR
from holdwatch.language import _
from holdwatch.readings import Series
from holdwatch.sieve import POWER_ON_C, POWER_ON_WIDTH_C, Surroundings, sift

__all__ = ["WITHIN_MS", "ImplausibleVerdict", "Refusal", "judge_implausible", "judge_refusals"]

# Ours, from no code.
POWER_ON_IN_A_ROW = 3
JUMPS = 5
WITHIN_MS = MS_PER_HOUR
REFUSED_IN_A_ROW = 3
RECOVERED_AFTER = 5  # readings without one
_WENT_AWAY = re.compile(r"\b(offline|disconnected|unavailable)\b", re.IGNORECASE)


@dataclass(frozen=True)
class Refusal:
    """A message of a probe that holds no temperature."""

    at_ms: int
    payload: str
    detail: str
    """Why it is none, in a sentence."""


@dataclass(frozen=True)
class ImplausibleVerdict:
    """Whether what a probe says cannot be."""

    implausible: bool
    since_ms: int | None = None
    why: str = ""


def judge_implausible(probe: Series, now_ms: int, *, told: bool = False) -> ImplausibleVerdict:
    """Return whether a probe's kept readings of the last hour cannot be the food's.

    Once it was `told`, it takes an hour without a jump to take it back.
    """
    recent = probe.between(now_ms - WITHIN_MS + 1, now_ms)
    power_on = np.abs(recent.celsius - POWER_ON_C) < POWER_ON_WIDTH_C
    others = np.flatnonzero(~power_on)
    first = int(others[-1]) + 1 if len(others) else 0
    if len(recent) - first >= POWER_ON_IN_A_ROW:
        why = _(
            "it reads exactly 85 °C time after time, the value of a chip that has not measured; look at its supply and "
            "its wiring"
        )
        return ImplausibleVerdict(implausible=True, since_ms=int(recent.at_ms[first]), why=why)
    aside = sift(recent, Surroundings(), now_ms, out_of_food=False).aside
    jumps = [one.at_ms for n, one in enumerate(aside) if not n or one.at_ms > _next(recent, aside[n - 1].at_ms)]
    if len(jumps) >= (1 if told else JUMPS):
        why = _(
            "it jumped away and back {count} times within an hour; look for a loose contact, a broken cable or water "
            "in the plug"
        ).format(count=len(jumps))
        return ImplausibleVerdict(implausible=True, since_ms=jumps[0], why=why)
    return ImplausibleVerdict(implausible=False)


def _next(probe: Series, at_ms: int) -> int:
    """Return the reading after one: values set aside in a row are one jump."""
    following = int(np.searchsorted(probe.at_ms, at_ms, side="right"))
    return int(probe.at_ms[following])


def judge_refusals(
    refusals: Sequence[Refusal], received_ms: Sequence[int], *, told: bool = False
) -> ImplausibleVerdict:
    """Return whether a probe has sent nothing but messages without a temperature since it was last heard.

    Once it was `told`, it takes some readings on end to take it back.

    Parameters
    ----------
    refusals : its messages that hold no temperature, in order of time.
    received_ms : when its last readings were received, in order; empty if it has never been heard. [ms]
    """
    heard_ms = received_ms[-1] if len(received_ms) else None
    since = [refusal for refusal in refusals if heard_ms is None or refusal.at_ms > heard_ms]
    if not since:
        recovered = sum(at > refusals[-1].at_ms for at in received_ms) if refusals else RECOVERED_AFTER
        return ImplausibleVerdict(implausible=told and recovered < RECOVERED_AFTER)
    last = since[-1]
    if _WENT_AWAY.search(last.payload):
        why = _("it was reported to have gone offline; look at its power and its network")
        return ImplausibleVerdict(implausible=True, since_ms=last.at_ms, why=why)
    if told or len(since) >= REFUSED_IN_A_ROW:
        why = _("it speaks, and sends no temperature: {why}").format(why=last.detail.rstrip("."))
        return ImplausibleVerdict(implausible=True, since_ms=since[0].at_ms, why=why)
    return ImplausibleVerdict(implausible=False)
