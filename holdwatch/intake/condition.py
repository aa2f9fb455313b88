"""How the listener is doing, in one word and one sentence for a person."""

from holdwatch.clock import clock_words
from holdwatch.intake.address import BrokerAddress
from holdwatch.intake.link import LinkState
from holdwatch.language import _

__all__ = ["describe", "is_unmarked"]

_MARKER_LATE_MS = 15_000


def is_unmarked(link: LinkState) -> bool:
    """Return whether the broker keeps our own markers from us."""
    return link.connected and link.unmarked_ms > _MARKER_LATE_MS


def describe(
    address: BrokerAddress,
    link: LinkState,
    *,
    problem: str,
    problem_since_ms: int,
    unfit: tuple[str, ...],
    zone: str,
) -> tuple[str, str]:
    """Return the state (``starting``, ``ready``, ``trouble``) and its sentence, the worst thing first."""
    if problem:
        since = clock_words(problem_since_ms, zone)
        return "trouble", _("readings have waited since {time}, nothing is lost, trying again: {problem}").format(
            time=since, problem=problem
        )
    said = _describe_link(address, link, zone)
    if said is not None:
        return said
    if unfit:
        return "trouble", _("probes on a topic that can bring no reading: {codes}; give them another").format(
            codes=", ".join(unfit)
        )
    return "ready", _("connected to {address}").format(address=address)


def _describe_link(address: BrokerAddress, link: LinkState, zone: str) -> tuple[str, str] | None:
    """Return what is to be said of the connection; None if all is well."""
    if not link.connected:
        if not link.problem:
            return "starting", _("connecting to {address}").format(address=address)
        since = clock_words(link.since_ms, zone)
        return "trouble", _("cannot reach the broker at {address} since {time} ({problem}), trying again").format(
            address=address, time=since, problem=_(link.problem)
        )
    if link.refused:
        return "trouble", _("the broker at {address} refuses our subscription to {topics}: allow it").format(
            address=address, topics=", ".join(link.refused)
        )
    if not link.subscribed:
        return "starting", _("subscribing at {address}").format(address=address)
    if is_unmarked(link):
        return "trouble", _(
            "the broker at {address} keeps our markers from us, so readings without an instant are not judged: "
            "allow us to write and read holdwatch/marker/#, or see what slows the broker"
        ).format(address=address)
    return None
