"""The words of an alert: what, since when, which clause, how long is left, what to do, and where to look.

A message is read on a locked phone by someone whose hands are full: the subject alone must help, every instant is
local with its zone told, and nothing in it depends on when it is delivered.

Facts read from a finding, all optional: ``due_ms`` (when the limit falls due), ``level_c`` (the level to reach or to
keep), ``requires`` (the clause in words), ``process`` (cooling, cold-holding, hot-holding or signal), ``seen_c`` and
``seen_ms`` (the last reading).
"""

import unicodedata
from dataclasses import dataclass

from holdwatch.alerts.advice import advice
from holdwatch.alerts.decide import Reason
from holdwatch.clock import MS_PER_MINUTE, clock_words
from holdwatch.language import N_, _, decimals, speaking
from holdwatch.people.handling import Handling
from holdwatch.quantities import Scale, format_temperature
from holdwatch.storage.tables import Event, Finding, FindingKind, SiteVersion

__all__ = [
    "CAUTION",
    "TITLE_LENGTH",
    "Message",
    "again",
    "compose",
    "compose_entry",
    "late",
    "one_line",
    "plain_body",
    "trial",
]

CAUTION = N_("Shows what the record shows; your local code and inspector decide.")
TITLE_LENGTH = 80
_LONGEST_TAIL = 44
_MINUTES_PER_HOUR = 60
_MINUTES_PER_DAY = 1440
_WORDS = {
    FindingKind.SOON: N_("Soon"),
    FindingKind.DEVIATION: N_("Deviation"),
    FindingKind.NOT_SHOWN: N_("Not shown"),
    FindingKind.SYSTEM: N_("Check"),
}


@dataclass(frozen=True)
class Message:
    """What a contact reads."""

    title: str
    body: str


def compose(
    finding: Finding,
    site: SiteVersion,
    reason: Reason,
    now_ms: int,
    base_url: str,
    *,
    waited_ms: int = 0,
    token: str = "",
    do: str = "",
) -> Message:
    """Write the message about a finding as it stands at `now_ms`; one that was passed on says why it comes.

    `do` is what to do about it, where more is known than its kind; see `alerts.offers`.
    With a `token` the link opens the finding's page for a phone without signing in.
    """
    lines = _over(finding, site) if reason is Reason.CLOSED else _open(finding, site, reason, now_ms, do)
    if waited_ms:
        lines.insert(
            1, _("Passed on to you: nobody has said to have seen it for {length}.").format(length=_length(waited_ms))
        )
    return Message(_plain(_title(finding, site, reason, now_ms)), _body(lines, finding, site, base_url, token))


def compose_entry(
    finding: Finding, site: SiteVersion, reason: Reason, entry: Event, now: Handling, base_url: str, token: str = ""
) -> Message:
    """Write what somebody did about a finding, or promised and has not recorded yet."""
    said = " – ".join(one_line(part) for part in (_(str(entry.facts.get("disposition") or "")), entry.text) if part)
    by, at = one_line(entry.by), clock_words(entry.at_ms, site.timezone)
    lines = [
        f"{one_line(finding.title)}: {said or one_line(entry.kind)}",
        _("Recorded by {name} at {time}.").format(name=by, time=at),
    ]
    if reason is Reason.HELD:
        word, tail = _("For you to decide"), " – " + _("held by {name}").format(name=by)
        lines.append(_("Do: {todo}").format(todo=_("decide what becomes of the food, and record it.")))
    elif reason is Reason.CHECK_DUE:
        due = clock_words(now.check_ms or entry.at_ms, site.timezone)
        word, tail = _("Look again"), " – " + _("promised by {name}").format(name=by)
        lines.append(_("Promised for: {time}").format(time=due))
        lines.append(_("Do: {todo}").format(todo=_("look whether it has worked, and record it.")))
    else:
        done = _(now.disposition.value) if now.disposition else _("recorded")
        word, tail = _("Handled"), " – " + _("{done} by {name}").format(done=done, name=by)
        lines.append(_("There is nothing more to do; somebody else verifies it."))
    return Message(_plain(_fit(word, finding, tail)), _body(lines, finding, site, base_url, token))


def _body(lines: list[str], finding: Finding, site: SiteVersion, base_url: str, token: str) -> str:
    link = f"{base_url.rstrip('/')}/{f'f/{token}' if token else f'findings?finding={finding.id}'}"
    return plain_body([*lines, _("Open: {link}").format(link=link)], site)


def plain_body(lines: list[str], site: SiteVersion) -> str:
    """Put lines under each other, and below them the site and who decides."""
    return _plain("\n".join([*lines, f"{one_line(site.name)}. {_(CAUTION)}"]))


def again(message: Message) -> Message:
    """Mark a message that may have been sent before: whoever sent it died before writing down that it was taken."""
    return _marked(message, _("Again"), _("Sent again: it may have reached you before."))


def late(message: Message, by_ms: int) -> Message:
    """Mark a message that no channel took for some time: what it says was so when it should have come."""
    words = _length(by_ms)
    return _marked(
        message,
        _("Late {length}").format(length=words),
        _("Late by {length}: no channel took it before. It tells how things stood then.").format(length=words),
    )


def _marked(message: Message, word: str, line: str) -> Message:
    """Put a word before the title, which stays short enough with its tail whole, and a line before the body."""
    room = TITLE_LENGTH - len(word) - len(": ")
    title = message.title
    if len(title) > room:
        head, dash, tail = title.rpartition(" – ")
        head, tail = (head, dash + tail) if dash else (title, "")
        title = f"{head[: room - len(tail) - 1].rstrip()}…{tail}"
    return Message(f"{word}: {title}", f"{line}\n{message.body}")


def trial(site: SiteVersion, name: str, now_ms: int) -> Message:
    """Write the message that proves a contact's channel, in the site's language as every message."""
    with speaking(site.language):
        at = clock_words(now_ms, site.timezone)
        title = _("Trial: {site} can reach {name}").format(site=one_line(site.name), name=one_line(name))
        body = _(
            "Holdwatch sent this at {time} to prove the channel. Nothing is wrong, and there is nothing to do."
        ).format(time=at)
        body = f"{body}\n{_(CAUTION)}"
    return Message(title[:TITLE_LENGTH], body)


def one_line(text: str) -> str:
    """Put a name on one line: line ends and other control characters would let it pose as ours."""
    spaced = "".join(" " if unicodedata.category(c) in {"Cc", "Zl", "Zp"} else c for c in text)
    return " ".join(spaced.split(" ")).strip()


def _plain(text: str) -> str:
    """Put ordinary spaces before units: some phones draw the narrow one as a box."""
    return text.replace("\u202f", " ")


def _title(finding: Finding, site: SiteVersion, reason: Reason, now_ms: int) -> str:
    """Put kind, subject and the one figure that matters into a line for a locked phone."""
    word = _("No longer") if reason is Reason.CLOSED else _word(finding)
    return _fit(word, finding, _tail(finding, site, reason, now_ms))


def _fit(word: str, finding: Finding, tail: str) -> str:
    """Shorten what is between word and tail until a locked phone shows all of it."""
    tail = tail if len(tail) <= _LONGEST_TAIL else f"{tail[: _LONGEST_TAIL - 1].rstrip()}…"
    room = TITLE_LENGTH - len(word) - len(": ") - len(tail)
    subject = one_line(finding.title)
    if len(subject) > room:
        subject = subject[: room - 1].rstrip() + "…"
    return f"{word}: {subject}{tail}"


def _word(finding: Finding) -> str:
    """Return the word for what was found; a silent probe, and a reminder, are called that."""
    if finding.facts.get("process") == "signal":
        return _("Silent")
    if finding.subject.startswith("reminder:"):
        return _("Reminder")
    return _(_WORDS[FindingKind(finding.kind)])


def _tail(finding: Finding, site: SiteVersion, reason: Reason, now_ms: int) -> str:
    """Return what follows the subject in a title: the time left, or the clause and how long it lasts or lasted."""
    due_ms = finding.facts.get("due_ms")
    if reason is Reason.CLOSED:
        return f" – {_word(finding).lower()}"
    if finding.kind == FindingKind.SOON and due_ms is not None and due_ms > now_ms:
        level = _level(finding, site)
        left = _("{length} left to {level}") if level else _("{length} left")
        return " – " + left.format(length=_length(due_ms - now_ms), level=level)
    lasts_ms = (now_ms if finding.closed_ms is None else finding.closed_ms) - finding.since_ms
    long = _("for {length}").format(length=_length(lasts_ms)) if lasts_ms >= MS_PER_MINUTE else ""
    said = ", ".join(part for part in (finding.clause, long) if part)
    return f" – {said}" if said else ""


def _over(finding: Finding, site: SiteVersion) -> list[str]:
    """Write the short message that something is no longer so."""
    was = _word(finding).lower()
    if finding.kind == FindingKind.SYSTEM and was == _(_WORDS[FindingKind.SYSTEM]).lower():
        was = _("a fault")
    lines = [_("{title}: no longer {was}.").format(title=one_line(finding.title), was=was)]
    if finding.close_reason:
        lines.append(_sentence(one_line(finding.close_reason)))
    if finding.closed_ms is not None:
        lines.append(_("Over since: {time}").format(time=clock_words(finding.closed_ms, site.timezone)))
    return lines


def _open(finding: Finding, site: SiteVersion, reason: Reason, now_ms: int, do: str) -> list[str]:
    """Write the message about something that stands."""
    kind = FindingKind(finding.kind)
    change = {Reason.WORSE: _(", and worse than told before"), Reason.CHANGED: _(", changed since told before")}
    lines = [f"{one_line(finding.title)}: {_word(finding).lower()}{change.get(reason, '')}."]
    lines.append(_sentence(one_line(finding.reason)))
    since = clock_words(finding.since_ms, site.timezone)
    ago = now_ms - finding.since_ms
    since_ago = _("Since: {time} ({length} ago)") if ago >= MS_PER_MINUTE else _("Since: {time}")
    lines.append(since_ago.format(time=since, length=_length(ago)))
    lines += _clause(finding)
    lines += _seen(finding, site)
    lines += _time_left(finding, site, now_ms)
    todo = do or advice(kind, str(finding.facts.get("process", "")), finding.subject)
    lines.append(_("Do: {todo}").format(todo=todo))
    return lines


def _clause(finding: Finding) -> list[str]:
    """Name the limit in words and the clause it rests on."""
    requires, source = finding.facts.get("requires"), finding.source or finding.clause
    if requires and source:
        return [_("Limit: {requires} ({source})").format(requires=requires, source=source)]
    return [_("Limit: {requires}").format(requires=requires or source)] if requires or source else []


def _seen(finding: Finding, site: SiteVersion) -> list[str]:
    """Tell the last reading."""
    celsius, at_ms = finding.facts.get("seen_c"), finding.facts.get("seen_ms")
    if celsius is None or at_ms is None:
        return []
    return [
        _("Last reading: {temperature} at {time}").format(
            temperature=_temperature(celsius, site), time=clock_words(at_ms, site.timezone)
        )
    ]


def _time_left(finding: Finding, site: SiteVersion, now_ms: int) -> list[str]:
    """Tell how long the limit still runs, or since when its time is up."""
    due_ms = finding.facts.get("due_ms")
    if due_ms is None:
        return []
    due = clock_words(due_ms, site.timezone)
    if due_ms > now_ms:
        level = _level(finding, site)
        said = (
            _("Time left: {length}, until {time} to reach {level}") if level else _("Time left: {length}, until {time}")
        )
        return [said.format(length=_length(due_ms - now_ms), time=due, level=level)]
    return [_("Time left: none, it was up at {time}").format(time=due)]


def _level(finding: Finding, site: SiteVersion) -> str:
    """Write the level to reach or keep, without decimals where it has none."""
    celsius = finding.facts.get("level_c")
    return "" if celsius is None else _temperature(celsius, site).replace(decimals(".0"), "")


def _temperature(celsius: float, site: SiteVersion) -> str:
    """Write a temperature in the site's unit."""
    return format_temperature(celsius, Scale(site.unit))


def _length(ms: int) -> str:
    """Write a length of time as people say it; a part of a minute left is not rounded up."""
    minutes = ms // MS_PER_MINUTE
    if minutes < _MINUTES_PER_HOUR:
        return f"{minutes} min"
    hours, rest = divmod(minutes, _MINUTES_PER_HOUR)
    if minutes < _MINUTES_PER_DAY:
        return f"{hours} h {rest} min" if rest else f"{hours} h"
    days, hours = divmod(hours, 24)
    return f"{days} d {hours} h" if hours else f"{days} d"


def _sentence(text: str) -> str:
    """Begin with a capital and end with a full stop."""
    text = text[:1].upper() + text[1:]
    return text if not text or text[-1] in ".!?" else f"{text}."
