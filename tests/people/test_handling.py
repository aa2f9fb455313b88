"""The life of a finding: every stage, every act."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdwatch.people.handling import (
    REFUSALS,
    RIGHT_OF,
    TABLE,
    Act,
    Deed,
    Disposition,
    Handling,
    Stage,
    handling_of,
    refusal,
)
from holdwatch.people.roles import Right

_PATHS = {
    Stage.UNSEEN: (),
    Stage.SEEN: (Act.SEEN,),
    Stage.HELD: (Act.SEEN, Act.HOLD),
    Stage.PROMISED: (Act.SEEN, Act.PROMISE),
    Stage.HANDLED: (Act.SEEN, Act.ACTION),
    Stage.VERIFIED: (Act.SEEN, Act.ACTION, Act.VERIFIED),
}
U, S, H, P, D, V = Stage
NO = None
# The whole table, written by hand from the life that a finding has: rows are acts, columns stages.
#                    unseen  seen  held  promised  handled  verified
EXPECTED = {
    Act.SEEN:         (S,     S,    H,    P,        D,       V),
    Act.ACTION:       (D,     D,    D,    D,        D,       NO),
    Act.PROMISE:      (P,     P,    P,    P,        P,       NO),
    Act.HOLD:         (H,     H,    H,    H,        H,       NO),
    Act.CHECK_KEPT:   (NO,    NO,   NO,   D,        NO,      NO),
    Act.CHECK_FAILED: (NO,    NO,   NO,   S,        NO,      NO),
    Act.MISTAKEN:     (D,     D,    D,    D,        D,       NO),
    Act.VERIFIED:     (NO,    NO,   NO,   NO,       V,       NO),
    Act.REOPENED:     (NO,    NO,   NO,   NO,       S,       S),
    Act.AGAIN:        (U,     U,    U,    U,        U,       U),
    Act.CORRECTION:   (NO,    S,    H,    P,        D,       D),
}  # fmt: skip


def _deeds(*acts: Act, by: str = "Tomas Ek") -> list[Deed]:
    return [Deed(act, "Ines Okafor" if act is Act.VERIFIED else by, n, signed=True) for n, act in enumerate(acts)]


@pytest.mark.parametrize(("stage", "act"), list(itertools.product(Stage, Act)))
def test_every_act_at_every_stage(stage: Stage, act: Act) -> None:
    """What is allowed leads where the life says; what is not is refused in words that say what to do."""
    path = _deeds(*_PATHS[stage])
    now = handling_of(path)
    assert now.stage is stage
    expected = EXPECTED[act][list(Stage).index(stage)]
    said = refusal(now, act, "Somebody Else")
    after = handling_of([*path, Deed(act, "Somebody Else", 99)])
    if expected is None:
        assert said == REFUSALS[stage, act]
        assert after == now
    else:
        assert said == ""
        assert after.stage is expected


def test_the_two_tables_leave_nothing_out_and_share_nothing() -> None:
    """Every pair is either allowed or refused with a sentence."""
    assert set(TABLE) | set(REFUSALS) == set(itertools.product(Stage, Act))
    assert not set(TABLE) & set(REFUSALS)
    assert all(REFUSALS.values())


@pytest.mark.parametrize("name", ["Tomas Ek", "tomas ek", "Bo Lind"])
def test_nobody_verifies_what_they_decided(name: str) -> None:
    """Nor one of two who decided together; whoever only saw it may."""
    now = handling_of(
        [
            Deed(Act.SEEN, "Ines Okafor", 0),
            Deed(Act.PROMISE, "Bo Lind", 1, check_ms=9),
            Deed(Act.CHECK_KEPT, "Tomas Ek", 2),
        ]
    )
    assert "somebody else verifies" in refusal(now, Act.VERIFIED, name)
    assert refusal(now, Act.VERIFIED, "Ines Okafor") == ""


def test_two_people_in_the_same_moment() -> None:
    """Both entries stand in the record; the second changes only what it could have changed alone."""
    base = _deeds(Act.SEEN)
    one, two = Deed(Act.ACTION, "Tomas Ek", 5, disposition=Disposition.DISCARD), Deed(Act.ACTION, "Bo Lind", 5)
    both = handling_of([*base, one, two])
    assert (both.stage, set(both.handled_by)) == (Stage.HANDLED, {"Tomas Ek", "Bo Lind"})
    assert both.disposition is Disposition.DISCARD
    twice = handling_of([*base, one, Deed(Act.VERIFIED, "Ines Okafor", 6), Deed(Act.VERIFIED, "Ana Ruiz", 6)])
    assert (twice.stage, twice.verified_by) == (Stage.VERIFIED, "Ines Okafor")
    late = handling_of([*base, one, Deed(Act.VERIFIED, "Ines Okafor", 6), two])
    assert (late.stage, late.handled_by) == (Stage.VERIFIED, ("Tomas Ek",))


def test_a_promise_is_due_until_it_is_kept_or_replaced() -> None:
    """An action with a promised check is itself watched."""
    promised = handling_of([Deed(Act.PROMISE, "Tomas Ek", 1, check_ms=1200)])
    assert (promised.stage, promised.check_ms) == (Stage.PROMISED, 1200)
    for act in (Act.CHECK_KEPT, Act.CHECK_FAILED, Act.ACTION, Act.AGAIN, Act.MISTAKEN):
        ended = handling_of([Deed(Act.PROMISE, "Tomas Ek", 1, check_ms=1200), Deed(act, "Tomas Ek", 2)])
        assert ended.check_ms is None
    renewed = [Deed(Act.PROMISE, "Tomas Ek", 1, check_ms=1200), Deed(Act.PROMISE, "Tomas Ek", 2, check_ms=2400)]
    assert handling_of(renewed).check_ms == 2400


def test_what_got_worse_is_unseen_and_may_be_verified_by_whoever_decided_before() -> None:
    """A new turn is dealt with anew."""
    now = handling_of([*_deeds(Act.SEEN, Act.ACTION, Act.VERIFIED), Deed(Act.AGAIN, "", 9)])
    assert now == Handling(Stage.UNSEEN)


def test_a_correction_after_verifying_asks_for_verifying_again() -> None:
    """What was verified was another text."""
    now = handling_of([*_deeds(Act.ACTION, Act.VERIFIED), Deed(Act.CORRECTION, "Tomas Ek", 9, signed=True)])
    assert (now.stage, now.verified_by) == (Stage.HANDLED, "")
    assert refusal(now, Act.VERIFIED, "Ines Okafor") == ""


def test_food_is_reheated_once() -> None:
    """And holding is an act of its own."""
    now = handling_of([Deed(Act.ACTION, "Tomas Ek", 1, disposition=Disposition.REHEAT)])
    assert "reheated once" in refusal(now, Act.ACTION, "Tomas Ek", Disposition.REHEAT)
    assert refusal(now, Act.ACTION, "Tomas Ek", Disposition.DISCARD) == ""
    assert "record it as held" in refusal(now, Act.ACTION, "Tomas Ek", Disposition.HOLD)


def test_decisions_without_a_signature_are_counted() -> None:
    """A discard at two in the morning is taken unsigned, and is not forgotten."""
    now = handling_of([Deed(Act.SEEN, "Tomas Ek", 0), Deed(Act.ACTION, "Tomas Ek", 1, disposition=Disposition.DISCARD)])
    assert (now.stage, now.unsigned) == (Stage.HANDLED, 1)


def test_every_act_of_a_person_names_its_right() -> None:
    """Only the watch acts without one; verifying and reopening are a manager's."""
    assert set(Act) - set(RIGHT_OF) == {Act.AGAIN}
    assert {act for act, right in RIGHT_OF.items() if right is Right.VERIFY} == {Act.VERIFIED, Act.REOPENED}


@given(st.lists(st.sampled_from(list(Act)), max_size=12))
def test_verified_only_ever_follows_handled(acts: list[Act]) -> None:
    """However acts are mixed: nothing is verified that nobody decided, and a promise is open only while promised."""
    for length in range(len(acts) + 1):
        now = handling_of(_deeds(*acts[:length]))
        assert (now.stage is Stage.VERIFIED) == bool(now.verified_by)
        assert now.settled or not now.verified_by
        if now.stage in {Stage.HANDLED, Stage.VERIFIED, Stage.HELD, Stage.PROMISED}:
            assert now.handled_by
