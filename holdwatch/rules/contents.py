"""One answer for a vessel that holds food with more than one past: the content that fares worst governs."""

from collections.abc import Sequence
from dataclasses import replace

from holdwatch.rules.verdicts import ClauseVerdict, Judgement, Verdict, worst

__all__ = ["governing"]

_WORST_FIRST = (Verdict.MISSED, Verdict.UNPROVEN, Verdict.OPEN, Verdict.MET, Verdict.NONE)


def governing(answers: Sequence[tuple[Judgement, ...]]) -> tuple[Judgement, ...]:
    """Return, for each process and occasion, the judgement whose clauses are the worst of every content's.

    Of equally bad answers the one that falls due first governs: it is that of the oldest content.
    """
    if len(answers) == 1:
        return answers[0]
    groups: dict[tuple[str, str], list[Judgement]] = {}
    for several in answers:
        for judgement in several:
            groups.setdefault((judgement.process.value, judgement.occasion), []).append(judgement)
    return tuple(_one(group) for group in groups.values())


def _one(group: list[Judgement]) -> Judgement:
    clauses: dict[str, list[ClauseVerdict]] = {}
    for judgement in group:
        for clause in judgement.clauses:
            clauses.setdefault(clause.clause, []).append(clause)
    chosen = tuple(min(several, key=_badness) for several in clauses.values())
    first = next(judgement for judgement in group if any(clause in judgement.clauses for clause in chosen))
    changes = [judgement.changes_ms for judgement in group if judgement.changes_ms is not None]
    return replace(
        first,
        clauses=chosen,
        verdict=worst(clause.verdict for clause in chosen),
        asks=tuple(dict.fromkeys(ask for judgement in group for ask in judgement.asks)),
        changes_ms=min(changes, default=None),
    )


def _badness(clause: ClauseVerdict) -> tuple[int, float]:
    due = [at for at in clause.due or () if at is not None]
    return _WORST_FIRST.index(clause.verdict), min(due, default=float("inf"))
