"""Faults of a probe that speaks: it says what cannot be, it is stuck, or its clock is wrong.

They change no verdict: the sieve sets aside what is no temperature, and the rest stays in the record. They tell a
person to look. One cause, one finding: while a probe speaks and sends nothing that can be judged, that is told, and
not its silence. What was told stands in the same words until it is over, however the figures move meanwhile.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from sqlmodel import Session, col, select

from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE
from holdwatch.language import N_, _
from holdwatch.quantities import format_duration
from holdwatch.readings import Medium, Series
from holdwatch.rules.deviceclock import Dated, judge_device_clock
from holdwatch.rules.implausible import WITHIN_MS, Refusal, judge_implausible, judge_refusals
from holdwatch.rules.signal import SignalVerdict
from holdwatch.rules.stuck import BESIDE_AFTER_MS, LOOK_BACK_MS, judge_stuck
from holdwatch.storage.condition import Arrived, recent_arrivals, recent_refusals
from holdwatch.storage.readings import load_series
from holdwatch.storage.tables import Event, EventKind, Finding, Placement, Probe, ReadingFlag
from holdwatch.watch.site import InForce, in_force

__all__ = ["OVER", "Fault", "Look", "faults_of"]

RECENT = 21
AHEAD_MS = 3 * MS_PER_MINUTE
REFUSALS = 50
REFUSALS_SINCE_MS = 24 * MS_PER_HOUR
STUCK_EVERY_MS = 15 * MS_PER_MINUTE
"""Ours: whether a probe is stuck takes days of readings to tell, and is looked at so often."""

OVER = {
    "implausible": N_("it sends temperatures that can be again"),
    "stuck": N_("it has changed again"),
    "clock": N_("the instants it states agree with when its readings arrive"),
}
"""Why a fault is over, by kind."""


@dataclass(frozen=True)
class Fault:
    """Something wrong with a probe that speaks."""

    kind: str
    """A key of `OVER`."""
    since_ms: int
    reason: str
    instead_of_silence: bool = False
    """Whether it is why nothing of the probe is judged."""


@dataclass(frozen=True)
class Look:
    """A probe at an instant, with what stands of it."""

    session: Session
    probe: Probe
    placement: Placement
    signal: SignalVerdict
    standing: Mapping[str, Finding]
    """The open findings about its faults, by kind."""
    facts: Mapping[str, Any]
    """What was kept at the last look."""
    now_ms: int

    @property
    def probe_id(self) -> int:
        """The number of the probe."""
        return self.probe.id or 0

    @property
    def here(self) -> InForce:
        """What is in force at the site."""
        return in_force(self.session, self.now_ms)

    def fault(self, kind: str, since_ms: int | None, reason: str, *, instead_of_silence: bool = False) -> Fault:
        """Return a fault; one that was told stays as it was told."""
        told = self.standing.get(kind)
        if told is not None:
            return Fault(kind, told.since_ms, told.reason, instead_of_silence)
        return Fault(kind, self.now_ms if since_ms is None else since_ms, reason, instead_of_silence)


def faults_of(look: Look) -> tuple[list[Fault], dict[str, Any]]:
    """Return the faults of a probe, and what to keep for the next look."""
    arrived = recent_arrivals(look.session, look.probe_id, RECENT, look.now_ms + AHEAD_MS)
    stuck, looked_ms = _stuck(look)
    found = [_implausible(look, arrived), _clock(look, arrived), stuck]
    return [fault for fault in found if fault is not None], {"stuck_looked_ms": looked_ms}


def _implausible(look: Look, arrived: Arrived) -> Fault | None:
    told = "implausible" in look.standing
    received = np.sort(arrived.received_ms).tolist()
    if told or _is_late(look):
        verdict = judge_refusals(_refusals(look), received, told=told)
        if verdict.implausible:
            return look.fault("implausible", verdict.since_ms, f"{verdict.why}.", instead_of_silence=True)
    readings = load_series(look.session, look.probe_id, look.now_ms - WITHIN_MS, look.now_ms, corrected=False)
    verdict = judge_implausible(_one_an_instant(readings), look.now_ms, told=told)
    if not verdict.implausible:
        return None
    since = look.here.when(verdict.since_ms or look.now_ms)
    reason = _("since {time} {why}.").format(time=since, why=verdict.why)
    return look.fault("implausible", verdict.since_ms, reason)


def _is_late(look: Look) -> bool:
    """Tell whether a probe has not been heard for longer than usual: what it sent instead may tell why."""
    usual, since = look.signal.usual_interval_ms, look.signal.since_ms
    return usual is None or since is None or look.now_ms - since > 2 * usual


def _refusals(look: Look) -> Sequence[Refusal]:
    since_ms = max(look.placement.from_ms, look.now_ms - REFUSALS_SINCE_MS)
    rows = recent_refusals(look.session, look.probe, since_ms, REFUSALS)
    return [Refusal(row.received_ms, row.payload, row.detail.removeprefix(f"{look.probe.code}: ")) for row in rows]


def _one_an_instant(series: Series) -> Series:
    if len(series) < 2 or bool((np.diff(series.at_ms) > 0).all()):  # noqa: PLR2004 - a pair is contested
        return series
    first = np.concatenate(([True], np.diff(series.at_ms) > 0))
    return Series(series.at_ms[first], series.celsius[first])


def _clock(look: Look, arrived: Arrived) -> Fault | None:
    own, refused = int(ReadingFlag.OWN_INSTANT), int(ReadingFlag.IMPLAUSIBLE_INSTANT)
    stated = arrived.only((arrived.flags == own) | (arrived.flags == refused))
    dated = Dated(stated.at_ms, stated.received_ms, stated.flags == refused)
    verdict = judge_device_clock(dated, told="clock" in look.standing)
    if not verdict.wrong:
        return None
    if verdict.by_ms is None:
        how = _(
            "its clock is more than 2 min ahead, or a month behind; what it sends is kept and not judged, for nobody "
            "knows when it was. Set its clock, or let it follow a time server."
        )
        return look.fault("clock", verdict.since_ms, how, instead_of_silence=True)
    off = _("its clock is {length} behind") if verdict.by_ms > 0 else _("its clock is {length} ahead")
    how = _(
        "{off}: its readings arrive one by one and all state an instant that is off by the same. Set its clock; the "
        "readings are judged as they are dated."
    )
    reason = how.format(off=off.format(length=format_duration(verdict.by_ms)))
    return look.fault("clock", verdict.since_ms, reason)


# ---------------------------------------------------------------- stuck


def _stuck(look: Look) -> tuple[Fault | None, int]:
    """Return whether it is stuck, and when that was looked at last; between two looks what stands stays."""
    told, looked_ms = look.standing.get("stuck"), int(look.facts.get("stuck_looked_ms", 0))
    if 0 <= look.now_ms - looked_ms < STUCK_EVERY_MS:
        return (None if told is None else look.fault("stuck", None, "")), looked_ms
    now_ms = look.now_ms
    recent = load_series(look.session, look.probe_id, now_ms - BESIDE_AFTER_MS, now_ms, corrected=False)
    if len(recent) and bool(np.ptp(recent.celsius) > 0):
        return None, now_ms
    series = load_series(look.session, look.probe_id, now_ms - LOOK_BACK_MS, now_ms, corrected=False)
    verdict = judge_stuck(series, _air_beside(look), told_since_ms=None if told is None else told.since_ms)
    if not verdict.stuck:
        return None, now_ms
    value = look.here.degrees(verdict.value_c or 0.0)
    since = look.here.when(verdict.since_ms or now_ms)
    reason = _("it has read {degrees} and nothing else since {time}; {why}. Compare it with a hand thermometer.")
    said = reason.format(degrees=value, time=since, why=verdict.why)
    return look.fault("stuck", verdict.since_ms, said), now_ms


def _air_beside(look: Look) -> Series:
    """Return the air where the probe stands, if it is not an air probe itself and the air is measured."""
    unit_id = look.placement.unit_id
    if unit_id is None:
        query = select(Event.unit_id).where(
            Event.batch_id == look.placement.batch_id, Event.kind == EventKind.MOVED.value, Event.at_ms <= look.now_ms
        )
        unit_id = look.session.exec(query.order_by(col(Event.at_ms).desc()).limit(1)).first()
    if unit_id is None or look.probe.medium != Medium.FOOD:
        return Series.empty()
    standing = select(Placement).where(
        Placement.unit_id == unit_id, col(Placement.to_ms).is_(None), Placement.from_ms <= look.now_ms
    )
    for placement in look.session.exec(standing.order_by(col(Placement.from_ms))).all():
        if look.session.get_one(Probe, placement.probe_id).medium == Medium.AIR:
            first_ms = max(placement.from_ms, look.now_ms - LOOK_BACK_MS)
            return load_series(look.session, placement.probe_id, first_ms, look.now_ms)
    return Series.empty()
