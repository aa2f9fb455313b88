"""A clause's verdict as plain facts for the store, and back; instants stay whole milliseconds."""

from dataclasses import asdict
from typing import Any

from holdwatch.rules.verdicts import Bracket, ClauseVerdict, Judgement, Spell, Verdict

__all__ = ["from_facts", "next_instant", "to_facts"]


def to_facts(clause: ClauseVerdict) -> dict[str, Any]:
    """Return a clause's verdict as JSON values."""
    facts = asdict(clause)
    facts["verdict"] = clause.verdict.value
    facts["started"], facts["due"], facts["reached"] = (
        list(bracket) if bracket is not None else None for bracket in (clause.started, clause.due, clause.reached)
    )
    facts["spells"] = [
        {
            "begins": list(spell.begins),
            "ends": list(spell.ends),
            "extreme_c": spell.extreme_c,
            "readings": spell.readings,
        }
        for spell in clause.spells
    ]
    return facts


def from_facts(facts: dict[str, Any]) -> ClauseVerdict:
    """Return the clause's verdict that `to_facts` wrote down."""
    return ClauseVerdict(
        clause=facts["clause"],
        source=facts["source"],
        requires=facts["requires"],
        verdict=Verdict(facts["verdict"]),
        reason=facts["reason"],
        start_level_c=facts["start_level_c"],
        level_c=facts["level_c"],
        started=_bracket(facts["started"]),
        due=_bracket(facts["due"]),
        reached=_bracket(facts["reached"]),
        spells=tuple(
            Spell(
                (spell["begins"][0], spell["begins"][1]),
                (spell["ends"][0], spell["ends"][1]),
                spell["extreme_c"],
                spell["readings"],
            )
            for spell in facts["spells"]
        ),
        doubtful=facts["doubtful"],
    )


def next_instant(judgement: Judgement, until_ms: int) -> int | None:
    """Return the earliest instant after `until_ms` at which time alone can change an answer, or ``None``."""
    changes = judgement.changes_ms
    return changes if changes is not None and changes > until_ms else None


def _bracket(ends: list[int | None] | None) -> Bracket | None:
    return None if ends is None else (ends[0], ends[1])
