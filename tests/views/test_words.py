"""The words of screens and papers."""

import pytest

from holdwatch.charts.curves import FanView
from holdwatch.charts.marks import Mark
from holdwatch.clock import MS_PER_DAY, MS_PER_MINUTE
from holdwatch.quantities import Scale, celsius_of_f
from holdwatch.rules.verdicts import Verdict
from holdwatch.storage.tables import EventKind, FindingKind
from holdwatch.views.words import (
    CAUTION,
    age,
    both_scales,
    cook_sentence,
    event_words,
    forecast_words,
    length,
    level,
    temperature,
    time_left,
    version_words,
    when,
)
from tests.charts.kitchen import STAGE_1, ZONE, at

NOW = at(2026, 10, 14, 13, 40)


@pytest.mark.parametrize(
    ("celsius", "scale", "words"),
    [
        (5.0, Scale.F, "41.0\u202f°F"),
        (-20.0, Scale.F, "\u22124.0\u202f°F"),
        (-0.02, Scale.C, "0.0\u202f°C"),
        (21.11, Scale.C, "21.1\u202f°C"),
    ],
)
def test_temperature_has_a_narrow_space_and_a_real_minus(celsius: float, scale: Scale, words: str) -> None:
    """A figure and its unit never part, and no zero is negative."""
    assert temperature(celsius, scale) == words


def test_level_has_decimals_only_where_it_needs_them() -> None:
    """A limit is written as printed in its own unit, and as converted in the other."""
    assert level(celsius_of_f(70), Scale.F) == "70\u202f°F"
    assert level(celsius_of_f(70), Scale.C) == "21.1\u202f°C"
    assert both_scales(5.0, Scale.F) == "41.0\u202f°F (5.0\u202f°C)"


@pytest.mark.parametrize(
    ("minutes", "words"), [(0, "0 min"), (25, "25 min"), (60, "1 h"), (100, "1 h 40 min"), (2 * 1440, "2 days")]
)
def test_length_is_told_in_hours_and_minutes(minutes: int, words: str) -> None:
    """Lengths of time are whole minutes."""
    assert length(minutes * MS_PER_MINUTE) == words


@pytest.mark.parametrize(
    ("left_ms", "words"),
    [
        (25 * MS_PER_MINUTE + 59_999, "25 min"),
        (59_999, "less than 1 min"),
        (-1, "due now"),
        (-12 * MS_PER_MINUTE, "12 min over"),
    ],
)
def test_time_left_is_never_rounded_up(left_ms: int, words: str) -> None:
    """Nobody is told that there is more time than there is."""
    assert time_left(NOW + left_ms, NOW) == words


def test_age_and_when_are_short_for_today() -> None:
    """Today needs no day, yesterday does; what is ahead of the clock says so."""
    assert age(NOW - 3 * MS_PER_MINUTE, NOW) == "3 min ago"
    assert age(NOW + 5 * MS_PER_MINUTE, NOW) == "5 min ahead of the clock"
    assert when(NOW - MS_PER_MINUTE, ZONE, NOW) == "13:39"
    assert when(NOW - MS_PER_DAY, ZONE, NOW) == "Tue 13 Oct 13:40"


def test_cook_sentence_of_a_warning_says_what_to_do() -> None:
    """Whose, how long, what, and the remedy."""
    said = cook_sentence(
        "Pastry cream L-0412, vessel 1,",
        Mark.SOON,
        now_ms=NOW,
        due_ms=NOW + 25 * MS_PER_MINUTE,
        task="get to 70\u202f°F or less",
    )
    assert said == (
        "Pastry cream L-0412, vessel 1, has 25 min to get to 70\u202f°F or less. At this rate it will miss. "
        "Move it to an ice bath or split it into shallow pans."
    )


@pytest.mark.parametrize("mark", list(Mark))
def test_cook_sentence_never_says_safe(mark: Mark) -> None:
    """No word on a screen says that food is safe, good or fine."""
    said = cook_sentence(
        "Custard", mark, now_ms=NOW, due_ms=NOW - 1, task="get to 70 °F or less", reason="It was late."
    )
    assert not {"safe", "fine", "good", "ok"} & set(said.lower().replace(".", " ").split())
    assert "decide" in CAUTION


def test_cook_sentence_asks_before_anything_else() -> None:
    """A question that would settle a doubt comes first."""
    said = cook_sentence("Custard", Mark.RUNNING, now_ms=NOW, asks=("Is the probe still in the food?",))
    assert said == "Custard: Is the probe still in the food?"


@pytest.mark.parametrize(
    ("reaches", "expected", "words"),
    [
        (True, NOW + 25 * MS_PER_MINUTE, "at 70\u202f°F about 14:05, limit 14:32"),
        (True, NOW - 2 * MS_PER_MINUTE, "at 70\u202f°F about 13:40, limit 14:32"),  # by its last reading, not past
        (False, None, "will not get to 70\u202f°F as things stand, limit 14:32"),
        (None, None, "no forecast for 70\u202f°F yet: too few readings"),
    ],
)
def test_forecast_words_tell_when_and_by_when(reaches: bool | None, expected: int | None, words: str) -> None:
    """A forecast is a time beside the limit's, or why there is none."""
    fan = FanView(STAGE_1, celsius_of_f(70), reaches, expected, None, None, "too few readings", NOW)
    assert forecast_words(fan, at(2026, 10, 14, 14, 32), ZONE, Scale.F, NOW) == words


@pytest.mark.parametrize(
    ("kind", "verdict", "words"),
    [
        (FindingKind.DEVIATION, Verdict.MISSED, "deviation"),
        (FindingKind.NOT_SHOWN, Verdict.MET, "not shown, kept"),
        (FindingKind.SOON, Verdict.OPEN, "soon, running"),
        (FindingKind.SYSTEM, "", "fault of the system"),
    ],
)
def test_a_version_of_a_finding_is_told_in_screen_words(kind: str, verdict: str, words: str) -> None:
    """Of the verdicts a screen knows its own five words alone, and says none twice."""
    assert version_words(kind, verdict) == words


def test_every_event_has_words() -> None:
    """Whatever is recorded can be read on a page."""
    assert all(event_words(kind.value) for kind in EventKind)


def test_time_in_place_of_temperature_is_no_cooling() -> None:
    """Food on time control is to be gone by its time; an ice bath would not help it."""
    said = cook_sentence(
        "Éclairs",
        Mark.SOON,
        now_ms=NOW,
        due_ms=NOW + 20 * 60_000,
        task="be served, sold, used or discarded",
        cools=False,
    )
    assert said == "Éclairs has 20 min to be served, sold, used or discarded."
