"""The date mark of a batch with its life, and the one answer for a vessel that holds food of more than one past."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from holdwatch.limits import load_limits
from holdwatch.readings import Record
from holdwatch.rules.contents import governing
from holdwatch.rules.judge import judge
from holdwatch.rules.life import Life, Span
from holdwatch.rules.marked import Calendar, judge_marked, needs_mark_ms
from holdwatch.rules.verdicts import Judgement, Process, Verdict
from tests.rules.series_words import HOUR, LIMITS, MINUTE, T0, declared, line

MET, MISSED, UNPROVEN, OPEN, NONE = Verdict.MET, Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN, Verdict.NONE
DAY = 24 * HOUR
MARCH_1 = int(datetime(2026, 3, 1, 8, tzinfo=UTC).timestamp() * 1000)


def _day(at_ms: int) -> date:
    return datetime.fromtimestamp(at_ms / 1000, UTC).date()


def _ends(day: date) -> int:
    return int(datetime(day.year, day.month, day.day, tzinfo=UTC).timestamp() * 1000) + DAY - 1


UTC_DAYS = Calendar(_day, _ends)


def made(days: float = 0, *, frozen: tuple[Span, ...] = (), use_by: date | None = None) -> Life:
    """Return what was made so many days after 1 March at eight."""
    return Life(made_ms=MARCH_1 + round(days * DAY), frozen=frozen, use_by=use_by)


def marked(*contents: Life, at: float, ended: float | None = None, code: str = "") -> Judgement | None:
    """Judge the date mark, so many days after 1 March at eight."""
    limits = load_limits(code) if code else LIMITS
    ended_ms = None if ended is None else MARCH_1 + round(ended * DAY)
    return judge_marked(limits, contents, MARCH_1 + round(at * DAY), ended_ms, UTC_DAYS)


# ---------------------------------------------------------------- date marks


def test_mark_is_needed_after_more_than_a_day() -> None:
    """Food Code 3-501.17(A): more than 24 hours, of the content that was made first."""
    assert needs_mark_ms(LIMITS, [made(1), made(0)], UTC_DAYS) == MARCH_1 + DAY + 1
    assert needs_mark_ms(LIMITS, [Life()], UTC_DAYS) is None
    assert marked(made(), at=1) is None
    answer = judge_marked(LIMITS, [made()], MARCH_1 + DAY + 1, None, UTC_DAYS)
    assert answer is not None
    assert answer.verdict is MET
    assert marked(made(), at=5, ended=1) is None  # gone before it needed one
    assert marked(Life(), at=5) is None


@pytest.mark.parametrize(
    ("use_by", "needed_ms"),
    [
        (date(2026, 2, 28), MARCH_1 + 1),  # over when it was opened
        (date(2026, 3, 1), _ends(date(2026, 3, 1)) + 1),
        (date(2026, 3, 2), MARCH_1 + DAY + 1),  # the day after is asked anyhow
    ],
)
def test_mark_is_needed_as_soon_as_a_makers_date_is_over(use_by: date, needed_ms: int) -> None:
    """Food Code 3-501.17(B)(2): the day may not exceed the maker's use-by date; opened on 1 March at eight."""
    opened = made(use_by=use_by)
    assert needs_mark_ms(LIMITS, [Life(use_by=use_by), opened, made()], UTC_DAYS) == needed_ms
    assert judge_marked(LIMITS, [opened], needed_ms - 1, None, UTC_DAYS) is None
    answer = judge_marked(LIMITS, [opened], needed_ms, None, UTC_DAYS)
    assert answer is not None
    assert answer.verdict is (MET if use_by > date(2026, 3, 1) else MISSED)
    australia = load_limits("australia")  # no number of days: nothing to be over
    assert needs_mark_ms(australia, [opened], UTC_DAYS) == MARCH_1 + DAY + 1


@pytest.mark.parametrize(
    ("at", "ended", "verdict", "changes"),
    [
        (6.6, None, MET, True),  # 7 March, still day 7
        (6.7, None, MISSED, False),  # 8 March
        (9, 6.6, MET, False),
        (9, 6.7, MISSED, False),
        (3, 5, MET, False),  # an end in the future is one that was told
    ],
)
def test_mark_is_judged_on_the_sites_own_days(
    at: float, ended: float | None, verdict: Verdict, *, changes: bool
) -> None:
    """Made on 1 March: day 7 is 7 March, until its last millisecond."""
    answer = marked(made(), at=at, ended=ended)
    assert answer is not None
    clause = answer.clauses[0]
    assert clause.verdict is answer.verdict is verdict
    assert clause.started == (MARCH_1, MARCH_1)
    last_ms = _ends(date(2026, 3, 7))
    assert clause.due == (last_ms, last_ms)
    assert answer.changes_ms == (last_ms + 1 if changes else None)
    assert (answer.process.value, answer.occasion, answer.used) == ("date-marking", "date-marking", 0)


def test_mark_changes_when_its_last_day_is_over() -> None:
    """Judged in the last millisecond of that day it changes in the next."""
    last_ms = _ends(date(2026, 3, 7))
    answer = judge_marked(LIMITS, [made()], last_ms, None, UTC_DAYS)
    assert answer is not None
    assert (answer.verdict, answer.changes_ms) == (MET, last_ms + 1)
    over = judge_marked(LIMITS, [made()], last_ms + 1, None, UTC_DAYS)
    assert over is not None
    assert (over.verdict, over.changes_ms) == (MISSED, None)


def test_mark_of_the_content_that_ends_first_governs() -> None:
    """Of two contents the earlier mark; a frozen one has none yet."""
    answer = marked(made(2), made(0), Life(), at=3)
    assert answer is not None
    assert answer.clauses[0].due == (_ends(date(2026, 3, 7)),) * 2
    assert answer.clauses[0].started == (MARCH_1, MARCH_1)
    cream = made(0, frozen=((MARCH_1 + DAY, None),))
    answer = marked(cream, made(2), at=3)
    assert answer is not None
    assert answer.clauses[0].due == (_ends(date(2026, 3, 9)),) * 2
    by_maker = marked(made(0, use_by=date(2026, 3, 4)), at=3)
    assert by_maker is not None
    assert by_maker.clauses[0].due == (_ends(date(2026, 3, 4)),) * 2


def test_mark_of_frozen_food_knows_only_what_was_so_by_then() -> None:
    """Frozen from 3 to 10 March: on 5 March it is still frozen, and before 3 March nobody knew."""
    stay = ((MARCH_1 + 2 * DAY, MARCH_1 + 9 * DAY),)
    frozen = marked(made(frozen=stay), at=4)
    assert frozen is not None
    assert frozen.verdict is OPEN
    assert frozen.clauses[0].due is None
    assert frozen.changes_ms is None
    at_once = marked(made(frozen=stay), at=2)  # from the very instant on
    assert at_once is not None
    assert at_once.clauses[0].due is None
    for at, last in ((1.9, date(2026, 3, 7)), (9, date(2026, 3, 14))):
        answer = marked(made(frozen=stay), at=at)
        assert answer is not None
        assert answer.clauses[0].due == (_ends(last),) * 2


def test_mark_in_a_code_without_a_number_of_days_says_so() -> None:
    """Ours: said after a day."""
    assert marked(made(), at=1, code="australia") is None
    answer = judge_marked(load_limits("australia"), [made()], MARCH_1 + DAY + 1, None, UTC_DAYS)
    assert answer is not None
    assert answer.verdict is NONE
    assert "gives no number of days" in answer.clauses[0].reason
    assert answer.clauses[0].clause == "use-by"


# ---------------------------------------------------------------- more than one past


def _held(degrees: float, *, until: float = 30) -> Judgement:
    record = Record(line((0, degrees), (30, degrees)), declared=declared(("from", 0)))
    return judge(Process.COLD_HOLDING, record, LIMITS, until_ms=T0 + round(until * MINUTE))


def _cooling(left_heat: float) -> Judgement:
    record = Record(line((0, 120), (30, 100)), declared=declared(("left-heat", left_heat)))
    return judge(Process.COOLING, record, LIMITS, until_ms=T0 + 30 * MINUTE)


def test_contents_of_one_past_answer_for_themselves() -> None:
    """Nothing is chosen where there is nothing to choose."""
    alone = (_held(38), _cooling(0))
    assert governing([alone]) is alone


def test_contents_are_as_bad_as_the_worst_of_them() -> None:
    """Mixed with food that missed, it missed; what only one of them is asked is asked."""
    for answers in ([(_held(38),), (_held(50), _cooling(0))], [(_held(50), _cooling(0)), (_held(38),)]):
        held, cooled = sorted(governing(answers), key=lambda one: one.process.value)
        assert (held.process, cooled.process) == (Process.COLD_HOLDING, Process.COOLING)
        assert held.verdict is held.clauses[0].verdict is MISSED
        assert cooled.verdict is OPEN


def test_contents_equally_bad_are_due_with_the_first() -> None:
    """The oldest content governs, and the next look is the earliest of all."""
    young, old = _cooling(0), _cooling(-60)
    for answers in ([(young,), (old,)], [(old,), (young,)]):
        (chosen,) = governing(answers)
        assert chosen.clauses[0].due == (T0 + 1 * HOUR, T0 + 2 * HOUR)
        assert chosen.changes_ms == old.changes_ms
    later = replace(old, changes_ms=None)
    assert governing([(young,), (later,)])[0].changes_ms == young.changes_ms
    assert governing([(later,), (later,)])[0].changes_ms is None


def test_contents_ask_every_question_once() -> None:
    """The questions of all of them, in order, none twice."""
    one, two = replace(_held(38), asks=("a", "b")), replace(_held(38), asks=("b", "c"))
    assert governing([(one,), (two,)])[0].asks == ("a", "b", "c")


def test_contents_kept_and_asked_nothing_are_kept() -> None:
    """Nothing asked of the one is no ground against the other."""
    nothing = _held(38)
    clause = replace(nothing.clauses[0], verdict=NONE)
    none = replace(nothing, clauses=(clause,), verdict=NONE)
    assert governing([(none,), (_held(38),)])[0].verdict is MET
    unproven = _held(38, until=60)
    assert unproven.verdict is UNPROVEN
    assert governing([(_held(38),), (unproven,)])[0].verdict is UNPROVEN


def test_contents_each_the_worse_in_another_clause_are_the_worse_in_both() -> None:
    """One missed the first stage, the other the second."""
    whole = _cooling(0)
    one, two = whole.clauses
    early = replace(whole, clauses=(replace(one, verdict=MISSED), replace(two, verdict=MET)))
    late = replace(whole, clauses=(replace(one, verdict=MET), replace(two, verdict=MISSED)))
    (chosen,) = governing([(early,), (late,)])
    assert [clause.verdict for clause in chosen.clauses] == [MISSED, MISSED]
    assert chosen.verdict is MISSED
