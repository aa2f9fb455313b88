"""Getting the demonstration ready to run: made at the first start, gone on with at every later one."""

import socket
import sys
from collections.abc import Callable

from holdwatch.clock import Clock, now_ms
from holdwatch.demo.history import fill, is_filled
from holdwatch.demo.plan import DemoPlan
from holdwatch.errors import ConfigError
from holdwatch.run.child import Child
from holdwatch.settings import Settings
from holdwatch.storage.engine import open_store

__all__ = ["children", "free_or_other", "prepare"]

STORE_FILE = "holdwatch.db"


def prepare(settings: Settings, tell: Callable[[str], None], clock: Clock = now_ms) -> DemoPlan:
    """Make the demonstration's store, or lay out what it goes on with.

    Raises
    ------
    ConfigError
        If the directory holds the record of a real kitchen, or cannot be written.
    """
    data = settings.data
    if settings.database_url is not None:
        raise ConfigError("the demonstration keeps a store of its own: unset HOLDWATCH_DATABASE_URL for it")
    plan = DemoPlan.load(data)
    if plan is None and (data / STORE_FILE).exists():
        raise ConfigError(f"{data} is the record of a kitchen, not a demonstration: name another --data")
    try:
        data.mkdir(parents=True, exist_ok=True)
    except OSError as exc:
        raise ConfigError(f"the directory {data} cannot be made ({exc.strerror}): name another --data") from exc
    if plan is None:
        plan = DemoPlan.new(clock())
        plan.save(data)
    store = open_store(settings.store_url, migrate=True)
    try:
        with store.read() as session:
            filled = is_filled(session)
        if not filled:
            plan = DemoPlan.new(clock())
            plan.save(data)
            tell("First start. Writing down two weeks of Linden Street Patisserie, an invented kitchen …")
            count = fill(store, plan)
            tell(f"{count:,} readings are in. No finding is: the watch looks for them now.")
        else:
            plan = plan.with_next_set(clock(), ahead=False)
            plan.save(data)
            tell("Going on where it was.")
    finally:
        store.close()
    return plan


def children() -> list[Child]:
    """Return what the demonstration runs beside the parts of Holdwatch: its inbox, and its kitchen."""
    return [
        Child("inbox", (sys.executable, "-m", "holdwatch.demo.inbox")),
        Child("kitchen", (sys.executable, "-m", "holdwatch.demo.live")),
    ]


def free_or_other(port: int) -> int:
    """Return a port of the loopback if it is free, else one that is."""
    for wanted in (port, 0):
        with socket.socket() as tried:
            tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                tried.bind(("127.0.0.1", wanted))
            except OSError:
                continue
            return int(tried.getsockname()[1])
    raise ConfigError("there is no free port on the loopback: stop a program that uses some")
