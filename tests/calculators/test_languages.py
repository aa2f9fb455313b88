"""Every calculator answers in each language: other words, the same figures, the same data for programs."""

import re
from collections.abc import Callable, Iterator
from zoneinfo import ZoneInfo

import pytest

from holdwatch.calculators.ahead import ahead_answer
from holdwatch.calculators.answer import Answer
from holdwatch.calculators.boil import boiling_answer
from holdwatch.calculators.cakes import known_cakes, read_cake
from holdwatch.calculators.containers import CONTAINERS
from holdwatch.calculators.cook import cook_answer
from holdwatch.calculators.cool_faster import Cooling, cool_faster_answer
from holdwatch.calculators.cooling import asked_by
from holdwatch.calculators.course import read_lines as read_course
from holdwatch.calculators.course import read_points
from holdwatch.calculators.foods import FOODS
from holdwatch.calculators.lag import lag_answer
from holdwatch.calculators.place import place
from holdwatch.calculators.recipe_lines import read_lines
from holdwatch.calculators.schedule import schedule_answer
from holdwatch.calculators.scheduling import schedule
from holdwatch.calculators.syrup import syrup_answer
from holdwatch.calculators.tcs import Measured, read_number, tables_answer
from holdwatch.calculators.water import water_answer
from holdwatch.language import speaking
from holdwatch.limits import load_limits
from holdwatch.quantities import Scale
from holdwatch.science.lethality import MEDIA

LIMITS = load_limits("us-food-code-2022")
DENVER = place(altitude_m=1609)
SERVED_MS = 1_795_914_000_000  # 2026-11-28 18:00 in Denver
HOUR_MS = 3_600_000
COOLS = ["150F at 0", "128F at 20", "111F at 40", "98F at 60"]
AIR = ["38F at 0", "38F at 60", "52F at 75", "38F at 120"]


def _cooling(food: str, depth_m: float) -> Answer:
    cooling = Cooling(FOODS[food], depth_m, CONTAINERS["full-pan"], 57.0)
    return cool_faster_answer(cooling, asked_by(LIMITS), Scale.F, LIMITS.title)


def _schedule(cake: str, hours: int, layers_out_ms: int | None = None) -> Answer:
    read = read_cake(cake)
    serve_ms = None if layers_out_ms is not None else SERVED_MS
    plan = schedule(
        read, LIMITS, serve_ms=serve_ms, layers_out_ms=layers_out_ms, earliest_ms=SERVED_MS - hours * HOUR_MS
    )
    return schedule_answer(read, plan, LIMITS, ZoneInfo("America/Denver"))


ANSWERS: dict[str, Callable[[], Answer]] = {
    "boiling": lambda: boiling_answer(DENVER, shows_c=96.0, in_ice_c=0.4),
    "reported": lambda: boiling_answer(place(altitude_m=1609, reported_pa=101_300), scale=Scale.C),
    "sugar": lambda: syrup_answer(DENVER),
    "sugar at": lambda: syrup_answer(DENVER, at_c=118.0),
    "tables": lambda: tables_answer(Measured(read_number("4.4"), read_number("0.1")), Measured(read_number("0.91"))),
    "recipe": lambda: water_answer(read_lines(["powdered sugar = 454 g", "butter = 227 g", "whole milk = 30 g"])),
    "cook": lambda: cook_answer(read_course(["68F at 0", "140F at 4", "160F at 9"]), MEDIA["yolk"], LIMITS),
    "lag": lambda: lag_answer(read_course(AIR), lag_min=45),
    "no lag": lambda: lag_answer(read_course(AIR), food=read_course(["40F at 0", "41F at 100"])),
    "ahead": lambda: ahead_answer(read_points(COOLS), target_c=21.0, surroundings_c=3.0, scale=Scale.F),
    "never": lambda: ahead_answer(read_points(COOLS), target_c=21.0, surroundings_c=30.0, scale=Scale.F),
    "cools": lambda: _cooling("milk", 0.05),
    "cools slowly": lambda: _cooling("cheesecake", 0.07),
    **{f"{cake} planned": lambda cake=cake: _schedule(cake, 40) for cake in known_cakes()},
    **{f"{cake} too late": lambda cake=cake: _schedule(cake, 2) for cake in known_cakes()},
    "layers out": lambda: _schedule("buttercream-cake", 40, SERVED_MS - 8 * HOUR_MS),
}


def _told(answer: Answer) -> Iterator[str]:
    yield from (
        answer.says,
        answer.caution,
        *answer.notes,
        *answer.heads,
        *(cell for row in answer.rows for cell in row),
    )
    yield from (answer.basis.formula, answer.basis.covers, answer.basis.error)


def _figures(text: str) -> list[str]:
    return sorted(re.findall(r"\d+", re.sub(r"(?<=\d)[.,\u202f](?=\d)", "", text)))


@pytest.mark.parametrize("language", ["es", "fr"])
@pytest.mark.parametrize("name", ANSWERS)
def test_an_answer_has_other_words_and_the_same_figures(name: str, language: str) -> None:
    """No sentence of it is the English one; a row of a code is its own text, and stays."""
    english = ANSWERS[name]()
    with speaking(language):
        there = ANSWERS[name]()
    for said, told in zip(_told(english), _told(there), strict=True):
        assert _figures(told) == _figures(said), (said, told)
        if len(re.findall(r"[A-Za-z]{2,}", said)) > 2 and not re.match(r"\d+ °F (for|instantly)", said):
            assert told != said
    assert there.for_programs().keys() == english.for_programs().keys()
