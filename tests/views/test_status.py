"""How the program itself is doing, as the screens tell it."""

from dataclasses import asdict

from holdwatch.alerts.alive import Calls
from holdwatch.clock import MS_PER_HOUR
from holdwatch.quantities import Scale
from holdwatch.storage.aside import set_aside
from holdwatch.storage.engine import Store
from holdwatch.storage.heard import keep_heard
from holdwatch.storage.register import add_probe, set_site
from holdwatch.storage.status import report
from holdwatch.storage.tables import Role
from holdwatch.views.site import site_view
from holdwatch.views.status import NOT_HEARD_MS, system_view
from tests.support.heard import heard_now
from tests.views.conftest import BY, NOW


def test_system_view_of_a_quiet_evening_has_no_trouble(empty: Store) -> None:
    """When every part is ready there is nothing to say."""
    with empty.write() as session:
        report(session, Role.LISTEN, 1, "ready", "connected to 127.0.0.1:1883", {}, NOW)
        report(session, Role.BROKER, 1, "ready", "the broker at 127.0.0.1:1883", {"keeps": True}, NOW)
    with empty.read() as session:
        view = system_view(session, NOW + 5_000)
    assert (view.trouble, view.broker_trouble, view.built_in_broker) == ((), False, False)
    assert view.broker == "the listener: connected to 127.0.0.1:1883"


def test_system_view_tells_an_unreachable_broker(empty: Store) -> None:
    """The listener's own sentence is the trouble."""
    said = "cannot reach the broker at 127.0.0.1:1883, trying again"
    with empty.write() as session:
        report(session, Role.LISTEN, 1, "trouble", said, {}, NOW)
    with empty.read() as session:
        view = system_view(session, NOW)
    assert view.broker_trouble
    assert view.trouble == (f"The listener: {said}.",)


def test_system_view_does_not_believe_a_part_that_fell_silent(empty: Store) -> None:
    """A part that was killed cannot say so: after a minute its "ready" is not shown any longer."""
    with empty.write() as session:
        report(session, Role.WATCH, 1, "ready", "", {}, NOW)
        report(session, Role.NOTIFY, 1, "stopped", "", {}, NOW)
    with empty.read() as session:
        states = [
            {role.role: role.state for role in system_view(session, NOW + NOT_HEARD_MS + more).roles} for more in (0, 1)
        ]
    assert states == [{"watch": "ready", "notify": "stopped"}, {"watch": "not heard", "notify": "stopped"}]


def test_system_view_tells_that_the_built_in_broker_keeps_nothing(empty: Store) -> None:
    """Whoever uses the small broker is told."""
    with empty.write() as session:
        report(session, Role.BROKER, 1, "ready", "", {"kind": "built-in", "keeps": False}, NOW)
    with empty.read() as session:
        assert system_view(session, NOW).built_in_broker


def test_system_view_counts_what_was_set_aside_and_names_what_is_not_added(empty: Store) -> None:
    """What could not be kept is counted by reason, and topics of no probe are named for an hour."""
    with empty.write() as session:
        keep_heard(session, [heard_now("holdwatch/x", at_ms=NOW - MS_PER_HOUR), heard_now("holdwatch/y", at_ms=NOW)])
        for topic in ("holdwatch/x", "holdwatch/y", "holdwatch/y"):
            set_aside(session, topic, b"41.0", "unknown-probe", "no probe speaks there", NOW)
        set_aside(session, "holdwatch/p1", b"err", "unreadable", "not a number", NOW)
    with empty.read() as session:
        view, later = system_view(session, NOW), system_view(session, NOW + 1)
    assert later.not_added == ("holdwatch/y",)
    assert view.set_aside == (("unknown-probe", 3), ("unreadable", 1))
    assert view.not_added == ("holdwatch/x", "holdwatch/y")
    assert (view.recent_set_aside[0].topic, view.recent_set_aside[0].payload) == ("holdwatch/p1", "err")
    assert "holdwatch/y" in view.trouble[-1]


def test_site_view_is_the_one_in_force_at_an_instant(empty: Store) -> None:
    """A site that changed its unit today showed °F before."""
    with empty.write() as session:
        set_site(
            session,
            name="Linden Street Patisserie",
            timezone="America/Denver",
            limits="us-food-code-2022",
            unit="C",
            from_ms=NOW,
            now_ms=NOW,
            by=BY,
        )
    with empty.read() as session:
        before, after = site_view(session, NOW - 1), site_view(session)
    assert (before.scale, after.scale) == (Scale.F, Scale.C)
    assert after.limits_title == "FDA Food Code 2022"
    assert after.zone == "America/Denver"


def test_system_view_forgets_a_topic_once_its_probe_is_added(empty: Store) -> None:
    """What was heard before a probe was added is no trouble any longer; unreadable messages of known probes are told."""
    with empty.write() as session:
        keep_heard(session, [heard_now("holdwatch/p9", at_ms=NOW)])
        set_aside(session, "holdwatch/p9", b"41.0", "unknown-probe", "no probe speaks there", NOW)
        set_aside(session, "holdwatch/p9", b"err", "unreadable", "not a number", NOW)
        add_probe(session, "p9", medium="food", now_ms=NOW, by=BY)
    with empty.read() as session:
        view = system_view(session, NOW)

    assert view.not_added == ()
    assert any("1 unreadable" in line for line in view.trouble)
    assert not any("not yet placed" in line for line in view.trouble)


def test_every_part_says_when_it_was_last_heard_and_the_outside_address_when_it_was_called(empty: Store) -> None:
    """One that never ran is named too; where no address is set nothing is said of it."""
    with empty.write() as session:
        report(session, Role.BROKER, 1, "ready", "", {}, NOW - 3_000)
        report(session, Role.LISTEN, 1, "ready", "", {}, NOW - 5_000)
        report(session, Role.NOTIFY, 1, "ready", "", {}, NOW - 7_000)
    with empty.read() as session:
        assert system_view(session, NOW).heard == (
            "Last heard: the broker 3 s ago, the listener 5 s ago, the watch never heard, the part that sends alerts "
            "7 s ago, the dashboard never heard."
        )
    for calls, words in (
        (Calls(), "The outside address has taken no call yet."),
        (Calls(NOW - 9_000), "The outside address took its last call 9 s ago."),
        (Calls(NOW - 2 * MS_PER_HOUR, NOW, "no connection to it"), "took its last call 2 h ago."),
    ):
        with empty.write() as session:
            report(session, Role.NOTIFY, 1, "ready", "", {"alive": asdict(calls)}, NOW)
        with empty.read() as session:
            assert words in system_view(session, NOW).heard
