"""What happens to a vessel more than once: reheated, frozen, left the heat, ended. Each counts from its own instant."""

from collections import Counter

import pytest

from holdwatch.limits import load_limits
from holdwatch.readings import Record, Series
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.judgements import BEFORE_MS
from holdwatch.rules.life import Counted, Life, Reheated
from holdwatch.rules.verdicts import Process, Step, Verdict
from tests.rules.series_words import LIMITS, MINUTE, T0, declared, joined, line, points
from tests.rules.test_vessel_life import AGAIN, COLD, COOLS, FOUR, HEATED, HELD_HOT, HOT, REHEAT, asked, ms, only

MET, MISSED, UNPROVEN, OPEN, NONE = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN, Verdict.NONE
REHEATED = Process.REHEATING
COLD_AGAIN = joined(HELD_HOT, line((761, 139), (765, 134), (860, 69), (1000, 41)), line((1001, 40), (1099, 39)))
HOT_AGAIN = joined(line((1100, 39), (1101, 42), (1190, 164)), points(*((1191 + n / 12, 166.0) for n in range(7))))
TWICE = Life(reheated=(Reheated(ms(600)), Reheated(ms(1100))))


# ---------------------------------------------------------------- reheated


def test_vessel_reheated_twice_keeps_its_first_cooling() -> None:
    """It left the heat again at 760, after the first reheating: that start is the second cooling's, not the first's."""
    found = asked(joined(COLD_AGAIN, HOT_AGAIN), TWICE, until=1192, notes=(("left-heat", 760),))
    first = found["cooling", ""].clauses
    assert [clause.verdict for clause in first] == [MET, MET]
    assert first[0].started == (ms(15), ms(16))


def test_vessel_that_leaves_the_heat_when_its_reheating_begins_keeps_its_first_cooling() -> None:
    """A rise to 140 °F at 300 never moves the start of the first cooling; what leaves the heat at 600 is of the second."""
    warmed = joined(COOLS.between(T0, ms(299)), line((300, 140), (310, 140)), line((311, 41), (599, 40)), REHEAT)
    left = asked(warmed, AGAIN, until=692, notes=(("left-heat", 600),))
    plain = asked(warmed, AGAIN, until=692)
    assert left["cooling", ""].clauses[0].started == plain["cooling", ""].clauses[0].started == (ms(15), ms(16))


def test_vessel_is_asked_each_thing_once() -> None:
    """A second reheating begins no second cooling of its own."""
    found = judge_vessel(
        Record(joined(COLD_AGAIN, HOT_AGAIN), declared=declared(("left-heat", 760))),
        LIMITS,
        step=Step.COOL,
        holding="cold",
        until_ms=ms(1192),
        life=TWICE,
    )
    assert set(Counter((one.process, one.occasion) for one in found).values()) == {1}


def test_vessel_is_not_asked_cold_holding_while_it_is_hot_again() -> None:
    """From the declared reheating on it is away from the cold; until then the cold was kept."""
    assert only(asked(HELD_HOT, AGAIN, until=760), COLD).verdict is MET
    assert only(asked(HELD_HOT, Life(), until=760), COLD).verdict is MISSED


def test_vessel_reheating_has_the_record_up_to_the_next_one() -> None:
    """Begun at 600, begun anew at 650 and hot at 692, and once more at 900: the first never got hot by itself."""
    life = Life(reheated=tuple(Reheated(ms(at)) for at in (600, 650, 900)))
    found = asked(joined(HEATED, line((692, 166), (1000, 150))), life, until=1000)
    first, second = only(found, REHEATED, "reheating"), only(found, REHEATED, "reheating 2")
    assert first.verdict is not MET
    assert first.reached is None or first.reached[1] is None
    assert second.reached is not None
    assert second.reached[1] == ms(691)


def test_vessel_eggs_are_cooked_before_the_first_reheating() -> None:
    """Neither the first reheating nor a second cooks them."""
    life = Life(begins=(Process.COOK_EGGS,), reheated=TWICE.reheated)
    undercooked = joined(line((0, 130), (5, 140)), line((6, 134), (120, 60), (240, 40)), line((241, 40), (599, 38)))
    found = asked(joined(undercooked, REHEAT), life, until=1192, step=Step.COOK, notes=(("left-heat", 5),))
    assert found["cook-eggs", "cook-eggs"].verdict is MISSED
    nobody_said = asked(joined(undercooked, REHEAT), life, until=1192, step=Step.COOK)
    assert nobody_said["cook-eggs", "cook-eggs"].verdict is OPEN


def test_vessel_that_gets_hot_too_late_begins_nothing() -> None:
    """3-403.11(D): within 2 h; at 165 °F after 200 min it is no reheating that a second cooling could follow."""
    late = joined(COOLS.between(T0, ms(599)), line((600, 38), (601, 42), (799, 164)), line((800, 166), (802, 166)))
    found = asked(joined(late, line((803, 160), (860, 140))), AGAIN, until=860)
    told = only(found, REHEATED, "reheating")
    assert told.verdict is MISSED
    assert told.reached is not None
    assert told.reached[1] == ms(800)
    assert ("hot-holding", "hot-holding") not in found
    assert ("cooling", "after reheating") not in found


def test_vessel_reheating_counts_from_its_own_removal_whatever_was_removed_before() -> None:
    """Out for work from 300 to 320: that is not where the reheating at 600 begins."""
    cold = joined(COOLS.between(T0, ms(570)), REHEAT.between(ms(601), ms(700)))
    found = asked(cold, AGAIN, until=692, notes=(("removed", 300), ("returned", 320)))
    assert only(found, REHEATED, "reheating").started == (ms(600), ms(601))


def test_vessel_reheating_may_begin_with_a_cold_hand_reading_of_before() -> None:
    """A hand reading of 38 °F at 590 is the last that shows it cold; one of more than 20 min before is too old."""
    for before, s1 in ((590 * MINUTE, 590 * MINUTE), (600 * MINUTE - BEFORE_MS - 1, 600 * MINUTE)):
        hand = Series.of([(T0 + before, 3.0), *((ms(691) + n * 5_000, 75.0) for n in range(7))])
        found = judge_vessel(Record(hand=hand), LIMITS, step=Step.COOL, holding="cold", until_ms=ms(692), life=AGAIN)
        (clause,) = next(one for one in found if one.process is REHEATED).clauses
        assert clause.started == (T0 + s1, ms(691))
        assert clause.verdict is MET
    assert BEFORE_MS == 20 * MINUTE  # ours: the largest gap of a probe


def test_vessel_reheating_sees_no_reading_of_before_its_probe_was_placed() -> None:
    """Placed at the very instant of the reheating, or before it: what was read earlier is nobody's."""
    cold = joined(COOLS.between(T0, ms(570)), points((590, 38)), REHEAT.between(ms(601), ms(700)))
    for placed, s1 in ((585, 590), (595, 600), (600, 600)):
        found = asked(cold, AGAIN, until=692, notes=(("placed", placed),))
        assert only(found, REHEATED, "reheating").started == (ms(s1), ms(601))


def test_vessel_used_up_before_its_reheating_was_due_is_asked_nothing_of_it() -> None:
    """Used at the instant of judging, 60 min after it was begun."""
    slow = joined(COOLS.between(T0, ms(599)), line((600, 38), (601, 42), (660, 120)))
    assert only(asked(slow, AGAIN, until=660, notes=(("ended", 660),)), REHEATED, "reheating").verdict is NONE
    assert only(asked(slow, AGAIN, until=660), REHEATED, "reheating").verdict is OPEN


@pytest.mark.parametrize("left", [691.0, 760.0])
def test_vessel_is_held_hot_until_it_first_leaves_the_heat(left: float) -> None:
    """3-501.16(A)(1) is asked up to then, that instant included; leaving it once more asks it no longer again."""
    probe = joined(HEATED, line((692, 166), (760, 140)), line((761, 133), (900, 60)))
    if left < 700:
        probe = joined(HEATED, line((692, 133), (760, 60)))
    found = asked(probe, AGAIN, until=760 if left < 700 else 900, notes=(("left-heat", left), ("left-heat", left + 60)))
    assert only(found, HOT, "hot-holding").verdict is MET


# ---------------------------------------------------------------- frozen, ended, entered


def test_vessel_frozen_twice_was_frozen_before_its_cooling_was_due() -> None:
    """Frozen at 60, thawed, frozen again at 500: the first freezing ends what is asked of its cooling."""
    slow = line((0, 140), (2, 134), (200, 72), (300, 40))
    life = Life(frozen=((ms(60), ms(70)), (ms(500), None)))
    assert [c.verdict for c in asked(slow, life, until=600)["cooling", ""].clauses] == [NONE, NONE]


def test_vessel_frozen_and_used_later_ended_its_cooling_in_the_freezer() -> None:
    """Frozen at 190, used at 300: the second stage did not fall due before it was frozen."""
    slow = line((0, 140), (2, 134), (200, 72), (300, 40))
    found = asked(slow, Life(frozen=((ms(190), None),)), until=300, ended=300)
    assert [clause.verdict for clause in found["cooling", ""].clauses] == [MISSED, NONE]


def test_vessel_moved_after_its_time_was_still_there() -> None:
    """3-501.19(B)(4): the probe was moved in it a minute after the four hours; that it ended later proves the same."""
    stored = line((0, 38), (120, 38))
    life = Life(begins=(COLD,), counted=(Counted(FOUR, ms(100)),))
    told = only(asked(stored, life, until=345, notes=(("moved", 341),)), FOUR, FOUR.value)
    assert told.verdict is MISSED
    assert "Still there" in told.reason
    assert only(asked(stored, life, until=345, notes=(("moved", 339),)), FOUR, FOUR.value).verdict is UNPROVEN


# ---------------------------------------------------------------- limits of other codes


def test_vessel_on_display_under_a_code_without_a_figure_is_asked_nothing() -> None:
    """Scots law prints no figure for cold holding."""
    life = Life(begins=(COLD,), steps=((ms(30), Step.DISPLAY),))
    assert only(asked(line((0, 50), (60, 50)), life, until=60, limits=load_limits("scotland")), COLD).verdict is NONE


def test_vessel_cooled_under_a_code_of_one_stage_is_held_from_where_its_time_ends() -> None:
    """Ireland's guidance has one stage; food that is warm when its time is up is held too warm from then on."""
    ireland = load_limits("ireland")
    found = asked(line((0, 160), (600, 70)), Life(), until=600, limits=ireland)
    (cooled,) = found["cooling", ""].clauses
    assert cooled.verdict is MISSED
    held = only(found, COLD)
    assert held.verdict is MISSED
    assert cooled.due is not None
    assert held.started == (cooled.due[1], cooled.due[1])


def test_vessel_received_warm_without_a_declared_receipt_is_held_cold_when_its_time_ends() -> None:
    """3-501.14(C): the start is not shown, so at the latest it counts from the first reading: four hours after it."""
    found = asked(line((0, 70), (400, 50)), Life(begins=(Process.RECEIVED_COOLING,)), until=400)
    assert only(found, Process.RECEIVED_COOLING, "received-cooling").started == (None, T0)
    assert only(found, COLD).started == (ms(240), ms(240))


def test_vessel_of_eggs_is_open_while_they_are_cooked() -> None:
    """On the heat and not yet warm enough: the cook step has not ended."""
    life = Life(begins=(Process.COOK_EGGS,))
    found = asked(line((0, 60), (10, 120)), life, until=10, step=Step.COOK)
    assert found["cook-eggs", "cook-eggs"].verdict is OPEN
