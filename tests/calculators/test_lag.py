"""Food from air on the command line: the lag given, learned, or kept on a unit."""

from pathlib import Path

import numpy as np
import pytest

from devices.simulator.rooms import Room, lagged
from devices.simulator.rooms import air as room_air
from holdwatch import clock
from holdwatch.calculators.course import read_course
from holdwatch.calculators.lag import MEAN_KINETIC, lag_answer
from holdwatch.storage import register
from holdwatch.storage.engine import open_store, store_url
from holdwatch.storage.readings import NewReading, write_readings
from tests.support.commands import init, printed, refused, succeed

ROOM = Room("Walk-in 1", 2.0, 0.8, 14, (3, 9, 15, 21), 25, 6.0, 6, (12, 28), 3.0, 4)
MINUTE = 60_000


def _file(path: Path, at: np.ndarray, celsius: np.ndarray) -> Path:
    rows = [f"{clock.to_iso(int(a))},{c:.3f}" for a, c in zip(at, celsius, strict=True)]
    path.write_text("\n".join(["time,temperature_c", *rows]), encoding="utf-8")
    return path


@pytest.fixture
def pair(tmp_path: Path) -> tuple[Path, Path]:
    """A day of a walk-in's air, and of food in it that follows with 80 min."""
    at = 1_795_000_000_000 + np.arange(0, 24 * 60, 2, dtype=np.int64) * MINUTE
    return (
        _file(tmp_path / "air.csv", at, room_air(ROOM, at, 1)),
        _file(tmp_path / "food.csv", at, lagged(ROOM, at, 1, 80 * 60)),
    )


def test_lag_given_is_used(pair: tuple[Path, Path]) -> None:
    """The food is estimated with it, and the comparison figure says what it is not."""
    facts = printed("lag", pair[0], "--lag", "60min")
    assert facts["lag_min"] == 60
    assert facts["air_lowest_c"] < facts["food_lowest_c"] < facts["food_highest_c"] < facts["air_highest_c"]
    assert facts["mean_kinetic_says"] == "no food-safety criterion"
    assert "neither keeps nor breaks a limit" in facts["caution"]


def test_lag_is_learned_from_a_record_of_food(pair: tuple[Path, Path]) -> None:
    """The simulated food follows with 80 min, and that is found."""
    facts = printed("lag", pair[0], "--food", pair[1])
    assert facts["lag_min"] == pytest.approx(80, rel=0.05)
    assert facts["learned"]["low_min"] < 80 < facts["learned"]["high_min"]
    assert "nine times of ten" in facts["notes"][0]


def test_lag_that_cannot_be_learned_is_the_usual(pair: tuple[Path, Path], tmp_path: Path) -> None:
    """The reason is told, and the usual lag stands in."""
    few = tmp_path / "few.csv"
    few.write_text("\n".join(pair[1].read_text(encoding="utf-8").splitlines()[:5]), encoding="utf-8")
    facts = printed("lag", pair[0], "--food", few)
    assert (facts["lag_min"], facts["learned"]["lag_min"]) == (45, None)
    assert "too little yet" in facts["notes"][0]
    assert "Nobody gave a lag" in printed("lag", pair[0])["notes"][0]


def test_jump_of_the_air_lifts_the_food_as_computed() -> None:
    """Our own figure: a quarter of an hour at 10 °C, begun within five seconds, lifts food of 4 °C by 1.33 °C."""
    answer = lag_answer(read_course("4C at 0, 4C at 10, 10C at 10.0001, 10C at 25"), lag_min=60)
    assert answer.data["food_last_c"] == pytest.approx(5.3272, abs=0.005)
    assert answer.rows[-1][0] == MEAN_KINETIC


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--lag", "soon"), "is not a length of time"),
        (("--lag", "0min"), "the lag is 0 min"),
        (("--lag", "1h", "--food", "x.csv"), "give one of them"),
        (("--food", "no-such.csv"), "cannot be read"),
    ],
)
def test_lag_says_in_one_line_what_cannot_be(pair: tuple[Path, Path], words: tuple[str, ...], told: str) -> None:
    """A mistake is one line."""
    assert told in refused("lag", pair[0], *words)


# ---------------------------------------------------------------- kept on a unit


def _kitchen(data: Path) -> Path:
    """Make a walk-in with a probe in its air and one in food, and let them tell of the day that ends now."""
    init(data)
    succeed("unit", "add", "Walk-in 1", "--kind", "walk-in", "--data", data)
    now_ms = clock.now_ms()
    at = now_ms - np.arange(24 * 60 - 1, 0, -2, dtype=np.int64) * MINUTE
    store = open_store(store_url(data, None))
    with store.write() as session:
        unit = register.unit_named(session, "Walk-in 1")
        for code, medium, celsius in (
            ("a1", "air", room_air(ROOM, at, 1)),
            ("f1", "food", lagged(ROOM, at, 1, 80 * 60)),
        ):
            probe = register.add_probe(session, code, medium=medium, now_ms=now_ms, by="test")
            register.place(session, probe, unit=unit, at_ms=int(at[0]), now_ms=now_ms, by="test")
            new = [NewReading(probe.id or 0, a, c, now_ms) for a, c in zip(at.tolist(), celsius.tolist(), strict=True)]
            write_readings(session, new, now_ms)
    store.close()
    return data


def test_unit_keeps_the_lag_that_was_learned_or_set(tmp_path: Path) -> None:
    """Learned, set, and the usual again: each says what holds from now on."""
    data = _kitchen(tmp_path / "data")
    assert "45 min: the usual of a small covered pan" in succeed("unit", "lag", "Walk-in 1", "--data", data)
    learned = succeed("unit", "lag", "Walk-in 1", "--learn", "--data", data)
    assert "learned from 24 h of air and food together (a1, f1)" in learned
    assert "90 min: set by hand" in succeed("unit", "lag", "Walk-in 1", "--set", "90min", "--data", data)
    assert "90 min: set by hand" in succeed("unit", "lag", "Walk-in 1", "--data", data)
    assert "45 min: the usual" in succeed("unit", "lag", "Walk-in 1", "--usual", "--data", data)


def test_unit_lag_says_what_cannot_be(tmp_path: Path) -> None:
    """Two ways at once, a lag that is none, a unit without a pair of probes."""
    data = init(tmp_path / "data")
    succeed("unit", "add", "Walk-in 1", "--kind", "walk-in", "--data", data)
    assert "take one of them" in refused("unit", "lag", "Walk-in 1", "--learn", "--usual", "--data", data)
    assert "is not a length of time" in refused("unit", "lag", "Walk-in 1", "--set", "long", "--data", data)
    assert "had no air probe" in refused("unit", "lag", "Walk-in 1", "--learn", "--data", data)
    assert "Walk-in 1" in refused("unit", "lag", "Walk-in", "--data", data)
