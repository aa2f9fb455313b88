"""Reconciling what stands with what the record calls for: pure, so every case is one line."""

from holdwatch.rules.verdicts import Spell
from holdwatch.storage.tables import FindingKind
from holdwatch.watch.findings import Change, Match, Stored, Wanted, reconcile
from holdwatch.watch.spells import APART_MS, group_spells

MIN = 60_000


def _wanted(first: int, last: int, match: Match = Match.SPELL) -> Wanted:
    return Wanted("f", match, FindingKind.DEVIATION, "unit:1:1", "t", "r", first, first_ms=first, last_ms=last)


def _stored(number: int, first: int, last: int, *, is_open: bool = True, **more: bool) -> Stored:
    return Stored(number, "f", first, last, is_open=is_open, **more)


def _plain(changes: list[Change]) -> list[tuple[int | None, int | None, str | None]]:
    return [(c.stored_id, c.wanted.first_ms if c.wanted is not None else None, c.into) for c in changes]


def test_reconcile_opens_what_is_new() -> None:
    """Nothing stands, one is wanted."""
    assert _plain(reconcile([], [_wanted(5, 9)])) == [(None, 5, None)]


def test_reconcile_keeps_the_row_of_a_spell_that_grew_at_either_end() -> None:
    """A late reading before it, a new one after it: the same finding."""
    assert _plain(reconcile([_stored(3, 5, 9)], [_wanted(2, 12)])) == [(3, 2, None)]


def test_reconcile_gives_a_joined_spell_the_oldest_row_and_merges_the_others() -> None:
    """The oldest finding is the one that was opened first, wherever it lies in time."""
    stored = [_stored(1, 20, 25), _stored(2, 5, 9, is_open=False)]
    assert _plain(reconcile(stored, [_wanted(5, 25)])) == [(1, 5, None), (2, None, "f@5")]


def test_reconcile_gives_a_split_spell_one_old_and_one_new_row() -> None:
    """The first part keeps the row."""
    assert _plain(reconcile([_stored(1, 5, 25)], [_wanted(5, 9), _wanted(20, 25)])) == [(1, 5, None), (None, 20, None)]


def test_reconcile_withdraws_what_vanished_and_leaves_what_was_withdrawn() -> None:
    """Open or over, what the record no longer shows falls once."""
    stored = [_stored(1, 5, 9), _stored(2, 20, 22, is_open=False), _stored(3, 30, 31, is_open=False, stands=False)]
    assert _plain(reconcile(stored, [])) == [(1, None, None), (2, None, None)]


def test_reconcile_takes_up_a_withdrawn_finding_again_but_never_a_merged_one() -> None:
    """The same spell has the same row whatever became of it meanwhile."""
    stored = [
        _stored(1, 5, 9, is_open=False, stands=False, merged=True),
        _stored(2, 5, 9, is_open=False, stands=False),
    ]
    assert _plain(reconcile(stored, [_wanted(6, 8)])) == [(2, 6, None)]


def test_reconcile_never_reopens_a_running_one_that_is_over() -> None:
    """Another silence is another finding."""
    stored = [_stored(1, 0, 0, is_open=False, stands=False)]
    assert _plain(reconcile(stored, [_wanted(7, 7, Match.RUNNING)])) == [(None, 7, None)]
    assert _plain(reconcile([_stored(2, 0, 0)], [_wanted(7, 7, Match.RUNNING)])) == [(2, 7, None)]


def _spell(before: int | None, first: int, last: int, back: int | None) -> Spell:
    return Spell((before, first), (last, back), 10.0, 2)


def test_spells_less_than_half_an_hour_apart_are_one() -> None:
    """Exactly half an hour parts them."""
    near = [_spell(0, 1, 2, 3), _spell(3, 3 + APART_MS - 1, 3 + APART_MS, None)]
    apart = [_spell(0, 1, 2, 3), _spell(3, 3 + APART_MS, 4 + APART_MS, None)]
    assert [g.first_ms for g in group_spells(near, None, 5.0)] == [1]
    assert [g.first_ms for g in group_spells(apart, None, 5.0)] == [1, 3 + APART_MS]


def test_spell_is_over_after_half_an_hour_of_readings_within_the_level() -> None:
    """A hole ends nothing: without a reading that late, or without any that is back, it goes on."""
    assert not group_spells([_spell(0, MIN, 2 * MIN, None)], 99 * MIN, 5.0)[0].over
    assert not group_spells([_spell(0, MIN, 2 * MIN, 3 * MIN)], 3 * MIN + APART_MS - 1, 5.0)[0].over
    assert group_spells([_spell(0, MIN, 2 * MIN, 3 * MIN)], 3 * MIN + APART_MS, 5.0)[0].over
