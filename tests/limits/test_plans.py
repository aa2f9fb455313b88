"""A site's own plan: what it leaves to its base, what makes it laxer, and who answers for that."""

from pathlib import Path

import pytest

from holdwatch.errors import LimitsError
from holdwatch.limits import Limits, Standing, known_limits, load_limits
from holdwatch.limits.plans import laxer_parts

CITED = """clause = "P"
source = "Plan, P"
requires = "as the plan says"
confidence = "seen"
read_on = 2026-11-25
read_at = ["the wall"]
"""
LAXER = """
[laxer]
author = "R. Linden"
date = 2026-11-01
reason = "Cut tomato sells out within the day."
approved_by = "Denver Public Health, inspector's letter"
approved_on = 2026-11-10
"""


def _plan(tmp_path: Path, parts: str, base: str = "us-food-code-2022") -> Limits:
    path = tmp_path / "plan.toml"
    head = f'id = "plan"\ntitle = "Our plan"\nauthority = "us"\nedition = "1"\ncaution = "Our own plan."\nbase = "{base}"\n'
    path.write_text(head + parts.replace("CITED", CITED), encoding="utf-8")
    return load_limits(str(path))


@pytest.mark.parametrize("name", known_limits())
def test_code_is_not_laxer_than_itself(name: str) -> None:
    """Nothing in a code is laxer than the same code."""
    assert laxer_parts(load_limits(name), load_limits(name)) == ()


def test_plan_leaves_to_its_base_what_it_does_not_say(tmp_path: Path) -> None:
    """A stricter cold limit is the only thing that changes."""
    base = load_limits("us-food-code-2022")
    plan = _plan(tmp_path, '[cold-holding]\nlevel = "39 °F"\nCITED')
    assert plan.standing is Standing.PLAN
    assert plan.base == base.id
    assert plan.cooling == base.cooling
    assert plan.hot_holding == base.hot_holding
    assert plan.cold_holding is not None
    assert str(plan.cold_holding.level.temperature) == "39 °F"
    assert dict(plan.more) == dict(base.more)
    assert dict(plan.no_figure) == dict(base.no_figure)
    assert plan.caution == "Our own plan."


STAGE = '\n[[cooling.stages]]\ncounts = "{}"\ntarget = "{}"\nwithin = "{}"\nCITED'


def _stages(start: str, *stages: tuple[str, str, str]) -> str:
    return f'[cooling]\nstart = "{start}"' + "".join(STAGE.format(*stage) for stage in stages)


@pytest.mark.parametrize(
    ("base", "part", "laxer"),
    [
        ("us-food-code-2022", '[cold-holding]\nlevel = "41 °F"\nCITED', False),
        ("us-food-code-2022", '[cold-holding]\nlevel = "5 °C"\nCITED', False),  # the same level
        ("us-food-code-2022", '[cold-holding]\nlevel = "5.1 °C"\nCITED', True),
        ("us-food-code-2022", '[hot-holding]\nlevel = "57 °C"\nCITED', True),  # 134.6 °F
        ("us-food-code-2022", '[hot-holding]\nlevel = "58 °C"\nCITED', False),
        ("scotland", '[hot-holding]\nlevel = "63 °C"\nCITED', True),  # the base does not allow the figure itself
        ("england-wales-ni", '[cold-holding]\nlevel = "5 °C"\nCITED', False),  # it bears no spell
        (
            "us-food-code-2022",
            f'[cold-holding]\nlevel = "41 °F"\nCITED\n[cold-holding.tolerance]\nwithin = "1 h"\n{CITED}',
            True,
        ),
        ("us-food-code-2022", '[cold-holding]\nclause = "P"\nsource = "P"\nno_figure = "We ask none."\n', True),
        ("us-food-code-2022", '[shell-eggs]\nlevel = "45 °F"\nCITED', True),  # of food, where the code says air
        ("us-food-code-2022", '[shell-eggs]\nlevel = "44 °F"\nmedium = "air"\nCITED', False),
        ("us-food-code-2022", '[ambient-cooling]\ntarget = "41 °F"\nwithin = "3 h"\nCITED', False),
        ("us-food-code-2022", '[ambient-cooling]\ntarget = "41 °F"\nwithin = "241 min"\nCITED', True),
        ("us-food-code-2022", '[time-control-4h]\nstarts_cold = "41 °F"\nwithin = "4 h"\nCITED', False),
        ("us-food-code-2022", '[time-control-4h]\nstarts_cold = "41 °F"\nstarts_hot = "130 °F"\nwithin = "4 h"\nCITED', True),
        ("us-food-code-2022", '[time-control-6h]\nstarts_cold = "41 °F"\nwithin = "6 h"\nCITED', True),  # no 70 °F
        ("us-food-code-2022", '[date-marking]\ndays = 4\nlevel = "41 °F"\nmarked_after = "24 h"\nCITED', False),
        ("us-food-code-2022", '[date-marking]\ndays = 8\nlevel = "41 °F"\nmarked_after = "24 h"\nCITED', True),
        ("us-food-code-2022", '[reheating]\nlevel = "165 °F"\ndwell = "15 s"\nCITED', True),  # no time
        ("us-food-code-2022", '[reheating]\nstart = "41 °F"\nwithin = "1 h"\nlevel = "165 °F"\ndwell = "15 s"\nCITED', False),
        ("us-food-code-2022", '[reheating]\nstart = "50 °F"\nwithin = "2 h"\nlevel = "165 °F"\ndwell = "15 s"\nCITED', True),
        ("us-food-code-2022", '[cook-eggs]\nCITED\n[[cook-eggs.rows]]\nlevel = "160 °F"', False),
        ("us-food-code-2022", '[cook-eggs]\nCITED\n[[cook-eggs.rows]]\nlevel = "155 °F"\ndwell = "15 s"', True),
        ("us-food-code-2022", '[cook-eggs]\nCITED\n[[cook-eggs.rows]]\nlevel = "156 °F"\ndwell = "17 s"', False),
        ("us-food-code-2022", '[raw-egg]\nways = ["pasteurised", "cooked"]\nCITED', False),  # no advisory
        ("us-food-code-2022", '[raw-egg-susceptible]\nways = ["pasteurised", "cooked", "advisory"]\nCITED', True),
        ("us-food-code-2022", '[raw-egg-susceptible]\nways = ["pasteurised"]\nCITED', False),
        ("us-food-code-2022", '[raw-egg-susceptible]\nways = ["cooked"]\nCITED', True),  # also where eggs are combined
        (
            "australia",
            '[cumulative-time]\ncold = "5 °C"\nhot = "60 °C"\nback_within = "2 h"\nwithin = "4 h"\nCITED',
            True,  # the base does not allow 4 h 00
        ),
        (
            "australia",
            '[cumulative-time]\ncold = "5 °C"\nhot = "60 °C"\nback_within = "1 h"\nwithin = "2 h"\nCITED',
            False,
        ),
        ("us-food-code-2022", _stages("135 °F", ("total", "70 °F", "2 h"), ("total", "41 °F", "6 h")), False),
        ("us-food-code-2022", _stages("135 °F", ("total", "70 °F", "2 h"), ("further", "41 °F", "4 h")), False),
        ("us-food-code-2022", _stages("135 °F", ("total", "70 °F", "2 h"), ("further", "41 °F", "5 h")), True),
        ("us-food-code-2022", _stages("130 °F", ("total", "70 °F", "2 h"), ("total", "41 °F", "6 h")), True),
        ("us-food-code-2022", _stages("140 °F", ("total", "41 °F", "2 h")), False),  # one stage that covers both
        ("us-food-code-2022", _stages("135 °F", ("total", "41 °F", "6 h")), True),  # nothing at 70 °F
        ("australia", _stages("60 °C", ("total", "21 °C", "2 h"), ("total", "5 °C", "6 h")), True),
        ("australia", _stages("60 °C", ("total", "21 °C", "2 h"), ("further", "5 °C", "4 h")), False),
        ("australia", _stages("60 °C", ("total", "20 °C", "2 h"), ("further", "5 °C", "4 h")), True),  # starts later
        ("australia", _stages("60 °C", ("total", "21 °C", "1 h"), ("total", "5 °C", "4 h")), False),
    ],
)  # fmt: skip
def test_plan_that_is_laxer_needs_somebody_to_answer_for_it(
    tmp_path: Path, base: str, part: str, *, laxer: bool
) -> None:
    """A stricter plan needs nothing; a laxer one is refused until author, date, reason and approval stand in it."""
    if not laxer:
        assert _plan(tmp_path, part, base).laxer is None
        with pytest.raises(LimitsError, match="nothing in this plan is laxer than"):
            _plan(tmp_path, part + LAXER, base)
        return
    with pytest.raises(LimitsError, match=r"is laxer than .*: add \[laxer\] with author, date, reason"):
        _plan(tmp_path, part, base)
    plan = _plan(tmp_path, part + LAXER, base)
    assert f"This plan is LAXER than {load_limits(base).title} in" in plan.cautions
    assert (
        "by R. Linden on 1 Nov 2026, because Cut tomato sells out within the day; approved by Denver" in plan.cautions
    )


@pytest.mark.parametrize("key", ["author", "date", "reason", "approved_by", "approved_on"])
def test_plan_that_is_laxer_needs_every_word(tmp_path: Path, key: str) -> None:
    """Leaving out one of them is refused with its name."""
    kept = "\n".join(line for line in LAXER.splitlines() if not line.startswith(key))
    with pytest.raises(LimitsError, match=rf"laxer\.{key}: is missing"):
        _plan(tmp_path, '[cold-holding]\nlevel = "45 °F"\nCITED' + kept)


def test_plan_with_an_unknown_base_is_refused(tmp_path: Path) -> None:
    """The base is one of the codes that come with the package."""
    with pytest.raises(LimitsError, match="base: 'atlantis' is none of australia"):
        _plan(tmp_path, "", "atlantis")


def test_plan_that_is_laxer_than_nothing_is_refused(tmp_path: Path) -> None:
    """To be laxer a plan names what it is laxer than."""
    path = tmp_path / "plan.toml"
    path.write_text('id = "p"\ntitle = "P"\nauthority = "us"\nedition = "1"\ncaution = "c"\n' + LAXER, encoding="utf-8")
    with pytest.raises(LimitsError, match="base: is missing"):
        load_limits(str(path))
