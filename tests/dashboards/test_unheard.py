"""An alert that reached nobody is shown and sounds on the Bench, until it is delivered or seen."""

import io
import wave

import pytest

from dashboards.parts.unheard import _tones
from holdwatch.alerts.acts import act
from holdwatch.alerts.queue import queue_alerts
from holdwatch.clock import MS_PER_MINUTE
from holdwatch.people.handling import Act
from holdwatch.storage.contacts import add_contact
from holdwatch.storage.findings import finding_numbered, open_finding
from holdwatch.storage.handling import Signer
from holdwatch.storage.outbox import record_attempt, waiting_alerts
from holdwatch.storage.status import report
from holdwatch.storage.tables import FindingKind, Role
from tests.dashboards.conftest import Opener, empty, morning, shown
from tests.views.conftest import BY, NOW, Morning

__all__ = ["empty", "morning"]


@pytest.fixture
def unreached(morning: Morning) -> int:
    """A broker's fault of twenty minutes ago, of which Ines could not be told; return its number."""
    then = NOW - 20 * MS_PER_MINUTE
    with morning.store.write() as session:
        add_contact(session, "Ines", "json://x.example", now_ms=then, by=BY)
        finding = open_finding(
            session,
            key="system:broker",
            kind=FindingKind.SYSTEM,
            subject="system:broker",
            title="The broker <b>",
            reason="it cannot be reached.",
            since_ms=then,
            now_ms=then,
        )
        queue_alerts(session, finding, None, then, "http://127.0.0.1:8501")
        (alert,) = waiting_alerts(session)
        record_attempt(
            session, alert, taken=False, detail="json://x.example did not take it", now_ms=then, next_try_ms=NOW
        )
        return finding.id or 0


def test_bench_says_what_reached_whom_since_when_and_why(morning: Morning, unreached: int, open_page: Opener) -> None:
    """Who, what, since when, the last error, and the way to its page; the fault itself is listed as well."""
    assert morning.store
    text = shown(open_page())
    assert "<b>Ines has not been reached</b> since Wed 14 Oct 11:22" in text
    assert "Check: The broker &lt;b&gt;" in text
    assert "Last error: json://x.example did not take it." in text
    assert f'href="/findings?finding={unreached}"' in text
    assert "It cannot be reached." in text


def test_bench_sounds_only_where_the_switch_is_on(unreached: int, open_page: Opener) -> None:
    """Off at first; on, it plays in a loop, and the line beside it says what a browser needs."""
    assert unreached
    at = open_page()
    assert not at.get("audio")
    at.toggle(key="sound").set_value(True).run()
    (audio,) = at.get("audio")
    assert audio.proto.autoplay
    assert audio.proto.loop
    assert "until its page was touched" in shown(at)
    assert "holdwatch-sound=on" in shown(at)


def test_bench_is_quiet_again_once_somebody_has_seen_it(morning: Morning, unreached: int, open_page: Opener) -> None:
    """Whoever says on a screen to have seen the finding is the one whom the message was for."""
    with morning.store.write() as session:
        act(
            session,
            finding_numbered(session, unreached),
            Act.SEEN,
            Signer("Tomas Ek"),
            at_ms=NOW,
            now_ms=NOW,
            base_url="",
        )
    assert "has not been reached" not in shown(open_page())


def test_bench_is_quiet_again_once_it_was_delivered(morning: Morning, unreached: int, open_page: Opener) -> None:
    """A channel that is back takes the banner away."""
    assert unreached
    with morning.store.write() as session:
        (alert,) = waiting_alerts(session)
        record_attempt(session, alert, taken=True, detail="taken", now_ms=NOW)
    assert "has not been reached" not in shown(open_page())


def test_bench_says_when_each_part_was_last_heard(morning: Morning, open_page: Opener) -> None:
    """A part that was never heard is named."""
    with morning.store.write() as session:
        report(session, Role.WATCH, 1, "ready", "", {}, NOW - 4_000)
    said = "Last heard: the listener never heard, the watch 4 s ago, the part that sends alerts never heard"
    assert said in shown(open_page())
    assert said in shown(open_page("setup"))


def test_the_sound_is_two_tones_and_a_silence() -> None:
    """Ten seconds, heard in the first one."""
    with wave.open(io.BytesIO(_tones())) as file:
        rate, frames = file.getframerate(), file.readframes(file.getnframes())
    assert len(frames) == 2 * 10 * rate
    assert any(frames[: 2 * rate])
    assert not any(frames[2 * rate :])
