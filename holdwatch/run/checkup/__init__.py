"""The check-up: look at everything, and name the one cure of what is wrong."""

from holdwatch.errors import StorageError
from holdwatch.run.checkup.alerts import look_at_alerts
from holdwatch.run.checkup.alive import look_at_alive
from holdwatch.run.checkup.broker import look_at_broker
from holdwatch.run.checkup.clock import look_at_clock
from holdwatch.run.checkup.limits import look_at_limits
from holdwatch.run.checkup.line import Line, State, broken
from holdwatch.run.checkup.parts import look_at_parts, runs
from holdwatch.run.checkup.probes import look_at_probes
from holdwatch.run.checkup.store import look_at_disk, look_at_store
from holdwatch.settings import Settings
from holdwatch.storage.engine import open_store

__all__ = ["Line", "State", "check_up"]


def check_up(settings: Settings, now_ms: int) -> list[Line]:
    """Look at everything; what cannot be looked at, because the store is broken, is left out."""
    lines = [*look_at_disk(settings), *look_at_store(settings)]
    if any(line.state is State.BROKEN and line.subject == "store" for line in lines):
        return [*lines, *look_at_broker(settings, {})]
    store = open_store(settings.store_url)
    try:
        with store.read() as session:
            lines += look_at_clock(session, now_ms)
            lines += look_at_limits(session, now_ms)
            lines += look_at_broker(settings, runs(session, now_ms))
            lines += look_at_parts(session, settings, now_ms)
            lines += look_at_probes(session, settings, now_ms)
            lines += look_at_alerts(session, now_ms)
            lines += look_at_alive(session, settings, now_ms)
    except StorageError as exc:
        lines.append(broken("store", str(exc), "put a backup in its place, or ask for help with this line"))
    finally:
        store.close()
    return lines
