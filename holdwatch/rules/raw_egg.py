"""Raw egg: what follows from what the food is made of and whom it is for, beside what its readings show.

==================  ==========================================================================================
cooking             met where the egg was pasteurised, or a way that the code allows was taken; else as cooking is
time control        missed for raw egg that is served to highly susceptible people; unproven where nobody said
everything else     nothing is added
==================  ==========================================================================================

Cooking itself is not asked of pasteurised egg, nor of egg served undercooked with the consumer advisory where the
code lets it be. What nobody said is never taken as the harmless answer.
"""

from collections.abc import Collection
from dataclasses import replace
from enum import StrEnum

from holdwatch.language import N_, _
from holdwatch.limits.model import EggLimits, EggWay, Limits
from holdwatch.rules.answers import Said, answer
from holdwatch.rules.verdicts import ClauseVerdict, Judgement, Process, Verdict, worst
from holdwatch.rules.words import sentence

__all__ = ["Food", "of_this_food"]


class Food(StrEnum):
    """What is declared of the food, or of whom it is for."""

    RAW_EGG = "raw-egg"
    PASTEURISED_EGG = "pasteurised-egg"
    NO_EGG = "no-egg"
    SEVERAL_EGGS = "several-eggs"
    """More than one egg was broken and combined."""
    ONE_PORTION = "one-portion"
    BAKED = "baked"
    HACCP_PLAN = "haccp-plan"
    ADVISORY = "advisory"
    SUSCEPTIBLE = "susceptible"
    """It is served to highly susceptible people: the very young or old, the sick, those in their care."""


_COOKING = frozenset({Process.COOK_EGGS, Process.COOK_EGGS_TO_ORDER})
_TIME_CONTROL = frozenset({Process.TIME_CONTROL_4H, Process.TIME_CONTROL_6H, Process.TIME_CONTROL_FROM_ROOM})
_DECLARED = {EggWay.HACCP_PLAN: Food.HACCP_PLAN, EggWay.ADVISORY: Food.ADVISORY}
_NEEDS_COOKING = {EggWay.ONE_PORTION: Food.ONE_PORTION, EggWay.BAKED: Food.BAKED}
_WORDS = {
    EggWay.PASTEURISED: N_("made with pasteurised egg"),
    EggWay.COOKED: N_("cooked as the code asks"),
    EggWay.ADVISORY: N_("served with the consumer advisory"),
    EggWay.ONE_PORTION: N_("one portion, combined just before it was cooked"),
    EggWay.BAKED: N_("combined just before it was baked through"),
    EggWay.HACCP_PLAN: N_("under a plan that the authority approved"),
}


def of_this_food(judgement: Judgement, limits: Limits, food: Collection[Food]) -> Judgement:
    """Return a judgement with what the code asks of raw egg, where something was declared of the food.

    Parameters
    ----------
    judgement : what the readings show.
    limits : the code of practice.
    food : what was declared; nothing declared changes nothing.
    """
    if not food:
        return judgement
    if judgement.process in _COOKING:
        clauses = _cooking(judgement.clauses, limits, food)
    elif judgement.process in _TIME_CONTROL and Food.SUSCEPTIBLE in food:
        clauses = (*judgement.clauses, _clause(limits, "raw-egg-time-control", _time_control(food)))
    else:
        return judgement
    return replace(judgement, clauses=clauses, verdict=worst(clause.verdict for clause in clauses))


def _time_control(food: Collection[Food]) -> Said:
    if Food.RAW_EGG in food:
        return Verdict.MISSED, _("It is raw egg for highly susceptible people: time does not stand in for temperature.")
    if Food.PASTEURISED_EGG in food or Food.NO_EGG in food:
        return Verdict.MET, _("There is no raw egg in it, as declared.")
    return Verdict.UNPROVEN, _("It is for highly susceptible people, and nobody said whether there is raw egg in it.")


def _cooking(cooked: tuple[ClauseVerdict, ...], limits: Limits, food: Collection[Food]) -> tuple[ClauseVerdict, ...]:
    """Return the clauses of cooking, and the one of raw egg."""
    part = "raw-egg-susceptible" if Food.SUSCEPTIBLE in food else "raw-egg"
    limit = limits.part(part, EggLimits)
    if Food.RAW_EGG not in food:
        if Food.PASTEURISED_EGG not in food and Food.NO_EGG not in food:
            said = Verdict.UNPROVEN, _("Nobody said whether there is raw egg in it.")
            return (*cooked, _clause(limits, part, said))
        why = _("There is no raw egg in it, as declared: cooking is not asked.")
        return (*(_not_asked(clause, why) for clause in cooked), _clause(limits, part, (Verdict.MET, why)))
    if limit is None:
        return (*cooked, _clause(limits, part, (Verdict.NONE, "")))
    ways = limit.ways_combined if Food.SEVERAL_EGGS in food else limit.ways
    told = next((way for way in ways if way in _DECLARED and _DECLARED[way] in food), None)
    shown = worst(clause.verdict for clause in cooked)
    if told is not None and shown is not Verdict.MET:
        why = _("Declared: {way}.").format(way=_(_WORDS[told]))
        return (*(_not_asked(clause, why) for clause in cooked), _clause(limits, part, (Verdict.MET, why)))
    by_cooking = [way for way in ways if way is EggWay.COOKED or _NEEDS_COOKING.get(way) in food]
    if by_cooking:
        return (*cooked, _clause(limits, part, (shown, sentence(f"{_(_WORDS[by_cooking[0]])}: {_(_SHOWN[shown])}."))))
    wanted = _(", or ").join(_(_WORDS[way]) for way in ways)
    why = _("It is raw egg, and none of the ways was declared: {ways}.").format(ways=wanted)
    return (*cooked, _clause(limits, part, (Verdict.MISSED, why)))


_SHOWN = {
    Verdict.MET: N_("a row of the table was met"),
    Verdict.MISSED: N_("no row of the table was met"),
    Verdict.UNPROVEN: N_("the readings do not show it"),
    Verdict.OPEN: N_("it is still cooking"),
    Verdict.NONE: N_("the code gives no figure for it"),
}


def _not_asked(clause: ClauseVerdict, why: str) -> ClauseVerdict:
    return replace(clause, verdict=Verdict.NONE, reason=why, started=None, due=None, reached=None)


def _clause(limits: Limits, part: str, said: Said) -> ClauseVerdict:
    """Return the clause of a part; where the code has no rule, in the code's own words."""
    limit = limits.part(part, EggLimits)
    if limit is not None:
        return answer(limit, said)
    without = limits.no_figure.get(part)
    if without is None:
        why = _("{code} gives no rule on raw egg.").format(code=limits.title)
        return ClauseVerdict(part, limits.title, _("no rule"), Verdict.NONE, why)
    return ClauseVerdict(without.clause, without.source, _("no rule"), Verdict.NONE, without.says)
