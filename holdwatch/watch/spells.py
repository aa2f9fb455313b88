"""Spells beyond a level as findings: spells that are less than half an hour apart are told as one.

A spell is over when the food has been seen back within the level and, half an hour of readings later, still is. A
hole ends nothing: without a reading that shows it back, a spell goes on.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import _
from holdwatch.rules.verdicts import Spell
from holdwatch.watch.site import InForce

__all__ = ["APART_MS", "Group", "group_spells", "spell_words"]

APART_MS = 30 * MS_PER_MINUTE
"""Ours: the half hour after which holding begins is also what ends a spell."""


@dataclass(frozen=True)
class Group:
    """Spells told as one; every instant is a reading's [ms]."""

    before_ms: int | None
    """The last reading that was within the level before."""
    first_ms: int
    last_ms: int
    back_ms: int | None
    """The first reading within the level afterwards."""
    extreme_c: float
    longest_ms: int
    """The longest of them, from its first to its last reading beyond the level."""
    spells: int
    readings: int
    over: bool


def group_spells(spells: Sequence[Spell], last_reading_ms: int | None, level_c: float) -> list[Group]:
    """Join neighbouring spells, and tell which of them are over.

    Parameters
    ----------
    spells : in any order, each with at least one reading.
    last_reading_ms : the last judged reading, ``None`` if there is none.
    level_c : the level that they are beyond. [°C]
    """
    groups: list[list[Spell]] = []
    for spell in sorted(spells, key=_first):
        if groups and _first(spell) - _end(groups[-1][-1]) < APART_MS:
            groups[-1].append(spell)
        else:
            groups.append([spell])
    return [_group(several, last_reading_ms, level_c) for several in groups]


def spell_words(group: Group, level_c: float, here: InForce) -> str:
    """Say since when, and how far, it was beyond a level. [°C]."""
    said = (
        _("above {level} from {time}, farthest {degrees}")
        if group.extreme_c > level_c
        else _("below {level} from {time}, farthest {degrees}")
    )
    return said.format(level=here.level(level_c), time=here.when(group.first_ms), degrees=here.degrees(group.extreme_c))


def _group(several: Sequence[Spell], last_reading_ms: int | None, level_c: float) -> Group:
    back = several[-1].ends[1]
    seen_back = back is not None and last_reading_ms is not None and last_reading_ms - back >= APART_MS
    return Group(
        before_ms=several[0].begins[0],
        first_ms=_first(several[0]),
        last_ms=_last(several[-1]),
        back_ms=back,
        extreme_c=max((spell.extreme_c for spell in several), key=lambda c: abs(c - level_c)),
        longest_ms=max(_last(spell) - _first(spell) for spell in several),
        spells=len(several),
        readings=sum(spell.readings for spell in several),
        over=seen_back,
    )


def _first(spell: Spell) -> int:
    """Return the first reading beyond the level; a spell has one."""
    return spell.begins[1]


def _last(spell: Spell) -> int:
    return spell.ends[0]


def _end(spell: Spell) -> int:
    """Return from when on a next spell may begin: the reading that was back, else the last one beyond."""
    return int(spell.ends[1]) if spell.ends[1] is not None else _last(spell)
