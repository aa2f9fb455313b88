"""Instants and lengths of time on paper."""

from datetime import UTC, datetime

import pytest

from holdwatch.clock import to_ms
from holdwatch.records.span import parse_span
from holdwatch.records.times import Times, length
from holdwatch.rules.verdicts import Bracket

DAY = parse_span("2026-11-24", "2026-11-24", "America/Denver", 0)
AT = to_ms(datetime(2026, 11, 24, 21, 32, tzinfo=UTC))  # 14:32 in Denver


@pytest.mark.parametrize(
    ("bracket", "words"),
    [
        (None, "–"),
        ((None, None), "–"),
        ((AT, AT), "24 Nov 14:32"),
        ((AT, AT + 120_000), "24 Nov 14:32–14:34"),
        ((AT, AT + 86_400_000), "24 Nov 14:32 – 25 Nov 14:32"),
        ((None, AT), "by 24 Nov 14:32"),
        ((AT, None), "after 24 Nov 14:32"),
    ],
)
def test_bracket_prints_both_ends_and_the_day_once(bracket: Bracket | None, words: str) -> None:
    """What nobody saw is printed as the two instants it lies between."""
    assert Times("America/Denver", DAY).bracket(bracket) == words


def test_bracket_over_a_clock_change_tells_both_zones() -> None:
    """Two instants in different zones each carry their own."""
    times = Times("America/Denver", parse_span("2026-11-01", "2026-11-01", "America/Denver", 0))
    early, late = (to_ms(datetime(2026, 11, 1, hour, 30, tzinfo=UTC)) for hour in (7, 8))
    assert times.bracket((early, late)) == "1 Nov 01:30 MDT–01:30 MST"
    assert times.bracket((late, late + 60_000)) == "1 Nov 01:30–01:31 MST"


def test_whole_prints_day_year_zone_and_offset() -> None:
    """Where it must stand alone, an instant leaves nothing to guess."""
    assert Times("America/Denver", DAY).whole(AT) == "Tue 24 Nov 2026 14:32 MST (UTC−07:00)"


def test_times_in_a_span_with_a_clock_change_carry_their_zone() -> None:
    """The hour that comes twice cannot be misread."""
    times = Times("America/Denver", parse_span("2026-11-01", "2026-11-01", "America/Denver", 0))
    twice = [times.at(to_ms(datetime(2026, 11, 1, hour, 30, tzinfo=UTC))) for hour in (7, 8)]
    assert twice == ["1 Nov 01:30 MDT", "1 Nov 01:30 MST"]
    assert "the clocks go back on Sun 1 Nov 2026, from 02:00 MDT to 01:00 MST" in times.zone_note()


def test_zone_note_of_a_year_tells_both_changes() -> None:
    """Forward in March, back in November."""
    note = Times("America/Denver", parse_span("2026-01-01", "2026-12-31", "America/Denver", 0)).zone_note()
    assert "forward on Sun 8 Mar 2026, from 02:00 MST to 03:00 MDT" in note
    assert "back on Sun 1 Nov 2026" in note


def test_zone_note_without_a_change_says_throughout() -> None:
    """A plain span needs no zone on every time."""
    assert Times("America/Denver", DAY).zone_note() == "America/Denver, MST throughout"


@pytest.mark.parametrize(
    ("ms", "words"),
    [
        (0, "0 s"),
        (59_999, "59 s"),
        (60_000, "1 min"),
        (7_800_000, "2 h 10 min"),
        (7_200_000, "2 h"),
        (90_000_000, "1 d 1 h"),
        (172_800_000, "2 d"),
    ],
)
def test_length_is_never_rounded_up(ms: int, words: str) -> None:
    """A length of time is printed as people say it."""
    assert length(ms) == words
