"""Ambient ingredients, 41 °F within 4 h of their preparation: exact ends, and what the reasons tell."""

from pathlib import Path

import pytest

from holdwatch.limits import load_limits
from holdwatch.readings import Record, Series
from holdwatch.rules.judge import judge
from holdwatch.rules.verdicts import ClauseVerdict, Process, Verdict
from tests.rules.series_words import LIMITS, MINUTE, T0, declared, joined, line, points

MET, MISSED, UNPROVEN, OPEN, NONE = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN, Verdict.NONE
Notes = tuple[tuple[str, float], ...]


def asked(
    probe: Series, notes: Notes = (("prepared", 0),), *, until: float | None = None, code: str = ""
) -> ClauseVerdict:
    """Return the answer of Food Code 3-501.14(B)."""
    last = int(probe.at_ms[-1]) if until is None else T0 + round(until * MINUTE)
    limits = load_limits(code) if code else LIMITS
    record = Record(probe, declared=declared(*notes))
    return judge(Process.AMBIENT_COOLING, record, limits, until_ms=last).clauses[0]


@pytest.mark.parametrize(
    ("warm_at", "cold_at", "verdict"),
    [
        (239, 240, MET),  # within four hours, the end included
        (239, 240.001, UNPROVEN),  # reached, but perhaps a millisecond late
        (240, 241, MISSED),  # still warm when four hours are over
        (239.999, 241, UNPROVEN),
    ],
)
def test_ambient_cooling_four_hours_to_the_millisecond(warm_at: float, cold_at: float, verdict: Verdict) -> None:
    """The last reading above 41 °F and the first at it decide."""
    clause = asked(joined(line((0, 70), (230, 42)), points((warm_at, 41.2), (cold_at, 41), (cold_at + 1, 41))))
    assert clause.verdict is verdict
    if verdict is MISSED:
        assert "Not at 41 °F in time: still 41.2 °F at 2026-02-25 10:20:00 UTC" in clause.reason
    elif verdict is UNPROVEN:
        assert "Reached, but not shown in time: 41.0 °F at" in clause.reason
    else:
        assert "Reached: 41.0 °F at 2026-02-25 10:20:00 UTC, 4 h at most after the start" in clause.reason
        assert "it was prepared at 2026-02-25 06:20:00 UTC" in clause.reason


@pytest.mark.parametrize(("cold_at", "verdict"), [(239.999, MET), (240, UNPROVEN)])
def test_ambient_cooling_in_less_than_four_hours(cold_at: float, verdict: Verdict, tmp_path: Path) -> None:
    """An invented code that writes "less than 4 h" does not allow exactly 4 h."""
    packaged = Path(__file__).parents[2] / "holdwatch" / "limits" / "codes" / "us-food-code-2022.toml"
    path = tmp_path / "strict.toml"
    text = packaged.read_text(encoding="utf-8")
    path.write_text(text.replace("within_inclusive = true", "within_inclusive = false"), encoding="utf-8")
    record = joined(line((0, 70), (230, 42)), points((239, 41.2), (cold_at, 41), (cold_at + 1, 41)))
    assert asked(record, code=str(path)).verdict is verdict


@pytest.mark.parametrize(("ended", "verdict"), [(239.999, NONE), (240, OPEN)])
def test_ambient_cooling_served_when_it_is_due_is_asked(ended: float, verdict: Verdict) -> None:
    """Served before the four hours were over it is asked nothing; when they were over it is."""
    record = line((0, 70), (230, 50))
    assert asked(record, (("prepared", 0), ("ended", ended)), until=ended).verdict is verdict


def test_ambient_cooling_without_its_preparation_is_never_none_nor_kept() -> None:
    """When four hours were over is then not known on the early side."""
    record = line((0, 70), (100, 50))
    assert asked(record, (("ended", 110),), until=110).verdict is OPEN
    clause = asked(line((0, 70), (100, 41)), ())
    assert clause.verdict is UNPROVEN
    assert clause.started == (None, T0)
    assert clause.due == (None, T0 + 240 * MINUTE)
    assert "nobody declared when it was prepared" in clause.reason


def test_ambient_cooling_tells_the_last_reading_and_the_end() -> None:
    """Running while there is time; afterwards not shown."""
    record = line((0, 70), (100, 50))
    running = asked(record)
    assert running.verdict is OPEN
    assert "the last reading is 50.0 °F at 2026-02-25 08:00:00 UTC, due by 2026-02-25 10:20:00 UTC" in running.reason
    unseen = asked(record, until=300)
    assert unseen.verdict is UNPROVEN
    assert "by 2026-02-25 10:20:00 UTC: the last reading is 50.0 °F at 2026-02-25 08:00:00 UTC" in unseen.reason
    nothing = asked(Series.empty(), until=100)
    assert nothing.verdict is OPEN
    assert "there is no reading, due by 2026-02-25 10:20:00 UTC" in nothing.reason


def test_ambient_cooling_with_nothing_at_all_is_not_shown() -> None:
    """No reading and no declared preparation: nothing runs."""
    clause = asked(Series.empty(), (), until=0)
    assert clause.verdict is UNPROVEN
    assert clause.started == clause.due == (None, None)
