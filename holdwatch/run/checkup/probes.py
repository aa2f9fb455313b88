"""The probes: heard, silent, placed, and what was set aside."""

from sqlmodel import Session

from holdwatch.clock import MS_PER_DAY
from holdwatch.quantities import format_duration
from holdwatch.rules.signal import judge_signal
from holdwatch.run.checkup.line import Lines, broken, look, ok
from holdwatch.settings import Settings
from holdwatch.storage.aside import recent_set_aside, set_aside_counts
from holdwatch.storage.ids import id_of
from holdwatch.storage.readings import last_readings, recent_instants
from holdwatch.storage.register import placements, probes
from holdwatch.storage.tables import Placement, Probe

__all__ = ["look_at_probes"]

_INSTANTS = 21
_RECENT_MS = MS_PER_DAY


def look_at_probes(session: Session, settings: Settings, now_ms: int) -> Lines:
    """Say which probes are silent, were never heard, or stand nowhere."""
    placed = {found.probe_id: found for found in placements(session, open_only=True)}
    known = probes(session)
    lines = [line for probe in known for line in _probe(session, probe, placed.get(id_of(probe)), settings, now_ms)]
    yield from lines
    if not known:
        yield look("probes", "there is none", "holdwatch probe add p1 --medium food")
    elif not lines:
        yield ok("probes", f"all {len(known)} are heard and placed")
    yield from _set_aside(session, now_ms)


def _probe(session: Session, probe: Probe, place: Placement | None, settings: Settings, now_ms: int) -> Lines:
    """Say what is wrong with a probe, if anything is."""
    subject = f"probe {probe.code}"
    reading = last_readings(session, [id_of(probe)]).get(id_of(probe))
    if reading is None:
        cure = f"let it publish to {probe.topic}, or say its topic: see docs/devices.md"
        yield broken(subject, "it was never heard", cure) if place else look(subject, "it was never heard", cure)
        return
    if place is None:
        if now_ms - reading.at_ms < _RECENT_MS:
            yield look(
                subject, "it is placed nowhere, so it is not judged", f"holdwatch place {probe.code} --unit NAME"
            )
        return
    instants = recent_instants(session, id_of(probe), _INSTANTS, now_ms)
    signal = judge_signal(instants, place.from_ms, now_ms, largest_gap_ms=settings.largest_gap_ms)
    if signal.silent and signal.since_ms is not None:
        yield broken(
            subject,
            f"it has been silent for {format_duration(now_ms - signal.since_ms)}",
            "look at its battery, its cable and its network",
        )


def _set_aside(session: Session, now_ms: int) -> Lines:
    """Say what could not be kept as a reading lately."""
    counts = set_aside_counts(session, now_ms - _RECENT_MS)
    if counts:
        newest = recent_set_aside(session, 1)[0]
        told = ", ".join(f"{count} {reason}" for reason, count in counts.items())
        yield look(
            "set aside",
            f"messages of the last day that are no readings: {told}; the last on {newest.topic}: {newest.detail}",
            "correct the probe's profile, or add the probe: holdwatch probe add",
        )
