"""The clock of this machine, held against what was written down and against when this program was made."""

from pathlib import Path

from sqlmodel import Session, col, func, select

import holdwatch
from holdwatch.clock import MS_PER_DAY, MS_PER_MINUTE, to_iso
from holdwatch.quantities import format_duration
from holdwatch.run.checkup.line import Lines, broken, ok
from holdwatch.storage.readings import last_readings
from holdwatch.storage.register import probes
from holdwatch.storage.tables import Event, ReadingFlag

__all__ = ["look_at_clock"]

_MAY_DIFFER_MS = 2 * MS_PER_MINUTE
_LATE_MS = 10 * MS_PER_MINUTE
_CURE = "set this machine's clock: timedatectl set-ntp true"


def look_at_clock(session: Session, now_ms: int) -> Lines:
    """Say whether the clock can be right."""
    wrong = _behind(session, now_ms) or _apart_from_probes(session, now_ms)
    yield broken("clock", wrong, _CURE) if wrong else ok("clock", f"{to_iso(now_ms)} can be right")


def _behind(session: Session, now_ms: int) -> str:
    """Say that the clock is behind what has happened already; nothing if it is not."""
    made_ms = round(Path(holdwatch.__file__).stat().st_mtime * 1_000)
    if now_ms < made_ms - MS_PER_DAY:
        return f"it says {to_iso(now_ms)}, before this program was installed"
    written = [reading.at_ms + reading.lag_ms for reading in last_readings(session).values()]
    noted = session.exec(select(func.max(col(Event.recorded_ms)))).first()
    newest = max([*written, *([noted] if noted is not None else [])], default=now_ms)
    if newest > now_ms + _MAY_DIFFER_MS:
        return f"it is {format_duration(newest - now_ms)} behind what was already written down"
    return ""


def _apart_from_probes(session: Session, now_ms: int) -> str:
    """Say that every probe with a clock of its own has another time; one alone may be wrong itself."""
    apart, codes = [], {probe.id: probe.code for probe in probes(session)}
    for reading in last_readings(session).values():
        if reading.at_ms + reading.lag_ms < now_ms - MS_PER_DAY:
            continue  # not heard lately
        if reading.flags == ReadingFlag.OWN_INSTANT:
            apart.append((reading.lag_ms > _LATE_MS, codes.get(reading.probe_id, "")))
        elif reading.flags & ReadingFlag.IMPLAUSIBLE_INSTANT:
            apart.append((True, codes.get(reading.probe_id, "")))
    if len(apart) > 1 and all(differs for differs, _ in apart):
        return f"every probe that has a clock ({', '.join(code for _, code in apart)}) tells another time"
    return ""
