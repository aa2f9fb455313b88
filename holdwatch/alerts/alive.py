"""The call to an outside address: a place that is no longer called knows that the box itself is dead, and may ring.

So it is made only while listener and watch are well, and it carries the head of the chain, which is thereby known
outside. Its own thread makes it: an address that hangs delays no alert.
"""

import logging
import threading
from collections.abc import Callable
from contextvars import copy_context
from dataclasses import asdict, dataclass, field, replace
from typing import Any

from sqlmodel import Session

from holdwatch.clock import MS_PER_MINUTE, MS_PER_SECOND, to_iso
from holdwatch.errors import DeliveryError
from holdwatch.language import _, decimals
from holdwatch.storage.chain import head
from holdwatch.storage.engine import Store
from holdwatch.storage.register import site_at
from holdwatch.storage.status import statuses
from holdwatch.storage.tables import Role

__all__ = ["Alive", "Calls", "call", "told_calls"]

CALL_TIMEOUT_S = 10.0
_HEARD_WITHIN_MS = MS_PER_MINUTE
"""Ours: the parts report every ten seconds; one that has not for a minute is not running well."""
_LOOK_EVERY_MS = 5 * MS_PER_SECOND
_AGAIN_MS = MS_PER_MINUTE
"""Ours: so long after a call that failed it is tried again, or at the interval where that is shorter."""
_ENOUGH = range(200, 300)

_log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Calls:
    """How calling goes."""

    ok_ms: int | None = None
    """When the address last took a call."""
    failing_since_ms: int | None = None
    """Since when every call has failed."""
    problem: str = ""
    """Why the last one failed, or why none is made."""


def call(url: str, content: dict[str, Any]) -> None:
    """Post an object to an address.

    Raises
    ------
    DeliveryError
        If it does not take it, in words that do not hold the address: it may be a secret.
    """
    import requests

    logging.getLogger("urllib3").setLevel(logging.WARNING)  # what it tells below that holds the address
    try:
        with requests.post(url, json=content, timeout=CALL_TIMEOUT_S, stream=True) as answer:
            status = answer.status_code
    except requests.Timeout as exc:
        raise DeliveryError(
            _("no answer within {seconds} s").format(seconds=decimals(f"{CALL_TIMEOUT_S:g}")),
            retryable=True,
        ) from exc
    except requests.exceptions.SSLError as exc:
        raise DeliveryError(_("its certificate cannot be trusted"), retryable=True) from exc
    except requests.RequestException as exc:
        raise DeliveryError(_("no connection to it"), retryable=True) from exc
    if status not in _ENOUGH:
        raise DeliveryError(_("it answered {status}").format(status=status), retryable=True)


def told_calls(facts: dict[str, Any]) -> Calls | None:
    """Return what the part that sends alerts told of its calls; ``None`` where no address is set."""
    told = facts.get("alive")
    return None if told is None else Calls(**told)


@dataclass
class Alive:
    """Calls an address at intervals."""

    store: Store
    url: str
    every_ms: int
    send: Callable[[str, dict[str, Any]], None] = call
    _calls: Calls | None = field(default=None, init=False)
    _looked_ms: int | None = field(default=None, init=False)
    _tried_ms: int | None = field(default=None, init=False)
    _thread: threading.Thread | None = field(default=None, init=False)

    def go_on(self, now_ms: int) -> None:
        """Begin a call if one is due and all is well; it does not wait for the answer.

        Raises
        ------
        StorageError
            If the store cannot be used.
        """
        if self._thread is not None and self._thread.is_alive():
            return
        if self._looked_ms is not None and 0 <= now_ms - self._looked_ms < _LOOK_EVERY_MS:
            return
        self._looked_ms = now_ms
        with self.store.read() as session:
            calls = self._calls or _told_before(session)
            self._calls = calls
            if not self._due(calls, now_ms):
                return
            unwell = _unwell(session, now_ms)
            if unwell:
                if calls.failing_since_ms is None:
                    self._calls = replace(calls, problem=_("not called: {why}").format(why=unwell))
                return
            content = _content(session, now_ms)
        self._tried_ms = now_ms
        self._thread = threading.Thread(
            target=copy_context().run,  # it speaks as this thread does
            args=(self._call, content, now_ms),
            name="alive",
            daemon=True,
        )
        self._thread.start()

    def finish(self) -> None:
        """Wait for the call that is under way."""
        if self._thread is not None:
            self._thread.join()

    def facts(self) -> dict[str, Any]:
        """Return how calling goes, to be kept with the state of the part."""
        return {} if self._calls is None else {"alive": asdict(self._calls)}

    def state(self) -> tuple[str, str]:
        """Return a word and a sentence on how calling goes; both empty while it goes well."""
        calls = self._calls
        if calls is None or not calls.problem:
            return "", ""
        if calls.failing_since_ms is None:
            return "ready", _("the outside address is {problem}").format(problem=calls.problem)
        return "trouble", _("the outside address cannot be reached: {problem}").format(problem=calls.problem)

    def _due(self, calls: Calls, now_ms: int) -> bool:
        last_ms = calls.ok_ms if self._tried_ms is None else self._tried_ms
        if last_ms is None:
            return True
        pause_ms = self.every_ms if calls.failing_since_ms is None else min(self.every_ms, _AGAIN_MS)
        return not 0 <= now_ms - last_ms < pause_ms

    def _call(self, content: dict[str, Any], now_ms: int) -> None:
        calls = self._calls or Calls()
        try:
            self.send(self.url, content)
        except DeliveryError as exc:
            if calls.failing_since_ms is None or calls.problem != str(exc):
                _log.warning("the outside address cannot be reached: %s", exc)
            since_ms = now_ms if calls.failing_since_ms is None else calls.failing_since_ms
            self._calls = Calls(calls.ok_ms, since_ms, str(exc))
        except Exception:  # noqa: BLE001  a fault of ours must not look like a call that was taken
            _log.exception("calling the outside address failed")
            since_ms = now_ms if calls.failing_since_ms is None else calls.failing_since_ms
            self._calls = Calls(calls.ok_ms, since_ms, _("the call failed, see notify.log"))
        else:
            if calls.failing_since_ms is not None:
                _log.info("the outside address is reached again")
            self._calls = Calls(now_ms)


def _told_before(session: Session) -> Calls:
    """Return how calling went before this process began."""
    known = next((told_calls(s.facts) for s in statuses(session) if s.role == Role.NOTIFY), None)
    return known or Calls()


def _unwell(session: Session, now_ms: int) -> str:
    """Return why nobody should believe that all is well; empty where listener and watch are."""
    told = {status.role: status for status in statuses(session)}
    for role, name in ((Role.LISTEN, _("the listener")), (Role.WATCH, _("the watch"))):
        status = told.get(role.value)
        if status is None or status.state == "stopped" or now_ms - status.at_ms > _HEARD_WITHIN_MS:
            return _("{name} is not heard").format(name=name)
        if role is Role.WATCH and status.state == "trouble":
            return _("{name} is in trouble").format(name=name)
    return ""


def _content(session: Session, now_ms: int) -> dict[str, Any]:
    """Return what the address is told: a line of a witness file, and whose it is."""
    position, digest = head(session)
    return {"site": site_at(session, None).name, "at": to_iso(now_ms), "position": position, "digest": digest}
