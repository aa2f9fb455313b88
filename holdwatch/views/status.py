"""How the program itself is doing: its parts, the broker, what waits, what could not be kept or delivered."""

from sqlmodel import Session

from holdwatch.alerts.alive import told_calls
from holdwatch.alerts.unheard import is_loud, unheard_alerts
from holdwatch.clock import MS_PER_HOUR, MS_PER_MINUTE, MS_PER_SECOND
from holdwatch.language import N_, _
from holdwatch.storage.arrivals import waiting
from holdwatch.storage.aside import recent_set_aside, set_aside_counts
from holdwatch.storage.heard import heard
from holdwatch.storage.outbox import due_ms, waiting_alerts
from holdwatch.storage.status import statuses
from holdwatch.storage.tables import AlertState, FindingKind, Role, RoleStatus, SetAsideMessage
from holdwatch.views.findings import alert_view, finding_views
from holdwatch.views.model import AsideView, FindingView, RoleView, SystemView, UnheardView
from holdwatch.views.words import age

__all__ = ["system_view"]

NOT_HEARD_MS = 60 * MS_PER_SECOND
"""Ours: the parts report every ten seconds; one that has not for a minute is not running well."""
_BEHIND = 1_000
_RECENT = 20
_NAMED = 3
_UNKNOWN = "unknown-probe"
_NAMES = {
    Role.LISTEN: N_("the listener"),
    Role.WATCH: N_("the watch"),
    Role.NOTIFY: N_("the part that sends alerts"),
    Role.DASHBOARD: N_("the dashboard"),
    Role.BROKER: N_("the broker"),
}
_WORDS = (
    *(N_("ready"), N_("starting"), N_("trouble"), N_("stopped")),
    *(N_("unreadable"), N_("too large"), N_("not a number"), N_("other unit"), N_("impossible value"), N_("not kept")),
)
"""How a part is doing, and why a message was set aside: words of the store, looked up as it keeps them."""


def system_view(session: Session, now_ms: int) -> SystemView:
    """Return how the program is doing at an instant."""
    told = statuses(session)
    roles = tuple(_role(row, now_ms) for row in told)
    by_role = {role.role: role for role in roles}
    listener, broker = by_role.get(Role.LISTEN.value), by_role.get(Role.BROKER.value)
    keeps = next((bool(row.facts.get("keeps", True)) for row in told if row.role == Role.BROKER), True)
    undelivered = tuple(
        alert_view(session, alert)
        for alert in waiting_alerts(session)
        if alert.state == AlertState.UNDELIVERED or alert.attempts > 0
    )
    left = waiting(session)
    counts = set_aside_counts(session)
    topics = tuple(row.topic for row in heard(session, now_ms - MS_PER_HOUR))
    found = tuple(f for f in finding_views(session, open_only=True) if _of_the_system(f))
    unheard = tuple(
        UnheardView(alert_view(session, alert), due_ms(alert), is_loud(alert, now_ms))
        for alert in unheard_alerts(session)
    )
    return SystemView(
        roles=roles,
        heard=_heard(roles, told, now_ms),
        broker=listener.words if listener is not None else _("the listener has not reported yet"),
        broker_trouble=any(r is not None and r.state in {"trouble", "not heard"} for r in (listener, broker)),
        built_in_broker=not keeps,
        waiting=left,
        undelivered=undelivered,
        unheard=unheard,
        set_aside=tuple(sorted(counts.items(), key=lambda item: (-item[1], item[0]))),
        recent_set_aside=tuple(_aside(row) for row in recent_set_aside(session, _RECENT)),
        not_added=topics,
        findings=found,
        trouble=_trouble(roles, left, _set_aside_lately(session, now_ms), topics),
    )


def _heard(roles: tuple[RoleView, ...], told: list[RoleStatus], now_ms: int) -> str:
    """Return when each part was last heard, and when an outside address last took a call, if one is set.

    A part that never ran is named as that; the broker is named where ``run`` looks whether it answers.
    """
    said = {role.role: role for role in roles}
    parts = []
    for role in (Role.BROKER, Role.LISTEN, Role.WATCH, Role.NOTIFY, Role.DASHBOARD):
        known = said.get(role.value)
        if known is None:
            when = _("never heard")
        elif known.state == "stopped":
            when = _("stopped")
        else:
            when = _ago(known.age_ms)
        if known is not None or role is not Role.BROKER:
            parts.append(f"{_(_NAMES[role])} {when}")
    words = _("Last heard: {parts}.").format(parts=", ".join(parts))
    calls = next((told_calls(row.facts) for row in told if row.role == Role.NOTIFY), None)
    if calls is None:
        return words
    if calls.ok_ms is None:
        return f"{words} {_('The outside address has taken no call yet.')}"
    called = _("The outside address took its last call {ago}.").format(ago=_ago(now_ms - calls.ok_ms))
    return f"{words} {called}"


def _ago(age_ms: int) -> str:
    soon = 0 <= age_ms < MS_PER_MINUTE
    return _("{length} ago").format(length=f"{age_ms // MS_PER_SECOND} s") if soon else age(0, age_ms)


def _of_the_system(finding: FindingView) -> bool:
    """Tell whether a finding is about the program or a probe: neither a batch nor a unit has a row that shows it."""
    return finding.kind == FindingKind.SYSTEM or finding.subject.startswith(("probe:", "system:"))


def _role(row: RoleStatus, now_ms: int) -> RoleView:
    """Return how a part is doing; one that has fallen silent is not believed any longer."""
    silent = now_ms - row.at_ms > NOT_HEARD_MS and row.state != "stopped"
    name = _(_NAMES.get(Role(row.role), row.role))
    state = "not heard" if silent else row.state
    words = (
        _("{name} was last heard {ago}").format(name=name, ago=age(row.at_ms, now_ms))
        if silent
        else f"{name}: {row.detail or _(row.state)}"
    )
    return RoleView(row.role, state, row.detail, row.at_ms, now_ms - row.at_ms, words)


def _aside(row: SetAsideMessage) -> AsideView:
    return AsideView(row.received_ms, row.topic, row.payload, row.reason, row.detail)


def _trouble(
    roles: tuple[RoleView, ...],
    left: int,
    aside: tuple[str, ...],
    topics: tuple[str, ...],
) -> tuple[str, ...]:
    """Return what a person should know or do, one sentence each."""
    said = [f"{role.words[:1].upper()}{role.words[1:]}." for role in roles if role.state in {"trouble", "not heard"}]
    if left > _BEHIND:
        said.append(_("The watch is behind: {count} arrivals wait, so what stands here may be old.").format(count=left))
    said += aside
    if topics:
        more = " " + _("and {count} more").format(count=len(topics) - _NAMED) if len(topics) > _NAMED else ""
        said.append(
            _("Heard, not yet placed: {topics}{more}. Name and place it under Set-up.").format(
                topics=", ".join(topics[:_NAMED]), more=more
            )
        )
    return tuple(said)


def _set_aside_lately(session: Session, now_ms: int) -> tuple[str, ...]:
    """Tell of known probes' messages that could not be kept as readings in the last hour."""
    counts = {r: n for r, n in set_aside_counts(session, now_ms - MS_PER_HOUR).items() if r != _UNKNOWN and n}
    if not counts:
        return ()
    named = ", ".join(f"{n} {_(r.replace('-', ' '))}" for r, n in sorted(counts.items(), key=lambda item: -item[1]))
    return (
        _("Set aside in the last hour, not kept as readings: {named}. `holdwatch checkup` names the probes.").format(
            named=named
        ),
    )
