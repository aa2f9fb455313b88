"""How the listener is doing, in one word and one sentence for a person."""

from datetime import tzinfo

from holdwatch.clock import to_datetime
from holdwatch.intake.address import BrokerAddress
from holdwatch.intake.link import LinkState

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
    zone: tzinfo,
) -> tuple[str, str]:
    """Return the state (``starting``, ``ready``, ``trouble``) and its sentence, the worst thing first."""
    if problem:
        since = _local(problem_since_ms, zone)
        return "trouble", f"readings have waited since {since}, nothing is lost, trying again: {problem}"
    said = _describe_link(address, link, zone)
    if said is not None:
        return said
    if unfit:
        return "trouble", f"probes on a topic that can bring no reading: {', '.join(unfit)}; give them another"
    return "ready", f"connected to {address}"


def _describe_link(address: BrokerAddress, link: LinkState, zone: tzinfo) -> tuple[str, str] | None:
    """Return what is to be said of the connection; None if all is well."""
    if not link.connected:
        if not link.problem:
            return "starting", f"connecting to {address}"
        since = _local(link.since_ms, zone)
        return "trouble", f"cannot reach the broker at {address} since {since} ({link.problem}), trying again"
    if link.refused:
        return "trouble", f"the broker at {address} refuses our subscription to {', '.join(link.refused)}: allow it"
    if not link.subscribed:
        return "starting", f"subscribing at {address}"
    if is_unmarked(link):
        return "trouble", (
            f"the broker at {address} keeps our markers from us, so readings without an instant are not judged: "
            "allow us to write and read holdwatch/marker/#, or see what slows the broker"
        )
    return None


def _local(at_ms: int, zone: tzinfo) -> str:
    """Write an instant in the site's local time."""
    return to_datetime(at_ms).astimezone(zone).strftime("%Y-%m-%d %H:%M")
