"""Live means: no older than a marker sent a few seconds ago."""

from dataclasses import dataclass

from holdwatch.intake.liveness import LIVE_WITHIN_MS, Liveness


@dataclass
class Hands:
    """Two clocks set by hand."""

    steady: int = 0
    wall: int = 1_795_500_000_000

    def go(self, ms: int) -> None:
        """Let time pass on both."""
        self.steady += ms
        self.wall += ms

    def liveness(self) -> Liveness:
        """Return markers that go by these clocks."""
        return Liveness(lambda: self.steady, lambda: self.wall)


def test_liveness_nothing_is_live_before_the_marker_is_back() -> None:
    """What comes before the first marker was queued."""
    hands = Hands()
    markers = hands.liveness()
    token = markers.new_marker()
    assert not markers.is_live()
    markers.came_back(token)
    assert markers.is_live()


def test_liveness_marker_of_an_earlier_connection_says_nothing() -> None:
    """A marker that was itself queued, or is another's, proves nothing."""
    markers = Hands().liveness()
    old = markers.new_marker()
    markers.reset()
    markers.new_marker()
    markers.came_back(old)
    markers.came_back("someone else's")
    assert not markers.is_live()


def test_liveness_ends_when_markers_stay_away() -> None:
    """Whatever holds readings back holds markers back too."""
    hands = Hands()
    markers = hands.liveness()
    markers.came_back(markers.new_marker())
    hands.go(LIVE_WITHIN_MS)
    assert markers.is_live()
    hands.go(1)
    assert not markers.is_live()
    markers.came_back(markers.new_marker())
    assert markers.is_live()


def test_liveness_marker_that_took_long_says_how_old_readings_may_be() -> None:
    """It is the sending of the marker that counts: a slow round trip is no proof of anything recent."""
    hands = Hands()
    markers = hands.liveness()
    token = markers.new_marker()
    hands.go(LIVE_WITHIN_MS + 1)
    markers.came_back(token)
    assert not markers.is_live()


def test_liveness_sees_a_machine_that_slept() -> None:
    """The steady clock may stand still in sleep; the wall clock then tells."""
    hands = Hands()
    markers = hands.liveness()
    markers.came_back(markers.new_marker())
    hands.wall += 3_600_000
    assert not markers.is_live()


def test_liveness_older_marker_does_not_take_back_a_newer_one() -> None:
    """Redelivered out of turn, an older marker changes nothing."""
    hands = Hands()
    markers = hands.liveness()
    first = markers.new_marker()
    hands.go(LIVE_WITHIN_MS)
    markers.came_back(markers.new_marker())
    hands.go(1)
    markers.came_back(first)
    assert markers.is_live()


def test_liveness_tells_how_long_markers_stay_away() -> None:
    """For the status: a broker that keeps our markers from us is noticed."""
    hands = Hands()
    markers = hands.liveness()
    assert markers.silent_for_ms() == 0
    markers.new_marker()
    hands.go(16_000)
    markers.new_marker()
    assert markers.silent_for_ms() == 16_000
