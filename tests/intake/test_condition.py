"""How the listener says how it is doing."""

from dataclasses import replace

import pytest

from holdwatch.intake.address import BrokerAddress
from holdwatch.intake.condition import describe
from holdwatch.intake.link import LinkState

FINE = LinkState(True, True, 0, "", (), 0, True)
SINCE_MS = 1_795_500_000_000  # 2026-11-24T06:00:00Z


@pytest.mark.parametrize(
    ("link", "problem", "unfit", "state", "words"),
    [
        (FINE, "", (), "ready", "connected to b:1883"),
        (
            FINE,
            "the disk is full",
            (),
            "trouble",
            "since Mon 23 Nov 23:00 MST, nothing is lost, trying again: the disk",
        ),
        (replace(FINE, connected=False, subscribed=False), "", (), "starting", "connecting to b:1883"),
        (replace(FINE, subscribed=False), "", (), "starting", "subscribing"),
        (
            replace(FINE, connected=False, since_ms=SINCE_MS, problem="connection refused"),
            "",
            (),
            "trouble",
            "cannot reach the broker at b:1883 since Mon 23 Nov 23:00 MST (connection refused), trying again",
        ),
        (replace(FINE, refused=("holdwatch/#",)), "", (), "trouble", "refuses our subscription to holdwatch/#"),
        (replace(FINE, unmarked_ms=16_000), "", (), "trouble", "allow us to write and read holdwatch/marker/#"),
        (FINE, "", ("p7",), "trouble", "p7; give them another"),
    ],
)
def test_describe_says_the_worst_first(
    link: LinkState, problem: str, unfit: tuple[str, ...], state: str, words: str
) -> None:
    """One word and one sentence, times in the site's zone."""
    found = describe(
        BrokerAddress("b", 1883),
        link,
        problem=problem,
        problem_since_ms=SINCE_MS,
        unfit=unfit,
        zone="America/Denver",
    )
    assert found[0] == state
    assert words in found[1]
