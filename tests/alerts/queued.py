"""Findings that contacts are told of, queued for the sender."""

from collections.abc import Iterable, Mapping

from holdwatch.alerts.queue import queue_alerts
from holdwatch.storage.contacts import add_contact
from holdwatch.storage.engine import Store
from holdwatch.storage.findings import open_finding
from holdwatch.storage.tables import FindingKind

__all__ = ["queue_findings"]


def queue_findings(store: Store, urls: Mapping[str, str], titles: Iterable[str], now_ms: int) -> None:
    """Add contacts by name and URL, and a deviation of each title that they are told of."""
    with store.write() as session:
        for name, url in urls.items():
            add_contact(session, name, url, now_ms=now_ms, by="test")
        for title in titles:
            finding = open_finding(
                session,
                key=title,
                kind=FindingKind.DEVIATION,
                subject="batch:1:1",
                title=title,
                reason="70 °F was not reached",
                since_ms=now_ms,
                now_ms=now_ms,
                clause="3-501.14(A)(1)",
                verdict="missed",
            )
            queue_alerts(session, finding, None, now_ms, "http://127.0.0.1:8501")
