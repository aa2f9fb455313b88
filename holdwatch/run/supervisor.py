"""``holdwatch run``: every part as a process of its own, kept running, and stopped in order.

It says ``ready`` on standard output, once, when the listener's subscription stands and every other part has gone
round; everything for people goes to standard error. A part that ends is started again, after a pause that grows; one
that ends with status 2 (settings, or a store of another version) is not.

Stopping
--------
What publishes is stopped first. Then the way of a reading is emptied: a broker of ours that keeps nothing stops
taking before the listener commits what it has; one that keeps what it has queued is stopped after the listener, which
so can still acknowledge. Then watch, notify and dashboard. Who does not end in time is killed.
"""

import logging
import os
import signal
import socket
import sys
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from types import FrameType

from holdwatch import clock
from holdwatch.errors import ConfigError, StorageError
from holdwatch.run.broker import OwnBroker, own_broker
from holdwatch.run.child import Child, Running
from holdwatch.run.logs import start_logging
from holdwatch.run.ports import answers, require_free
from holdwatch.run.role import USELESS_TO_RESTART
from holdwatch.run.screens import healthy
from holdwatch.settings import STORE_NAME, Settings
from holdwatch.storage.engine import Store, open_store
from holdwatch.storage.lock import listener_lock
from holdwatch.storage.register import site_at
from holdwatch.storage.status import report, statuses
from holdwatch.storage.tables import Role

__all__ = ["Child", "run_all"]

_LOOK_EVERY_S = 0.1
_ASK_EVERY_MS = 250
_TELL_WAITING_EVERY_MS = 10_000
_REPORT_EVERY_MS = 10_000
_BROKER_WITHIN_MS = 10_000
_STOP_WITHIN_MS = 4_500

_Row = tuple[Role, int | None, str, str, dict[str, object]]
"""Which part, its process, state, sentence and facts."""

_log = logging.getLogger(__name__)


def run_all(
    settings: Settings,
    *,
    with_dashboard: bool = True,
    extra: Sequence[Child] = (),
    on_ready: Callable[[], None] | None = None,
) -> int:
    """Run every part until SIGINT or SIGTERM; return the exit status.

    Parameters
    ----------
    extra : processes beside ours, started after them and stopped before them.
    on_ready : called once, when ``ready`` has been said.

    Raises
    ------
    HoldwatchError
        If something stands in the way of starting: no store, another one running, a port in use.
    """
    bring_up = settings.database_url is not None or (settings.data / STORE_NAME).is_file()
    store = open_store(settings.store_url, migrate=bring_up)
    try:
        with store.read() as session:
            site_at(session, None)  # a store that nobody has named is told here
        with listener_lock(store):
            pass  # another one running is told before anything is started
        if with_dashboard:
            require_free(settings.address, settings.port, "the screens", "--port")
        own = None if settings.broker_given else own_broker(settings)
        start_logging("run", settings.logs, settings.log_level)
        children = [*_parts(with_dashboard=with_dashboard), *extra]
        return _Supervisor(settings, store, own, children, on_ready).run()
    finally:
        store.close()


def _parts(*, with_dashboard: bool) -> list[Child]:
    """Return the long-running parts in the order of their stopping."""

    def part(name: str, *, patience_s: float = 1.0, shown: bool = True, holds_nothing: bool = False) -> Child:
        command = (sys.executable, "-m", "holdwatch", name)
        return Child(
            name,
            command,
            shown=shown,
            patience_s=patience_s,
            holds_nothing=holds_nothing,
            reports=name if shown else None,
        )

    parts = [part("listen", patience_s=2.5), part("watch"), part("notify")]
    return [*parts, part("dashboard", patience_s=0.5, shown=False, holds_nothing=True)] if with_dashboard else parts


class _Supervisor:
    """Keeps children running until it is told to stop."""

    def __init__(
        self,
        settings: Settings,
        store: Store,
        own: OwnBroker | None,
        children: Sequence[Child],
        on_ready: Callable[[], None] | None,
    ) -> None:
        self._settings, self._store, self._own, self._on_ready = settings, store, own, on_ready
        self._broker = None if own is None else Running(own.child, _log)
        self._running = [Running(child, _log) for child in children]
        self._stop, self._hurry = threading.Event(), threading.Event()
        self._ready = False
        self._status = 0
        self._asked_ms = self._reported_ms = 0
        self._told_ms = clock.monotonic_ms()
        given = {**settings.environment(), "PYTHONUNBUFFERED": "1"}
        self._environment: Mapping[str, str] = {**os.environ, **given}

    # ---- running

    def run(self) -> int:
        """Run until told to stop; return the exit status."""
        with self._signals():
            try:
                self._start_broker()
                for each in self._running:
                    self._start(each)
                while not self._stop.wait(_LOOK_EVERY_S):
                    self._turn()
            finally:
                self._end()
        return self._status

    def _turn(self) -> None:
        """Look at every child once, and say how things stand when that is due."""
        for each in self._all():
            self._tend(each)
        now_ms = clock.monotonic_ms()
        if not self._ready and now_ms - self._asked_ms >= _ASK_EVERY_MS:
            self._asked_ms = now_ms
            self._see_whether_ready(now_ms)
        if now_ms - self._reported_ms >= _REPORT_EVERY_MS:
            self._reported_ms = now_ms
            self._report()

    def _all(self) -> list[Running]:
        """Return every child, our broker first."""
        return [each for each in (self._broker, *self._running) if each is not None]

    def _start(self, each: Running) -> None:
        each.start(self._environment, clock.monotonic_ms())
        _log.info("%s is started as process %s", each.child.name, each.pid)

    def _tend(self, each: Running) -> None:
        """Read what a child says, notice its end, and start it again when that is due."""
        for line in each.read_lines():
            if each.child.shown:
                _say(f"{each.child.name}: {line}")
        now_ms = clock.monotonic_ms()
        if each.process is None:
            if not each.given_up and now_ms >= each.restart_ms:
                self._start(each)
            return
        status = each.process.poll()
        if status is not None:
            _say(each.note_end(status, USELESS_TO_RESTART, now_ms))
            if each.given_up:
                self._status = USELESS_TO_RESTART
                if not self._ready:  # nothing to keep running for
                    self._stop.set()

    def _start_broker(self) -> None:
        """Start our own broker, and wait until it can be reached."""
        if self._broker is None or self._own is None:
            return
        self._start(self._broker)
        until_ms = clock.monotonic_ms() + _BROKER_WITHIN_MS
        while not answers("127.0.0.1", self._settings.broker_port):
            process = self._broker.process
            if (process is not None and process.poll() is not None) or clock.monotonic_ms() > until_ms:
                self._broker.read_lines()
                said = f" ({self._broker.last[-1]})" if self._broker.last else ""
                raise ConfigError(f"{self._own.kind} does not start{said}: see DATA/logs/run.log, or give --broker URL")
            if self._stop.wait(_LOOK_EVERY_S):
                return
        _say(self._own.sentence)

    # ---- how things stand

    def _see_whether_ready(self, now_ms: int) -> None:
        """Say ``ready`` when every part is; say now and then what is waited for."""
        waiting = self._waiting()
        if not waiting:
            self._ready = True
            if any(each.child.name == "dashboard" for each in self._running):
                _say(f"the screens are at {self._settings.base_url}")
            self._report()
            with suppress(BrokenPipeError):
                sys.stdout.write("ready\n")
                sys.stdout.flush()
            if self._on_ready is not None:
                self._on_ready()
        elif now_ms - self._told_ms >= _TELL_WAITING_EVERY_MS:
            self._told_ms = now_ms
            _say(f"not ready yet, waiting for {'; '.join(waiting)}")

    def _waiting(self) -> list[str]:
        """Return the parts that have not gone round yet, each with what it says."""
        try:
            with self._store.read() as session:
                said = {status.role: status for status in statuses(session)}
        except StorageError as exc:
            return [f"the store ({exc})"]
        waiting = []
        for each in self._running:
            name = each.child.reports
            status = said.get(name or "")
            if name is not None and (status is None or status.pid != each.pid):
                waiting.append(name)
            elif status is not None and not _has_gone_round(status.role, status.state, status.facts):
                waiting.append(f"{name} ({status.detail or status.state})")
            elif each.child.name == "dashboard" and not self._screens_answer():
                waiting.append("dashboard")
        return waiting

    def _report(self, *, stopped: bool = False) -> None:
        """Write how the parts go that cannot say so themselves: broker and dashboard."""
        rows = [self._broker_row(), *(self._screens_row(each) for each in self._running)]
        try:
            with self._store.write() as session:
                for role, pid, state, detail, facts in filter(None, rows):
                    told = {"host": socket.gethostname(), **facts}
                    now = ("stopped", "") if stopped else (state, detail)
                    report(session, role, pid or 0, *now, told, clock.now_ms())
        except StorageError as exc:
            _log.warning("how the broker and the screens go cannot be recorded: %s", exc)

    def _broker_row(self) -> _Row:
        """Say how the broker goes."""
        host, port = self._settings.broker_address
        kind = "given" if self._own is None else self._own.kind.value
        said = f"the broker at {host}:{port}" if self._own is None else self._own.sentence
        reached = answers(host, port)
        pid = os.getpid() if self._broker is None else self._broker.pid
        facts = {"kind": kind, "keeps": self._own is None or self._own.keeps, "host": host, "port": port}
        return Role.BROKER, pid, *_fine(reached, said, f"{said} cannot be reached"), facts

    def _screens_row(self, each: Running) -> _Row | None:
        """Say how the screens go."""
        if each.child.name != Role.DASHBOARD:
            return None
        fine = _fine(self._screens_answer(), f"at {self._settings.base_url}", "the screens do not answer")
        facts = {"address": self._settings.address, "port": self._settings.port}
        return Role.DASHBOARD, each.pid, *fine, facts

    def _screens_answer(self) -> bool:
        return healthy(self._settings.address, self._settings.port)

    # ---- stopping

    @contextmanager
    def _signals(self) -> Iterator[None]:
        """Stop in order at the first SIGINT or SIGTERM, at once at the second."""

        def ask(_number: int, _frame: FrameType | None) -> None:
            (self._hurry if self._stop.is_set() else self._stop).set()

        before = {number: signal.signal(number, ask) for number in (signal.SIGINT, signal.SIGTERM)}
        try:
            yield
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)

    def _end(self) -> None:
        """Stop every child in order; leave nothing running."""
        self._stop.set()
        until_ms = clock.monotonic_ms() + _STOP_WITHIN_MS
        for group in self._stopping_order():
            for each in group:
                each.ask_to_stop()
            patience_ms = round(1_000 * max((each.child.patience_s for each in group), default=0.0))
            group_until_ms = min(until_ms, clock.monotonic_ms() + patience_ms)
            while any(each.pid is not None for each in group) and clock.monotonic_ms() < group_until_ms:
                if self._hurry.wait(_LOOK_EVERY_S / 5):
                    break
                for each in self._all():
                    each.read_lines()
        for each in self._all():
            if each.pid is not None and not each.child.holds_nothing:
                _log.warning("%s did not end in time and is killed", each.child.name)
            each.kill()
        self._report(stopped=True)
        _say("stopped")

    def _stopping_order(self) -> list[list[Running]]:
        """Return who is stopped together, first to last."""
        by_name = {each.child.name: each for each in self._running}
        parts = [by_name.pop(name) for name in ("listen", "watch", "notify", "dashboard") if name in by_name]
        listen, others = parts[:1], [[each] for each in parts[1:]]
        broker = [] if self._broker is None else [self._broker]
        way = [listen, broker] if self._own is not None and self._own.keeps else [broker, listen]
        return [list(by_name.values()), *way, *others]


def _fine(fine: bool, yes: str, no: str) -> tuple[str, str]:
    """Return the state and the sentence of it."""
    return ("ready", yes) if fine else ("trouble", no)


def _has_gone_round(role: str, state: str, facts: Mapping[str, object]) -> bool:
    """Return whether a part has done what it does once: the listener is subscribed, another has gone round."""
    if role == Role.LISTEN:
        return state == "ready" or bool(facts.get("live"))
    return state in {"ready", "trouble"}


def _say(line: str) -> None:
    """Tell people something, on standard error; a terminal that is gone stops nothing."""
    _log.info("%s", line)
    with suppress(OSError):
        sys.stderr.write(f"{line}\n")
        sys.stderr.flush()
