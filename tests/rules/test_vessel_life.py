"""What the life of a batch asks of its vessel: what it begins with, its steps, freezing, reheating, counted time.

Verdicts are reasoned from the FDA Food Code 2022 (3-401.11, 3-403.11, 3-501.14, .16, .19; 3-202.11) and, for a spell on
display, SR (NI) 2006/3, Schedule 4, paragraph 5.
"""

from dataclasses import replace
from typing import Literal

import pytest

from holdwatch.limits import Limits, load_limits
from holdwatch.quantities import celsius_of_f
from holdwatch.readings import Record, Series
from holdwatch.rules.batch import judge_vessel
from holdwatch.rules.facts import next_instant
from holdwatch.rules.judgements import since
from holdwatch.rules.life import Counted, Life, Measured, Reheated, Stood, spans
from holdwatch.rules.verdicts import ClauseVerdict, Judgement, Process, Step, Verdict
from tests.rules.series_words import HOUR, LIMITS, MINUTE, T0, declared, joined, line, points

MET, MISSED, UNPROVEN, OPEN, NONE = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN, Verdict.NONE
COLD, HOT, COOLED = Process.COLD_HOLDING, Process.HOT_HOLDING, Process.COOLING
NOTHING = Life()
UK = load_limits("england-wales-ni")
Notes = tuple[tuple[str, float], ...]
Asked = dict[tuple[str, str], Judgement]
COOLS = joined(line((0, 150), (15, 135.5), (100, 69), (240, 41)), line((241, 40), (1200, 38)))
"""A pan that keeps both stages, and is cold from 240 min on."""


def ms(minutes: float) -> int:
    """Return an instant."""
    return T0 + round(minutes * MINUTE)


def asked(
    probe: Series,
    life: Life = NOTHING,
    *,
    until: float,
    step: Step = Step.COOL,
    holding: Literal["cold", "hot"] = "cold",
    notes: Notes = (),
    ended: float | None = None,
    started: float | None = None,
    limits: Limits = LIMITS,
) -> Asked:
    """Judge a vessel at an instant in minutes; judgements by process and occasion."""
    found = judge_vessel(
        Record(probe, declared=declared(*notes)),
        limits,
        step=step,
        holding=holding,
        until_ms=ms(until),
        ended_ms=None if ended is None else ms(ended),
        started_ms=None if started is None else ms(started),
        life=life,
    )
    return {(one.process.value, one.occasion): one for one in found}


def only(found: Asked, process: Process, occasion: str = "") -> ClauseVerdict:
    """Return the last clause of a judgement."""
    return found[process.value, occasion].clauses[-1]


# ---------------------------------------------------------------- what it begins with


@pytest.mark.parametrize(
    ("life", "step", "holding", "processes"),
    [
        (NOTHING, Step.COOK, "cold", ["cooling", "cold-holding"]),
        (NOTHING, Step.COOL, "hot", ["cooling", "cold-holding"]),
        (NOTHING, Step.STORE, "cold", ["cold-holding"]),
        (NOTHING, Step.HOLD, "hot", ["hot-holding"]),
        (Life(steps=((ms(10), Step.COOL),)), Step.HOLD, "cold", ["cooling", "cold-holding"]),
        (Life(steps=((ms(10), Step.DISPLAY),)), Step.HOLD, "cold", ["cold-holding"]),
        (Life(begins=(Process.COOK_EGGS,)), Step.COOK, "cold", ["cook-eggs", "cooling", "cold-holding"]),
        (Life(begins=(Process.COOK_EGGS,)), Step.COOK, "hot", ["cook-eggs", "hot-holding"]),
        (Life(begins=(Process.AMBIENT_COOLING,)), Step.COOL, "cold", ["ambient-cooling", "cold-holding"]),
        (Life(begins=(Process.RECEIVED_COOLING,)), Step.STORE, "cold", ["received-cooling", "cold-holding"]),
        (Life(begins=(HOT,)), Step.COOK, "cold", ["hot-holding"]),
        (Life(begins=(COOLED,)), Step.STORE, "cold", ["cooling", "cold-holding"]),
    ],
)
def test_vessel_is_asked_what_it_begins_with(
    life: Life, step: Step, holding: Literal["cold", "hot"], processes: list[str]
) -> None:
    """The step says, unless something was declared; what is cooked is cooled, or held hot."""
    found = asked(line((0, 150), (30, 140)), life, until=30, step=step, holding=holding)
    assert [process for process, _ in found] == processes
    assert [occasion for _, occasion in found] == [
        process if process in {"cook-eggs", "ambient-cooling", "received-cooling"} else "" for process in processes
    ]


def test_vessel_in_a_step_without_holding_is_asked_nothing() -> None:
    """Assembled: holding is not asked; declared to be held it is, whatever the step."""
    warm = line((0, 60), (30, 60))
    told = only(asked(warm, until=30, step=Step.ASSEMBLE), COLD)
    assert told.verdict is NONE
    assert "in the step assemble" in told.reason
    assert only(asked(warm, Life(begins=(COLD,)), until=30, step=Step.ASSEMBLE), COLD).verdict is MISSED


def test_vessel_held_from_receipt_is_asked_from_then_on() -> None:
    """What was read before it was received is not held against it."""
    late = joined(line((0, 60), (9, 42)), line((10, 41), (60, 38)))
    assert only(asked(late, Life(begins=(COLD,)), until=60), COLD).verdict is MISSED
    told = only(asked(late, Life(begins=(COLD,)), until=60, notes=(("from", 10),)), COLD)
    assert told.verdict is MET
    assert told.started == (ms(10), ms(10))


def test_vessel_of_eggs_held_hot_is_held_from_when_it_left_the_heat() -> None:
    """Below 135 °F on the heat is cooking, not holding."""
    probe = joined(line((0, 100), (20, 160)), line((21, 158), (60, 140)))
    life = Life(begins=(Process.COOK_EGGS,))
    found = asked(probe, life, until=60, step=Step.COOK, holding="hot", notes=(("left-heat", 20),))
    assert found["cook-eggs", "cook-eggs"].verdict is MET
    told = only(found, HOT)
    assert told.verdict is MET
    assert told.started == (ms(20), ms(20))
    declared_hot = asked(probe, Life(begins=(HOT,)), until=60, notes=(("left-heat", 20),))
    assert only(declared_hot, HOT).verdict is MISSED  # nobody said that it was cooked


@pytest.mark.parametrize(
    ("process", "note"), [(Process.AMBIENT_COOLING, "prepared"), (Process.RECEIVED_COOLING, "from")]
)
def test_vessel_that_was_never_hot_is_held_cold_after_it_cooled(process: Process, note: str) -> None:
    """From 30 min after it was cold, or from when its four hours end."""
    life = Life(begins=(process,))
    cooled = joined(line((0, 70), (100, 41)), line((101, 40), (400, 39)))
    found = asked(cooled, life, until=400, notes=((note, 0),))
    assert found[process.value, process.value].verdict is MET
    assert only(found, COLD).started == (ms(130), ms(130))
    assert only(found, COLD).verdict is MET
    warm = asked(line((0, 70), (400, 50)), life, until=400, notes=((note, 0),))
    assert only(warm, COLD).started == (ms(240), ms(240))
    assert only(warm, COLD).verdict is MISSED
    assert only(asked(cooled, life, until=120, notes=((note, 0),)), COLD).verdict is OPEN


# ---------------------------------------------------------------- steps, freezing


def test_vessel_is_not_asked_holding_while_it_is_prepared_or_frozen() -> None:
    """Assembled from 300 to 330; frozen from 400 to 500: warm readings then break nothing."""
    warm_once = joined(COOLS.between(T0, ms(300)), line((301, 45), (329, 45)), line((330, 41), (500, 40)))
    steps = ((ms(301), Step.ASSEMBLE), (ms(330), Step.STORE))
    assert only(asked(warm_once, until=500), COLD).verdict is MISSED
    told = only(asked(warm_once, Life(steps=steps), until=500), COLD)
    assert told.verdict is MET
    assert "Not asked for 29 min" in told.reason
    frozen = Life(frozen=((ms(301), ms(330)),))
    assert only(asked(warm_once, frozen, until=500), COLD).verdict is MET
    assert only(asked(warm_once, Life(steps=((ms(301), Step.STORE),)), until=500), COLD).verdict is MISSED


def test_vessel_frozen_before_its_cooling_was_due_is_asked_nothing_more_of_it() -> None:
    """Frozen at 60 min: neither stage fell due; frozen at 200: the second did not."""
    slow = line((0, 140), (2, 134), (200, 72), (300, 40))
    early = asked(slow, Life(frozen=((ms(60), None),)), until=300)
    assert [clause.verdict for clause in early["cooling", ""].clauses] == [NONE, NONE]
    late = asked(slow, Life(frozen=((ms(190), None),)), until=300)
    assert [clause.verdict for clause in late["cooling", ""].clauses] == [MISSED, NONE]


def test_vessel_declared_to_be_no_tcs_food_is_asked_nothing() -> None:
    """By whom and on what evidence stands in every answer."""
    life = Life(not_tcs="M. Ortiz, laboratory report 7")
    found = asked(line((0, 150), (600, 80)), life, until=600)
    assert {clause.verdict for one in found.values() for clause in one.clauses} == {NONE}
    assert only(found, COLD).reason == "Declared to need no temperature control: M. Ortiz, laboratory report 7."
    assert all(one.verdict is NONE and one.changes_ms is None and one.asks == () for one in found.values())


@pytest.mark.parametrize(("degrees", "verdict"), [(41.0, MET), (41.1, MISSED)])
def test_vessel_tells_what_a_delivery_measured_at_the_door(degrees: float, verdict: Verdict) -> None:
    """Food Code 3-202.11(A): 41 °F or less; it stands beside what the probe shows later."""
    life = Life(begins=(COLD,), received=(Measured(ms(5), celsius_of_f(degrees)),))
    found = asked(line((10, 38), (60, 38)), life, until=60)
    assert list(found) == [("receiving", "receiving"), ("cold-holding", "")]
    assert found["receiving", "receiving"].verdict is verdict
    assert found["receiving", "receiving"].limits == LIMITS.id
    assert found["receiving", "receiving"].used == 0  # of the probe's readings
    assert not any(process == "receiving" for process, _ in asked(line((0, 38), (4, 38)), life, until=4))


@pytest.mark.parametrize("degrees", [(39, 43, 40), (43, 39, 40), (39, 40, 43)])
def test_the_worst_of_several_measurements_of_a_delivery_counts(degrees: tuple[float, ...]) -> None:
    """Food Code 3-202.11(A) is asked of every pack: one answer, that of the pack at 43 °F, in whatever order."""
    received = tuple(Measured(ms(minute), celsius_of_f(each)) for minute, each in enumerate(degrees))
    hot = Measured(ms(4), celsius_of_f(140), "receiving-hot")
    found = asked(line((10, 38), (60, 38)), Life(begins=(COLD,), received=(*received, hot)), until=60)
    at_the_door = found["receiving", "receiving"]
    assert [(each.clause, each.verdict) for each in at_the_door.clauses] == [
        ("3-202.11(A)", MISSED),
        ("3-202.11(D)", MET),
    ]
    assert at_the_door.verdict is MISSED
    assert "43.0 °F" in at_the_door.clauses[0].reason.replace("\u202f", " ")


# ---------------------------------------------------------------- on display


def _shown(*parts: Series, at: float, until: float, step: Step = Step.STORE) -> ClauseVerdict:
    life = Life(begins=(COLD,), steps=((ms(at), Step.DISPLAY),))
    return only(asked(joined(*parts), life, until=until, step=step, limits=UK), COLD)


def test_vessel_spell_counts_as_borne_only_once_it_is_on_display() -> None:
    """8 °C is 46.4 °F: a spell of an hour is borne on display, and missed in store."""
    before, spell, after = line((0, 46), (60, 46)), line((61, 47), (120, 47)), line((121, 46), (150, 46))
    told = _shown(before, spell, after, at=60, until=150)
    assert told.verdict is MET
    assert told.reason.startswith("Before it was on display: Kept in 61 readings")
    assert " On display: 8.3 °C at" in told.reason
    assert told.started == (T0, T0)
    assert len(told.spells) == 1
    in_store = _shown(before, spell, after, at=125, until=150)
    assert in_store.verdict is MISSED
    assert _shown(before, spell, after, at=200, until=150).verdict is MISSED  # not yet
    whole = _shown(before, spell, after, at=0, until=150)
    assert whole.verdict is MET
    assert "Before it was on display" not in whole.reason
    assert _shown(before, spell, after, at=200, until=150, step=Step.DISPLAY).verdict is MET


def test_vessel_just_put_on_display_is_not_unshown_before_its_next_reading() -> None:
    """The last reading in store is half a minute old; a hole is one only after the largest gap."""
    stored = line((0, 46), (60, 46))
    for until, verdict in ((60.5, MET), (80, MET), (80.001, UNPROVEN)):
        assert _shown(stored, at=60.5, until=until).verdict is verdict
    assert _shown(stored, points((61, 47)), at=60.5, until=61).verdict is MET  # what is read then is borne on display
    assert _shown(stored, points((60.4, 47)), at=60.5, until=61).verdict is MISSED
    assert _shown(at=60.5, until=100).verdict is UNPROVEN


def test_vessel_two_spells_one_in_store_and_one_on_display_are_told_both() -> None:
    """The one in store is the deviation."""
    warm = joined(line((10, 47), (12, 47)), line((70, 47), (80, 47)))
    cool = joined(line((0, 46), (9, 46)), line((13, 46), (69, 46)), line((81, 46), (100, 46)))
    told = _shown(warm, cool, at=40, until=100)
    assert told.verdict is MISSED
    assert len(told.spells) == 2
    assert told.spells[0].begins == (ms(9), ms(10))


def _put_away(
    *parts: Series, at: float, until: float, again: float | None = None, began: Step = Step.STORE
) -> ClauseVerdict:
    """Judge what was on display from 0 on, in store from `at`, and perhaps on display once more."""
    steps = [(at, Step.STORE), *([] if again is None else [(again, Step.DISPLAY)])]
    if began is not Step.DISPLAY:
        steps.insert(0, (0, Step.DISPLAY))
    life = Life(begins=(COLD,), steps=tuple((ms(minute), step) for minute, step in steps))
    return only(asked(joined(*parts), life, until=until, step=began, limits=UK), COLD)


@pytest.mark.parametrize("began", [Step.STORE, Step.DISPLAY])
def test_vessel_spell_in_store_after_it_was_on_display_is_missed(began: Step) -> None:
    """Paragraph 5 bears what is for service or on display: cold there until 60, warm in store from 90 to 270."""
    stored = joined(line((0, 46), (89, 46)), line((90, 50), (270, 50)), line((271, 46), (280, 46)))
    told = _put_away(stored, at=60, until=280, began=began)
    assert told.verdict is MISSED
    assert told.reason.endswith(
        "It was not on display at 2026-02-25 07:50:00 UTC; Sch. 4 para 5(1) bears a spell there alone."
    )
    assert _put_away(stored, at=280.5, until=281, began=began).verdict is MET  # it was on display all the time
    assert _put_away(stored, at=60, again=89.5, until=281, began=began).verdict is MET  # and again before it got warm


def test_vessel_spell_that_goes_on_in_store_is_not_shown_to_be_borne() -> None:
    """Whether it warmed before or after it was put away is known to a bracket only; what it was there is known."""
    warm = joined(line((0, 46), (59, 46)), line((60, 50), (90, 50)), line((91, 46), (100, 46)))
    for at, verdict in ((59, MISSED), (59.001, UNPROVEN), (90, UNPROVEN), (90.001, MET)):
        assert _put_away(warm, at=at, until=101).verdict is verdict
    told = _put_away(warm, at=70.5, until=101)
    assert told.reason.endswith(
        "It was not on display any more at 2026-02-25 07:31:00 UTC: whether Sch. 4 para 5(1) bears the rest of the spell "
        "is not shown."
    )
    shown_again = {"at": 40.0, "until": 101.0}
    assert _put_away(warm, **shown_again, again=60).verdict is MET
    assert _put_away(warm, **shown_again, again=60.001).verdict is MISSED  # cold and warm in store
    assert _put_away(warm, at=70.2, again=70.8, until=101).verdict is MET  # nothing was read in store
    assert _put_away(warm, at=69.5, again=70, until=101).verdict is MET  # the reading at 70 is of the display
    assert _put_away(warm, at=70, again=70.001, until=101).verdict is UNPROVEN
    twice = ((0, Step.DISPLAY), (70.5, Step.STORE), (75, Step.DISPLAY), (80, Step.STORE))
    life = Life(begins=(COLD,), steps=tuple((ms(minute), step) for minute, step in twice))
    assert " any more at 2026-02-25 07:31:00 UTC" in only(asked(warm, life, until=101, limits=UK), COLD).reason
    long = joined(line((0, 46), (9, 46)), line((10, 50), (250, 50)), line((251, 46), (260, 46)))
    assert _put_away(long, at=100, until=260).verdict is MISSED  # four hours are too long anywhere


def test_vessel_first_read_warm_in_store_may_have_warmed_on_display() -> None:
    """Put away before anybody read it."""
    assert _put_away(line((5, 50), (20, 50)), line((21, 46), (40, 46)), at=2, until=40).verdict is UNPROVEN


def test_vessel_displayed_while_it_cools_is_held_from_where_holding_begins() -> None:
    """On display before it was cold for 30 min: nothing is asked before that."""
    cooled = joined(line((0, 150), (15, 135.5), (100, 69), (240, 46)), line((241, 46), (400, 46)))
    life = Life(steps=((ms(200), Step.DISPLAY),))
    told = only(asked(cooled, life, until=400, limits=UK), COLD)
    assert told.verdict is MET
    assert told.started[0] is not None  # type: ignore[index]
    assert told.started[0] >= ms(260)  # type: ignore[index]


# ---------------------------------------------------------------- reheating

REHEAT = joined(line((600, 38), (601, 42), (690, 164)), points(*((691 + n / 12, 166.0) for n in range(7))))
HEATED = joined(COOLS.between(T0, ms(599)), REHEAT)
AGAIN = Life(reheated=(Reheated(ms(600)),))
HELD_HOT = joined(HEATED, line((692, 166), (760, 140)))


def test_vessel_reheated_in_time_is_held_hot_from_there() -> None:
    """165 °F for 15 s within 2 h: then 135 °F is asked until it leaves the heat."""
    found = asked(HELD_HOT, AGAIN, until=760)
    assert found["reheating", "reheating"].verdict is MET
    told = only(found, HOT, "hot-holding")
    assert told.verdict is MET
    assert told.started == (ms(691), ms(691))
    cool = asked(joined(HEATED, line((692, 166), (760, 130))), AGAIN, until=760)
    assert only(cool, HOT, "hot-holding").verdict is MISSED
    assert [clause.verdict for clause in found["cooling", ""].clauses] == [MET, MET]


def test_vessel_cooled_again_after_a_reheating_has_a_second_cooling() -> None:
    """Left the heat at 760: the second cooling counts from there and is told apart; the first stays."""
    probe = joined(HELD_HOT, line((761, 139), (765, 134), (860, 69), (1000, 41)), line((1001, 40), (1100, 39)))
    found = asked(probe, AGAIN, until=1100, notes=(("left-heat", 760),))
    second = found["cooling", "after reheating"]
    assert [clause.verdict for clause in second.clauses] == [MET, MET]
    assert second.clauses[0].started == (ms(764), ms(765))
    assert second.clauses[0].requires == "after reheating, 135 °F to 70 °F within 2 h"
    held = only(found, COLD, "after reheating")
    assert held.verdict is MET
    assert held.started == (ms(1030), ms(1030))
    hot = only(found, HOT, "hot-holding")
    assert hot.verdict is MET  # until it left the heat, not after
    assert [clause.verdict for clause in found["cooling", ""].clauses] == [MET, MET]
    slow = joined(HELD_HOT, line((761, 139), (765, 134), (1000, 72)))
    missed = asked(slow, AGAIN, until=1000, notes=(("left-heat", 760),))
    assert missed["cooling", "after reheating"].clauses[0].verdict is MISSED
    assert [clause.verdict for clause in missed["cooling", ""].clauses] == [MET, MET]


@pytest.mark.parametrize(("last_cold", "s1"), [(580.0, 580.0), (579.999, 600.0)])
def test_vessel_reheating_may_begin_with_a_cold_reading_of_twenty_minutes_before(last_cold: float, s1: float) -> None:
    """Ours: the largest gap of a probe; an older reading is not of the reheating, and its declared beginning counts."""
    cold = joined(COOLS.between(T0, ms(570)), points((last_cold, 38)))
    found = asked(joined(cold, REHEAT.between(ms(601), ms(700))), AGAIN, until=692)
    assert only(found, Process.REHEATING, "reheating").started == (ms(s1), ms(601))


def test_record_since_an_instant_has_what_was_declared_at_it() -> None:
    """Readings and entries of the instant itself are of the time since."""
    record = Record(line((0, 38), (10, 38)), points((5, 39), (6, 39)), declared=declared(("moved", 4), ("moved", 5)))
    later = since(record, ms(5))
    assert int(later.probe.at_ms[0]) == ms(5)
    assert len(later.hand) == 2
    assert later.declared == declared(("moved", 5))
    assert int(later.probe.at_ms[-1]) == ms(10)


def test_vessel_in_doubt_in_store_is_in_doubt_on_display_and_not_where_nothing_is_asked() -> None:
    """Pulled out for a while before it was on display: whether it was kept is doubtful as long as it is asked."""
    pulled = joined(line((0, 46), (30, 46)), line((31, 90), (40, 90)), line((41, 46), (100, 46)))
    assert _shown(pulled, at=60, until=100).doubtful
    assert not _shown(line((0, 46), (100, 46)), at=60, until=100).doubtful
    nothing = asked(pulled, Life(begins=(COLD,), not_tcs="by the plan"), until=100)
    assert not only(nothing, COLD).doubtful


def test_vessel_reheated_too_slowly_begins_nothing() -> None:
    """The reheating is missed; what follows is asked cold holding only."""
    slow = joined(COOLS.between(T0, ms(599)), line((600, 38), (601, 42), (760, 160)))
    found = asked(slow, AGAIN, until=760)
    assert found["reheating", "reheating"].verdict is MISSED
    assert ("hot-holding", "hot-holding") not in found
    assert ("cooling", "after reheating") not in found
    assert ("cold-holding", "after reheating") in found


def test_vessel_reheated_to_be_served_at_once_is_asked_nothing_of_that() -> None:
    """Food Code 3-403.10: any temperature."""
    life = Life(reheated=(Reheated(ms(600), for_service=True),))
    found = asked(joined(COOLS.between(T0, ms(599)), line((600, 38), (630, 100))), life, until=630)
    told = only(found, Process.REHEATING, "reheating")
    assert told.verdict is NONE
    assert told.due is None
    assert "to be served at once" in told.reason
    assert not any(process == "hot-holding" for process, _ in found)


def test_vessel_reheated_twice_is_judged_each_time_and_cooled_again_once() -> None:
    """The second reheating stands by itself, from its own beginning; the first has the record up to there."""
    cold_again = joined(HELD_HOT, line((761, 139), (765, 134), (860, 69), (1000, 41)), line((1001, 40), (1099, 39)))
    second = joined(line((1100, 39), (1101, 42), (1190, 164)), points(*((1191 + n / 12, 166.0) for n in range(7))))
    life = Life(reheated=(Reheated(ms(600)), Reheated(ms(1100))))
    found = asked(joined(cold_again, second), life, until=1192, notes=(("left-heat", 760),))
    assert found["reheating", "reheating"].verdict is MET
    assert found["reheating", "reheating 2"].verdict is MET
    assert only(found, Process.REHEATING, "reheating 2").started == (ms(1100), ms(1101))
    assert [key for key in found if key[1] == "after reheating"] == [
        ("cooling", "after reheating"),
        ("cold-holding", "after reheating"),
    ]


def test_vessel_eggs_are_cooked_before_a_reheating_not_in_it() -> None:
    """What gets hot when it is reheated was not cooked by that."""
    life = Life(begins=(Process.COOK_EGGS,), reheated=(Reheated(ms(600)),))
    undercooked = joined(line((0, 130), (5, 140)), line((6, 134), (120, 60), (240, 40)), line((241, 40), (599, 38)))
    found = asked(joined(undercooked, REHEAT), life, until=692, step=Step.COOK, notes=(("left-heat", 5),))
    assert found["cook-eggs", "cook-eggs"].verdict is MISSED
    assert found["reheating", "reheating"].verdict is MET


# ---------------------------------------------------------------- time in place of temperature

FOUR, SIX = Process.TIME_CONTROL_4H, Process.TIME_CONTROL_6H
STORED = line((0, 38), (120, 38))


def test_vessel_time_control_counts_from_its_own_removal() -> None:
    """Removed at 100 and again at 130 for another process: each has its own time, and entries after it show it is there."""
    life = Life(begins=(COLD,), counted=(Counted(FOUR, ms(100)), Counted(SIX, ms(120))))
    found = asked(STORED, life, until=200)
    assert only(found, FOUR, FOUR.value).due == (ms(340), ms(340))
    assert only(found, SIX, SIX.value).due == (ms(480), ms(480))
    assert only(found, FOUR, FOUR.value).verdict is OPEN
    later = Life(begins=(COLD,), counted=(Counted(FOUR, ms(100)),), steps=((ms(341), Step.DISPLAY),))
    told = only(asked(STORED, later, until=345), FOUR, FOUR.value)
    assert told.verdict is MISSED
    assert "Still there" in told.reason
    assert (FOUR.value, FOUR.value) not in asked(STORED, life, until=99)


def test_vessel_time_control_takes_the_trays_earlier_time_and_the_rooms_air() -> None:
    """Both only where they were declared."""
    tray = Life(begins=(COLD,), counted=(Counted(FOUR, ms(100), tray_ms=ms(40)),))
    assert only(asked(STORED, tray, until=200), FOUR, FOUR.value).due == (ms(280), ms(280))
    room = line((100, 66), (200, 68))
    by_air = Life(begins=(COLD,), counted=(Counted(SIX, ms(100), room_air=True),), room=room)
    gone: Notes = (("ended", 200),)
    assert only(asked(STORED, by_air, until=200, notes=gone, ended=200), SIX, SIX.value).verdict is MET
    by_food = Life(begins=(COLD,), counted=(Counted(SIX, ms(100)),), room=room)
    assert only(asked(STORED, by_food, until=200, notes=gone, ended=200), SIX, SIX.value).verdict is UNPROVEN


@pytest.mark.parametrize(("slow", "verdict"), [(False, MET), (True, UNPROVEN)])
def test_vessel_cooling_that_was_kept_and_its_unit_stand_for_a_reading_at_the_removal(
    *, slow: bool, verdict: Verdict
) -> None:
    """The probe went to the next batch at 300; taken out at 500 from a walk-in that kept the limit."""
    probe = (line((0, 140), (2, 134), (290, 75), (300, 40)) if slow else COOLS).between(T0, ms(300))
    life = Life(counted=(Counted(FOUR, ms(500)),), stood=Stood("the walk-in", ms(350)))
    gone: Notes = (("ended", 600),)
    told = only(asked(probe, life, until=600, notes=gone, ended=600), FOUR, FOUR.value)
    assert told.verdict is verdict
    if verdict is MET:
        since = "2026-02-25 12:10:00 UTC"
        assert (
            f"its cooling had been kept, and the walk-in, in which it stood, had kept the limit since {since}"
            in told.reason
        )
    held = Life(begins=(COLD,), counted=life.counted, stood=life.stood)
    assert only(asked(probe, held, until=600, notes=gone, ended=600), FOUR, FOUR.value).verdict is UNPROVEN
    alone = Life(counted=life.counted)
    assert only(asked(probe, alone, until=600, notes=gone, ended=600), FOUR, FOUR.value).verdict is UNPROVEN


def test_vessel_unit_that_it_left_shows_nothing_of_a_later_removal() -> None:
    """Under the 6 h from 500, out of the walk-in; under the 4 h from 560, from wherever it was put meanwhile."""
    probe = COOLS.between(T0, ms(300))
    for later, verdict in ((500, MET), (560, UNPROVEN)):
        life = Life(counted=(Counted(SIX, ms(500)), Counted(FOUR, ms(later))), stood=Stood("the walk-in", ms(380)))
        found = asked(probe, life, until=600, notes=(("ended", 600),), ended=600)
        assert "the walk-in, in which it stood" in only(found, SIX, SIX.value).reason
        assert only(found, FOUR, FOUR.value).verdict is verdict


def test_vessel_that_ends_in_the_freezer_does_not_end_its_time_control() -> None:
    """None of it was served, sold, used or discarded."""
    life = Life(begins=(COLD,), counted=(Counted(FOUR, ms(100)),), ends_frozen=True)
    told = only(asked(STORED, life, until=400, notes=(("ended", 200),), ended=200), FOUR, FOUR.value)
    assert told.verdict is UNPROVEN
    sold = Life(begins=(COLD,), counted=life.counted)
    assert only(asked(STORED, sold, until=400, notes=(("ended", 200),), ended=200), FOUR, FOUR.value).verdict is MET


def test_vessel_times_added_up_are_of_its_whole_record() -> None:
    """Australia: outside from 60 on, for three hours."""
    life = Life(begins=(COLD,), counted=(Counted(Process.CUMULATIVE_TIME, ms(60)),))
    probe = joined(line((0, 39), (59, 39)), line((60, 50), (240, 55)))
    told = only(
        asked(probe, life, until=240, limits=load_limits("australia")), Process.CUMULATIVE_TIME, "cumulative-time"
    )
    assert told.verdict is MET
    assert "Outside for 3 h 01 min in all at most" in told.reason


def _added_up(probe: Series, life: Life, notes: Notes, until: float) -> ClauseVerdict:
    found = asked(probe, life, until=until, notes=notes, limits=load_limits("australia"))
    return only(found, Process.CUMULATIVE_TIME, "cumulative-time")


def test_vessel_that_is_asked_no_cooling_has_none_left_out_of_its_times() -> None:
    """Taken out before it left the heat, and never back: 50 °C for nearly five hours is outside, unless it is to cool."""
    probe = joined(line((0, 150), (60, 150)), line((61, 122), (354, 122)))
    notes: Notes = (("removed", 0), ("left-heat", 10))
    counted = (Counted(Process.CUMULATIVE_TIME, ms(0)),)
    hot = _added_up(probe, Life(begins=(HOT,), counted=counted), notes, 354)
    assert hot.verdict is MISSED
    assert hot.reason.startswith("Outside for 4 h 53 min in all, or more")
    assert _added_up(probe, Life(begins=(COOLED,), counted=counted), notes, 354).verdict is MET


def test_vessel_cooled_again_after_a_reheating_has_that_cooling_left_out_of_its_times() -> None:
    """Cold from the start, kept hot from 40 to 90, and cold again at 390: its second cooling is asked."""
    hot = joined(line((0, 38), (30, 38)), line((31, 42), (40, 150)), line((41, 150), (90, 150)))
    probe = joined(hot, line((91, 134), (210, 69)), line((211, 69), (389, 42)), line((390, 40), (420, 40)))
    life = Life(begins=(COLD,), reheated=(Reheated(ms(30)),), counted=(Counted(Process.CUMULATIVE_TIME, ms(30)),))
    assert _added_up(probe, life, (("left-heat", 90),), 420).verdict is MET
    never_hot = replace(life, reheated=())
    assert _added_up(probe, never_hot, (("left-heat", 90),), 420).verdict is MISSED


# ---------------------------------------------------------------- the life itself


def test_life_known_at_an_instant_has_nothing_from_after_it() -> None:
    """Judging at an instant sees what was declared by then, that instant included."""
    life = Life(
        steps=((10, Step.COOL), (20, Step.STORE)),
        counted=(Counted(FOUR, 20),),
        reheated=(Reheated(20),),
        received=(Measured(20, 4.0),),
        frozen=((15, 20), (20, 30)),
    )
    assert life.known_at(20) == Life(
        steps=life.steps,
        counted=life.counted,
        reheated=life.reheated,
        received=life.received,
        frozen=((15, 20), (20, None)),
    )
    assert life.known_at(19) == Life(steps=((10, Step.COOL),), frozen=((15, None),))
    assert life.entries == (10, 15, 20, 20, 20, 20, 30)
    assert life.displayed_ms is None
    assert Life(steps=((10, Step.DISPLAY), (5, Step.STORE), (8, Step.DISPLAY))).displayed_ms == 8
    shown = Life(steps=((5, Step.HOLD), (8, Step.DISPLAY), (10, Step.STORE), (11, Step.HOLD), (12, Step.DISPLAY)))
    assert shown.off_display == ((5, 8), (10, 12))
    assert life.off_display == ((10, None),)


@pytest.mark.parametrize(
    ("changes", "found"),
    [
        ((), ()),
        (((1, False),), ()),
        (((1, True),), ((1, None),)),
        (((1, True), (2, True), (3, False), (4, False)), ((1, 3),)),
        (((1, True), (3, False), (5, True)), ((1, 3), (5, None))),
    ],
)
def test_spans_begin_with_the_first_and_end_with_the_first_after(
    changes: tuple[tuple[int, bool], ...], found: tuple[tuple[int, int | None], ...]
) -> None:
    """Taken out twice is taken out once."""
    assert spans(changes) == found


def test_vessel_ends_where_it_was_declared_to() -> None:
    """What is read after its end is not the food's; the batch's end and the note alike."""
    probe = joined(STORED, line((121, 60), (200, 70)))
    assert only(asked(probe, Life(begins=(COLD,)), until=200, ended=120), COLD).verdict is MET
    assert only(asked(probe, Life(begins=(COLD,)), until=200, notes=(("ended", 120),)), COLD).verdict is MET
    assert only(asked(probe, Life(begins=(COLD,)), until=200), COLD).verdict is MISSED
    waits = asked(Series.empty(), until=100, started=0)["cooling", ""]
    assert waits.clauses[0].verdict is OPEN
    assert waits.changes_ms is not None
    assert asked(Series.empty(), until=130, started=0)["cooling", ""].clauses[0].verdict is UNPROVEN
    assert waits.changes_ms <= ms(0) + 3 * HOUR


def test_next_instant_is_after_the_instant_of_judging() -> None:
    """What changes at that very instant has been judged."""
    (answer,) = judge_vessel(Record(STORED), LIMITS, step=Step.STORE, holding="cold", until_ms=ms(120))
    assert next_instant(replace(answer, changes_ms=ms(130)), ms(130)) is None
    assert next_instant(replace(answer, changes_ms=ms(130)), ms(130) - 1) == ms(130)
    assert next_instant(replace(answer, changes_ms=None), ms(0)) is None
