"""Date marks, the tables of pH and water activity, and receiving."""

import csv
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdwatch.errors import OutOfRangeError
from holdwatch.limits import DateMarkLimits, load_limits
from holdwatch.quantities import celsius_of_f
from holdwatch.readings import Medium
from holdwatch.rules.date_marks import Frozen, date_mark, judge_date_mark, must_be_marked
from holdwatch.rules.receiving import judge_receiving
from holdwatch.rules.tcs import TABLE_A, TABLE_B, Control, Heated, control_needed
from holdwatch.rules.verdicts import Verdict
from tests.rules.series_words import HOUR, LIMITS, T0

PUBLISHED = Path(__file__).parents[1] / "published"
MET, MISSED, OPEN, NONE = Verdict.MET, Verdict.MISSED, Verdict.OPEN, Verdict.NONE
_LIMIT = LIMITS.part("date-marking", DateMarkLimits)
assert _LIMIT is not None
MARK = _LIMIT


def _rows(name: str) -> list[dict[str, str]]:
    lines = (PUBLISHED / name).read_text(encoding="utf-8").splitlines()
    assert sum(line.startswith("#") for line in lines) >= 5
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


# ---------------------------------------------------------------- date marks


@pytest.mark.parametrize("code", ["us-food-code-2022", "us-food-code-2013"])
@pytest.mark.parametrize("row", _rows("date_marks.csv"), ids=lambda row: row["source"])
def test_date_mark_matches_published_example(row: dict[str, str], code: str) -> None:
    """The last day is the one that the authority's own example gives."""
    prepared = [date.fromisoformat(day) for day in row["prepared"].split()]
    frozen = [Frozen(date.fromisoformat(row["frozen"]), date.fromisoformat(row["thawed"]))] if row["frozen"] else []
    limit = load_limits(code).part("date-marking", DateMarkLimits)
    assert limit is not None
    mark = date_mark(limit, prepared, frozen=frozen)
    last = date.fromisoformat(row["last_day"])
    assert mark.last_day == last
    assert judge_date_mark(mark, last)[0] is MET
    assert judge_date_mark(mark, last + timedelta(days=1))[0] is MISSED


def test_date_mark_is_told_in_days_as_people_write_them() -> None:
    """Made on 30 March, to be used by 5 April: the last day is still within, and each sentence names its days."""
    mark = date_mark(MARK, [date(2026, 3, 30)])
    assert judge_date_mark(mark, date(2026, 4, 5)) == (MET, "Within its mark: to be used by the end of 5 Apr 2026.")
    assert judge_date_mark(mark, date(2026, 4, 6)) == (
        MISSED,
        "Still there on 6 Apr 2026; the last day was 5 Apr 2026.",
    )


@pytest.mark.parametrize(("held_ms", "marked"), [(24 * HOUR - 1, False), (24 * HOUR, False), (24 * HOUR + 1, True)])
def test_food_is_marked_when_held_more_than_a_day(held_ms: int, *, marked: bool) -> None:
    """Food Code 3-501.17(A), "more than 24 hours": held just as long it needs no mark."""
    assert must_be_marked(MARK, held_ms) is marked


def test_date_mark_never_passes_the_makers_date() -> None:
    """Food Code 3-501.17(B): the day of opening is day 1, and the mark does not pass the maker's use-by."""
    opened = date(2026, 3, 1)
    assert date_mark(MARK, [opened], use_by=date(2026, 3, 20)).last_day == date(2026, 3, 7)
    assert date_mark(MARK, [opened], use_by=date(2026, 3, 7)).last_day == date(2026, 3, 7)
    assert date_mark(MARK, [opened], use_by=date(2026, 3, 5)).last_day == date(2026, 3, 5)


def test_date_mark_stands_still_in_the_freezer() -> None:
    """While it is frozen no day is used; nothing is missed, however long."""
    mark = date_mark(MARK, [date(2026, 3, 1)], frozen=[Frozen(date(2026, 3, 3))])
    assert (mark.last_day, mark.days_left) == (None, 5)
    assert judge_date_mark(mark, date(2027, 3, 1)) == (OPEN, "Frozen: 5 days left from the day of thawing on.")


@pytest.mark.parametrize(("used", "told"), [(6, "1 day left"), (5, "2 days left")])
def test_date_mark_counts_the_days_that_are_left(used: int, told: str) -> None:
    """Of seven days, the day of preparation being the first."""
    mark = date_mark(MARK, [date(2026, 3, 1)], frozen=[Frozen(date(2026, 3, 1 + used))])
    assert judge_date_mark(mark, date(2026, 6, 1)) == (OPEN, f"Frozen: {told} from the day of thawing on.")


def test_date_mark_of_what_was_used_up_before_it_was_frozen() -> None:
    """Frozen on the day after the last one: the mark does not move, and is passed."""
    mark = date_mark(MARK, [date(2026, 3, 1)], frozen=[Frozen(date(2026, 3, 8))])
    assert mark.last_day == date(2026, 3, 7)
    assert mark.days_left == 0
    assert judge_date_mark(mark, date(2026, 3, 8))[0] is MISSED


def test_date_mark_of_one_day_is_the_day_itself() -> None:
    """A plan that allows one day: the day of preparation is day 1."""
    assert date_mark(replace(MARK, days=1), [date(2026, 3, 1)]).last_day == date(2026, 3, 1)


def test_date_mark_second_stay_still_in_the_freezer_stands_still() -> None:
    """Thawed once, frozen again: the days used in between stay used."""
    stays = [Frozen(date(2026, 3, 9)), Frozen(date(2026, 3, 2), date(2026, 3, 7))]
    mark = date_mark(MARK, [date(2026, 3, 1)], frozen=stays)
    assert (mark.first_day, mark.last_day, mark.days_left) == (date(2026, 3, 1), None, 4)


@given(st.integers(0, 5), st.integers(0, 60), st.integers(0, 4), st.integers(0, 60))
def test_date_mark_freezing_moves_the_last_day_by_the_days_it_lasted(
    first: int, one: int, second: int, two: int
) -> None:
    """Two stays in the freezer move the last day by their lengths and no more: freezing does not start again."""
    made = date(2026, 1, 1)
    in_1 = made + timedelta(days=1 + min(first, 5))
    out_1 = in_1 + timedelta(days=one)
    in_2 = out_1 + timedelta(days=second)
    stays = [Frozen(in_2, in_2 + timedelta(days=two)), Frozen(in_1, out_1)]
    used_before_2 = (in_1 - made).days + second
    moved = one + (two if used_before_2 < 7 else 0)
    assert date_mark(MARK, [made], frozen=stays).last_day == made + timedelta(days=6 + moved)


def test_date_mark_refuses_what_cannot_be() -> None:
    """No day of preparation, thawed before frozen, frozen twice at once: a programmer's mistake."""
    with pytest.raises(ValueError, match="needs the day of preparation"):
        date_mark(MARK, [])
    with pytest.raises(ValueError, match="before it was frozen"):
        Frozen(date(2026, 3, 3), date(2026, 3, 2))
    with pytest.raises(ValueError, match="frozen again while"):
        date_mark(MARK, [date(2026, 3, 1)], frozen=[Frozen(date(2026, 3, 2)), Frozen(date(2026, 3, 3))])


# ---------------------------------------------------------------- pH and water activity


@pytest.mark.parametrize(
    "row", _rows("tcs_tables.csv"), ids=lambda row: f"{row['table']} {row['water_activity']} {row['ph']}"
)
def test_control_needed_matches_food_code_1_201_10_tables(row: dict[str, str]) -> None:
    """Each end of each table falls where the tables put it, as a decimal and as a float."""
    ways = [Heated.AND_PACKAGED] if row["table"] == "A" else [Heated.NOT_PACKAGED, Heated.NOT_HEATED]
    expected = Control.NOT_TCS if row["answer"] == "non-TCS" else Control.ASSESS
    for heated in ways:
        assert control_needed(Decimal(row["ph"]), Decimal(row["water_activity"]), heated) is expected
        assert control_needed(float(row["ph"]), float(row["water_activity"]), heated) is expected


@pytest.mark.parametrize(
    "row", _rows("tcs_misprints.csv"), ids=lambda row: f"{row['misprint']} {row['water_activity']} {row['ph']}"
)
def test_control_needed_misprints_have_not_crept_in(row: dict[str, str]) -> None:
    """Where a misprinted copy answers otherwise, ours answers as the code does."""
    ways = [Heated.AND_PACKAGED] if row["table"] == "A" else [Heated.NOT_PACKAGED, Heated.NOT_HEATED]
    expected = Control.NOT_TCS if row["right"] == "non-TCS" else Control.ASSESS
    assert row["right"] != row["misprinted"]
    for heated in ways:
        assert control_needed(Decimal(row["ph"]), Decimal(row["water_activity"]), heated) is expected


def test_tables_a_and_b_hold_every_cell_of_the_code() -> None:
    """Both tables are checked whole: every row beside every column, just below, on and just above each end."""
    rows = _rows("tcs_tables.csv")
    for table, water, acid in (("A", TABLE_A.water_activity, TABLE_A.ph), ("B", TABLE_B.water_activity, TABLE_B.ph)):
        cells = [(Decimal(row["water_activity"]), Decimal(row["ph"])) for row in rows if row["table"] == table]
        for which, ends in ((0, water), (1, acid)):
            for end in ends:
                seen = {(cell[which] > end.figure) - (cell[which] < end.figure) for cell in cells}
                assert seen == {-1, 0, 1}, (table, end.figure)


@given(st.decimals(0, 14, places=2), st.decimals(0, 1, places=3), st.sampled_from(Heated))
def test_control_needed_wetter_or_less_sour_is_never_safer(ph: Decimal, water: Decimal, heated: Heated) -> None:
    """More water or a higher pH never makes a food need less."""
    if control_needed(ph, water, heated) is Control.ASSESS:
        assert control_needed(min(ph + Decimal("0.5"), Decimal(14)), water, heated) is Control.ASSESS
        assert control_needed(ph, min(water + Decimal("0.02"), Decimal(1)), heated) is Control.ASSESS


@pytest.mark.parametrize(("ph", "water"), [(0.0, 0.0), (0.0, 1.0), (14.0, 0.0), (14.0, 1.0)])
def test_control_needed_answers_at_the_ends_of_the_scales(ph: float, water: float) -> None:
    """Figures of pH 0 to 14 and water activity 0 to 1 are answered; only sour or dry food needs no assessment."""
    expected = Control.NOT_TCS if ph == 0 or water == 0 else Control.ASSESS
    assert control_needed(ph, water, Heated.AND_PACKAGED) is expected
    if ph == 14:
        with pytest.raises(OutOfRangeError, match="0 to 14"):
            control_needed(14.001, water, Heated.AND_PACKAGED)
    if water == 1:
        with pytest.raises(OutOfRangeError, match="0 to 1 "):
            control_needed(ph, 1.001, Heated.AND_PACKAGED)


@pytest.mark.parametrize(("ph", "water"), [(-0.1, 0.9), (14.1, 0.9), (4.0, -0.01), (4.0, 1.01), (float("nan"), 0.9)])
def test_control_needed_refuses_what_is_no_figure(ph: float, water: float) -> None:
    """Figures outside the scales are refused, never clamped."""
    with pytest.raises(OutOfRangeError):
        control_needed(ph, water, Heated.NOT_HEATED)


# ---------------------------------------------------------------- receiving


@pytest.mark.parametrize("code", ["us-food-code-2022", "us-food-code-2013"])
@pytest.mark.parametrize("unit", ["F", "C"])
@pytest.mark.parametrize(
    ("part", "medium", "degrees_f", "verdict"),
    [
        ("receiving-cold", Medium.FOOD, 40.9, MET),
        ("receiving-cold", Medium.FOOD, 41.0, MET),
        ("receiving-cold", Medium.FOOD, 41.1, MISSED),
        ("receiving-hot", Medium.FOOD, 135.1, MET),
        ("receiving-hot", Medium.FOOD, 135.0, MET),
        ("receiving-hot", Medium.FOOD, 134.9, MISSED),
        ("receiving-shell-eggs", Medium.AIR, 44.9, MET),
        ("receiving-shell-eggs", Medium.AIR, 45.0, MET),
        ("receiving-shell-eggs", Medium.AIR, 45.1, MISSED),
        ("receiving-shell-eggs", Medium.FOOD, 39.0, NONE),
        ("receiving-cold", Medium.AIR, 39.0, NONE),
    ],
)
def test_receiving_matches_food_code_3_202_11(
    part: str, medium: Medium, degrees_f: float, verdict: Verdict, unit: str, code: str
) -> None:
    """Food Code 3-202.11: 41 °F, 135 °F, and air of 45 °F for shell eggs; each figure is allowed."""
    celsius = celsius_of_f(degrees_f) if unit == "F" else round((degrees_f - 32) * 5 / 9, 7)
    clause = judge_receiving(load_limits(code), part, celsius, T0, medium=medium)
    assert clause.verdict is verdict
    assert clause.clause.startswith("3-202.11")
    assert "°F at 2026-02-25" in clause.reason
    if verdict is not NONE:
        words = {"receiving-cold": "41 °F", "receiving-hot": "135 °F", "receiving-shell-eggs": "45 °F"}[part]
        side = ("below", "or above") if part == "receiving-hot" else ("above", "or less")
        told = f"{words} {side[1]}." if verdict is MET else f"{side[0]} {words}."
        assert clause.reason.endswith(f" UTC, {told}")


def test_receiving_without_a_figure_is_none() -> None:
    """A code that was not read on receiving asks nothing."""
    clause = judge_receiving(load_limits("scotland"), "receiving-cold", 9.0, T0)
    assert clause.verdict is NONE
    assert "gives no figure for receiving-cold" in clause.reason
