"""The carrier: Apprise takes a message to a phone, a mailbox, a web hook or a text message, by URL.

A channel's URL holds its password, so it is never logged or shown whole: `mask` shows what a person needs to
recognise it, and `_scrub` takes its secrets out of whatever a channel complains about.
"""

import logging
import re
from typing import Any
from urllib.parse import unquote, unquote_plus

from holdwatch.alerts.message import Message
from holdwatch.errors import ConfigError, DeliveryError
from holdwatch.language import _, decimals

__all__ = ["SEND_TIMEOUT_S", "fitted", "mask", "send", "validate_url"]

SEND_TIMEOUT_S = 15.0
_STARS = "****"
_SHORTEST_SCRUBBED = 4
_URL = re.compile(r"^(?P<scheme>[A-Za-z][\w+.-]*)://(?P<rest>.*)$", re.DOTALL)
_EXAMPLES = "mailto://…, ntfy://…, json://…"


def validate_url(url: str) -> None:
    """Refuse a URL that no channel understands.

    Raises
    ------
    ConfigError
        If Apprise does not know it.
    """
    _service(url)


def send(url: str, message: Message, timeout_s: float = SEND_TIMEOUT_S) -> None:
    """Hand a message to the channel behind a URL and wait until it took it.

    Taken means that the channel's server accepted it, not that anybody read it.

    Raises
    ------
    DeliveryError
        If it did not take it, in words without the URL's secrets.
    """
    import apprise

    try:
        service = _service(url)
    except ConfigError as exc:
        raise DeliveryError(str(exc), retryable=False) from exc
    message = fitted(message, int(service.body_maxlen))
    carrier = apprise.Apprise()
    carrier.add(service)
    result = carrier.notify(
        title=message.title,
        body=message.body,
        body_format=apprise.NotifyFormat.TEXT,
        notify_type=apprise.NotifyType.WARNING,
        timeout=timeout_s,
        log_level=logging.WARNING,
    )
    if not result:
        said = "; ".join(dict.fromkeys(entry.message for entry in result.logs()))
        reason = _scrub(said, url) or _("the channel did not answer within {seconds} s").format(
            seconds=decimals(f"{timeout_s:g}")
        )
        raise DeliveryError(_("{url} did not take it: {reason}").format(url=mask(url), reason=reason), retryable=True)


def fitted(message: Message, longest: int) -> Message:
    """Shorten a message for a channel that takes few characters, such as text messages: the link always stays.

    Whole lines are left out, never cut: of what stands in the message as much as there is room for, in its order.
    """
    if len(message.title) + len(message.body) + 2 <= longest:
        return message
    lines = message.body.splitlines()
    link = [line for line in lines if line.startswith("Open: ")]
    room = longest - len(message.title) - sum(len(line) + 1 for line in link) - 2
    kept = []
    for line in lines:
        if line in link:
            continue
        if len(line) + 1 > room:
            break
        kept.append(line)
        room -= len(line) + 1
    return Message(message.title, "\n".join([*kept, *link]) or message.body)


def mask(url: str) -> str:
    """Show a URL so that it is recognised but opens nothing: scheme, host, and whether there is more."""
    match = _URL.match(url)
    if match is None:
        return _STARS
    scheme, rest = match["scheme"], match["rest"]
    authority, more = _split(rest)
    user, at, host = authority.rpartition("@")
    if at:
        user = user.partition(":")[0] + (f":{_STARS}" if ":" in user else "")
    if not _is_address(host):  # a topic, a token or a key, not a place
        user, host = user[:2] + "…" if at else "", host[:2] + "…" if host else ""
    return f"{scheme}://{user}{at}{host}{'/…' if more else ''}"


def _service(url: str) -> Any:
    """Return Apprise's object for a URL."""
    import apprise

    for name in ("apprise", "urllib3"):  # their complaints may hold the URL; ours say what is needed
        quiet = logging.getLogger(name)
        quiet.propagate = False
        if not quiet.handlers:
            quiet.addHandler(logging.NullHandler())
    service = apprise.Apprise.instantiate(url)
    if service is None:
        raise ConfigError(
            _(
                "no alert channel understands the URL {url}: check it against the list of Apprise ({examples}), and "
                "quote it in the shell"
            ).format(url=mask(url), examples=_EXAMPLES)
        )
    return service


def _split(rest: str) -> tuple[str, str]:
    """Split what follows ``://`` into the authority and whatever comes after it."""
    match = re.match(r"([^/?#]*)[/?#]*(.*)$", rest, re.DOTALL)
    return (match[1], match[2]) if match else (rest, "")


def _is_address(host: str) -> bool:
    """Tell a name or number of a machine from a token that stands where a host would."""
    name = host.rpartition(":")[0] if re.search(r":\d+$", host) else host
    return name == "localhost" or "." in name or name.startswith("[")


def _scrub(text: str, url: str) -> str:
    """Take the URL and each of its secret parts out of a text."""
    match = _URL.match(url)
    authority, more = _split(match["rest"]) if match else ("", url)
    user, _, host = authority.rpartition("@")
    parts = [url, *re.split(r"[/?&=#]", more), user.partition(":")[2]]
    if not _is_address(host):
        parts.append(host)
    for part in sorted({form for p in parts for form in (p, unquote(p), unquote_plus(p))}, key=len, reverse=True):
        if len(part) >= _SHORTEST_SCRUBBED:
            text = text.replace(part, _STARS)
    return " ".join(text.split())
