"""Faults that nobody else would tell: a full disk, alerts that could not be delivered, an outside address out of reach.

Each is one finding while it lasts, with one alert to each contact; it closes by itself.
"""

import shutil
from dataclasses import dataclass, field
from pathlib import Path

from sqlmodel import Session

from holdwatch.alerts.alive import told_calls
from holdwatch.alerts.unheard import unheard_alerts
from holdwatch.clock import MS_PER_HOUR, MS_PER_SECOND
from holdwatch.language import N_, _
from holdwatch.storage.engine import Store
from holdwatch.storage.status import statuses
from holdwatch.storage.tables import AlertState, Contact, Finding, Role
from holdwatch.watch.keep import keep
from holdwatch.watch.site import speaking_at
from holdwatch.watch.system import fault_answer, open_fault

__all__ = ["ALERTS", "DISK", "NEARLY_FULL", "OUTSIDE", "Health", "nearly_full"]

DISK = "system:disk"
ALERTS = "system:alerts"
OUTSIDE = "system:outside"
OUTSIDE_PATIENCE_MS = MS_PER_HOUR
"""Ours: an outside address that no call has reached for so long is told. [ms]"""
NEARLY_FULL = 500_000_000
"""Ours: so few bytes free are too few, or a tenth of a disk where that is less."""
_LOOK_EVERY_MS = 10 * MS_PER_SECOND


def nearly_full(free: int, total: int) -> bool:
    """Tell whether a disk of so many bytes is nearly full."""
    return free < min(NEARLY_FULL, total // 10)


@dataclass
class Health:
    """Looks at the disk under a data directory, and at what could not be delivered."""

    store: Store
    data: Path
    base_url: str
    _looked_ms: int | None = field(default=None, init=False)

    def go_on(self, now_ms: int, monotonic_ms: int) -> int:
        """Look every ten seconds; return how many faults began or ended.

        Raises
        ------
        StorageError
            If the store cannot be used.
        """
        if self._looked_ms is not None and monotonic_ms - self._looked_ms < _LOOK_EVERY_MS:
            return 0
        self._looked_ms = monotonic_ms
        with self.store.read() as session, speaking_at(session, now_ms):
            said = {
                DISK: (_("The disk"), self._disk()),
                ALERTS: (_("Alerts that reached nobody"), _undelivered(session)),
                OUTSIDE: (_("The outside address"), _out_of_reach(session, now_ms)),
            }
            changed = [s for s, told in said.items() if bool(told[1]) != (open_fault(session, s) is not None)]
        for subject in changed:
            title, reason = said[subject]
            with self.store.write() as session, speaking_at(session, now_ms):
                keep(session, fault_answer(subject, title, reason, now_ms, _(_OVER[subject])), now_ms, self.base_url)
        return len(changed)

    def _disk(self) -> str:
        usage = shutil.disk_usage(self.data)
        if not nearly_full(usage.free, usage.total):
            return ""
        return _("it is nearly full: {megabytes} MB free in {directory}; free some space there.").format(
            megabytes=usage.free // 1_000_000, directory=self.data.absolute()
        )


_OVER = {
    DISK: N_("there is room on the disk again"),
    ALERTS: N_("they were delivered, or somebody has seen them"),
    OUTSIDE: N_("it is reached again, or no longer set"),
}


def _out_of_reach(session: Session, now_ms: int) -> str:
    """Return why the outside address has taken no call for an hour; empty where it has, or none is set."""
    calls = next((told_calls(status.facts) for status in statuses(session) if status.role == Role.NOTIFY), None)
    if calls is None or calls.failing_since_ms is None or now_ms - calls.failing_since_ms < OUTSIDE_PATIENCE_MS:
        return ""
    return _("it cannot be reached: {problem}. Nobody outside would notice if this box were dead.").format(
        problem=calls.problem
    )


def _undelivered(session: Session) -> str:
    """Return whom nothing reaches, empty where nothing is undelivered; its own alerts do not count."""
    rows = [
        alert
        for alert in unheard_alerts(session)
        if alert.state == AlertState.UNDELIVERED and session.get_one(Finding, alert.finding_id).subject != ALERTS
    ]
    if not rows:
        return ""
    names = sorted({session.get_one(Contact, alert.contact_id).name for alert in rows})
    return _("{names} cannot be reached: {problem}.").format(names=", ".join(names), problem=rows[-1].last_error)
