"""A probe in a unit: each local day judged from its midnight, and the spells beyond the level, across midnights.

A day has one verdict. A spell knows no midnight: where one is not over at the end of a day, the days are judged
together for it, so its identity is its first reading wherever the days are cut.

Only food proves or breaks a food limit. Air warns by the food that it leads to (``drifting``), simulated product when it
has been beyond the level for half an hour on end, so that a door or a defrost calls nobody. A hole in a day makes its verdict "not shown" and no finding:
the probe's silence has its own.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
from sqlmodel import Session

from holdwatch.clock import MS_PER_MINUTE
from holdwatch.language import _
from holdwatch.readings import Medium
from holdwatch.rules.facts import next_instant, to_facts
from holdwatch.rules.verdicts import ClauseVerdict, Judgement, Verdict
from holdwatch.rules.words import MEDIUM
from holdwatch.storage.out_of_use import Rest, next_change_ms, rests
from holdwatch.storage.readings import load_series
from holdwatch.storage.tables import Finding, FindingKind, Probe, Unit
from holdwatch.storage.thinned import is_thinned
from holdwatch.watch.answer import Answer, ClauseAnswer, earliest
from holdwatch.watch.days import SETTLED_AFTER_MS, day_after, day_span
from holdwatch.watch.drifting import Drift, drifts_of, told_of
from holdwatch.watch.findings import Gone, Match, Wanted
from holdwatch.watch.resting import rest_words
from holdwatch.watch.spells import Group, group_spells, spell_words
from holdwatch.watch.subjects import unit_subject
from holdwatch.watch.unitdays import Day, Post, day_at, day_named, post_of, window
from holdwatch.watch.unitsight import judge_days, judge_whole, stored_sight

__all__ = ["PRODUCT_BEYOND_MS", "judge_unit"]

PRODUCT_BEYOND_MS = 30 * MS_PER_MINUTE
"""Ours: so long simulated product has to be beyond the level on end before somebody is told."""
DAYS_AT_ONCE = 8
AHEAD_MS = 3 * MS_PER_MINUTE


def judge_unit(
    session: Session, unit: Unit, probe: Probe, facts: Mapping[str, Any], now_ms: int, *, largest_gap_ms: int | None
) -> Answer:
    """Judge the days that were touched or still run; what is too much for one turn is left for the next."""
    post = post_of(session, unit, probe, now_ms, largest_gap_ms)
    if post is None:
        return Answer(subject=unit_subject(unit.id or 0, probe.id or 0), unit_id=unit.id, probe_id=probe.id)
    names, later = _turn(_days_to_judge(session, post, facts))
    if not names:
        return Answer(subject=post.subject, speaks_of=lambda _: False, unit_id=unit.id, probe_id=probe.id)
    days = [day_named(session, name) for name in names]
    judged, sights = judge_days(session, post, days)
    later = sorted({*later, *_days_that_look_further(session, post, names, sights)})
    first, last = window(session, post, days, judged)
    whole = judged[first.name] if first.name == last.name else judge_whole(session, post, first, last, sights)
    out_of_use = tuple(rests(session, unit.id, first.first_ms, last.last_ms))
    drifts = drifts_of(session, post, whole)
    seen = _Seen(post, judged, whole, {day.name: day for day in days}, last, drifts, out_of_use)
    waits = {name: _wait(post, seen.days[name], judgement) for name, judgement in judged.items()}
    running = {*(name for name, at in waits.items() if at is not None)}
    if post.stands:
        running.add(day_at(session, now_ms).name)
    return Answer(
        subject=post.subject,
        clauses=[
            ClauseAnswer(judgement, clause, name, sights[name])
            for name, judgement in judged.items()
            if judgement is not None
            for clause in judgement.clauses
        ],
        days=tuple(names),
        wanted=[*seen.spells(), *seen.doubtful()],
        gone=seen.gone,
        since_ms=first.first_ms - AHEAD_MS,
        speaks_of=lambda finding: _is_judged(finding, names, first, last),
        next_ms=now_ms if later else earliest(*waits.values(), *_ticks(session, post)),
        facts={"running": sorted(running)} | ({"days": later} if later else {}),
        unit_id=unit.id,
        probe_id=probe.id,
    )


@dataclass(frozen=True)
class _Seen:
    """The judgements of one turn."""

    post: Post
    judged: Mapping[str, Judgement | None]
    whole: Judgement | None
    days: Mapping[str, Day]
    last: Day
    drifts: Mapping[tuple[str, int], Drift]
    rests: Sequence[Rest] = ()
    """When the unit was out of use."""

    def spells(self) -> list[Wanted]:
        """Return a deviation for each spell of food, a warning for each of air or product that is worth one."""
        if self.whole is None:
            return []
        return [
            self._spell(self.whole, clause, group)
            for clause in self.whole.clauses
            for group in group_spells(clause.spells, self.whole.last_ms, clause.level_c or 0.0)
            if self._breaks(clause) or self._warns(clause, group)
        ]

    def doubtful(self) -> list[Wanted]:
        """Return a finding for each day on which the probe was perhaps not in the food."""
        return [
            self._not_shown(judgement, clause, self.days[name])
            for name, judgement in self.judged.items()
            if judgement is not None
            for clause in judgement.clauses
            if clause.verdict is Verdict.UNPROVEN and clause.doubtful
        ]

    def gone(self, finding: Finding) -> Gone:
        """Say why a finding of the post is no longer called for."""
        verdict = self.whole.verdict.value if self.whole is not None else Verdict.NONE.value
        span = int(finding.facts["first_ms"]), int(finding.facts["last_ms"])
        explains = next((rest for rest in self.rests if rest.touches(*span)), None)
        if explains is not None:
            said = _("{unit} was {state}: no limit was asked of it then")
            return Gone(said.format(unit=self.post.unit.name, state=rest_words(explains, self.last.here)), verdict)
        if finding.facts.get("match") == Match.ONE.value:
            return Gone(_("a later reading or an answer settles whether the probe was in the food"), verdict)
        return Gone(_("a later reading shows that the level was kept"), verdict)

    def _breaks(self, clause: ClauseVerdict) -> bool:
        """Tell whether a reading of this probe can break a clause: food does, and air where the limit is written for it."""
        return self.post.probe.medium == Medium.FOOD or clause.verdict is Verdict.MISSED

    def _warns(self, clause: ClauseVerdict, group: Group) -> bool:
        if self.post.probe.medium == Medium.AIR:
            return (clause.clause, group.first_ms) in self.drifts
        return group.longest_ms >= PRODUCT_BEYOND_MS

    def _spell(self, judgement: Judgement, clause: ClauseVerdict, group: Group) -> Wanted:
        here, level_c = self.last.here, clause.level_c or 0.0
        level, what = here.level(level_c), spell_words(group, level_c, here)
        over_ms, over_reason = self._over(group, level)
        breaks = self._breaks(clause)
        if self.post.probe.medium == Medium.FOOD:
            reason = f"{what}."
        elif breaks:
            medium = _(MEDIUM[Medium(self.post.probe.medium)])
            said = _("the {medium} was {what}; {requires}.")
            reason = said.format(medium=medium, what=what, requires=clause.requires)
        elif self.post.probe.medium == Medium.AIR:
            reason = told_of(self.drifts[clause.clause, group.first_ms], here, level, what)
        else:
            reason = _("the simulated product was {what}; check the food with a probe.").format(what=what)
        return Wanted(
            family=f"{self.post.subject}/{clause.clause}",
            match=Match.SPELL,
            kind=FindingKind.DEVIATION if breaks else FindingKind.SOON,
            subject=self.post.subject,
            title=self.post.title,
            reason=reason,
            since_ms=group.first_ms,
            clause=clause.clause,
            source=clause.source,
            verdict=Verdict.MISSED.value if breaks else Verdict.NONE.value,
            first_ms=group.first_ms,
            last_ms=group.last_ms,
            over_ms=over_ms,
            over_reason=over_reason,
            unit_id=self.post.unit.id,
            probe_id=self.post.probe.id,
            facts=_facts(judgement, clause),
        )

    def _over(self, group: Group, level: str) -> tuple[int | None, str]:
        """Return when a spell was over, and how that is known."""
        here = self.last.here
        if group.over and group.back_ms is not None:
            return group.back_ms, _("within {level} again at {time}").format(level=level, time=here.when(group.back_ms))
        lasts = [last for __, last in self.post.spans]
        ends = [last for last in lasts if last is not None and last >= group.last_ms]
        goes_on = any(last is None or last > self.post.now_ms for last in lasts)
        if ends and not goes_on:
            return min(ends), _("the probe was taken out at {time}").format(time=here.when(min(ends)))
        return None, ""

    def _not_shown(self, judgement: Judgement, clause: ClauseVerdict, day: Day) -> Wanted:
        asks = f" {judgement.asks[0]}" if judgement.asks else ""
        ended = day.last_ms < self.post.now_ms
        return Wanted(
            family=f"{self.post.subject}/{clause.clause}/{day.name}",
            match=Match.ONE,
            kind=FindingKind.NOT_SHOWN,
            subject=self.post.subject,
            title=self.post.title,
            reason=f"{clause.reason}{asks}",
            since_ms=day.first_ms,
            clause=clause.clause,
            source=clause.source,
            verdict=clause.verdict.value,
            first_ms=day.first_ms,
            last_ms=day.last_ms,
            over_ms=day.last_ms if ended else None,
            over_reason=_("the day is over; it stays not shown") if ended else "",
            unit_id=self.post.unit.id,
            probe_id=self.post.probe.id,
            facts=_facts(judgement, clause),
        )


def _facts(judgement: Judgement, clause: ClauseVerdict) -> dict[str, Any]:
    return {
        "process": judgement.process.value,
        "requires": clause.requires,
        "level_c": clause.level_c,
        "limits": judgement.limits,
        "clause": {**to_facts(clause), "spells": []},
    }


def _is_judged(finding: Finding, names: Sequence[str], first: Day, last: Day) -> bool:
    """Tell whether a finding is about what was judged: a spell that touches the window, a day of this turn."""
    facts = finding.facts
    if facts.get("match") == Match.ONE.value:
        return str(facts.get("family", "")).rpartition("/")[2] in names
    return bool(facts["first_ms"] <= last.last_ms and facts["last_ms"] >= first.first_ms)


# ---------------------------------------------------------------- which days, and when again


def _days_to_judge(session: Session, post: Post, facts: Mapping[str, Any]) -> list[str]:
    """Return the days that were touched with the days after them, those whose answer runs, and those begun since."""
    told = facts.get("days", ())
    touched = [name for name in {*told, *_cut_short(session, told)} if not _is_thinned(session, post, name)]
    names = {*touched, *facts.get("running", ())}
    today = day_at(session, post.now_ms).name
    after = {day_after(name) for name in touched}
    after = {name for name in after if name <= today and not _is_thinned(session, post, name)}
    names |= after  # the sieve of a day looks at the evening before
    if post.stands and (facts.get("running") or not names):
        name = max(facts.get("running", (today,)))
        while name <= today:
            names.add(name)
            name = day_after(name)
    return sorted(names)


def _cut_short(session: Session, names: Sequence[str]) -> list[str]:
    """Return the days before those that begin late, as the site's zone was set anew: some of their hours are of these."""
    days = [day_named(session, name) for name in names]
    return [day_after(day.name, -1) for day in days if day.first_ms > day_span(day.name, day.here.timezone)[0]]


def _is_thinned(session: Session, post: Post, name: str) -> bool:
    """Tell whether a day cannot be judged again, as its readings were thinned: what was found of it stands."""
    day = day_named(session, name)
    return is_thinned(session, day.first_ms, day.last_ms, post.now_ms)


def _days_that_look_further(
    session: Session, post: Post, names: Sequence[str], sights: Mapping[str, int | None]
) -> list[str]:
    """Return the day after the last one judged, where a doubt changed how far back it has to look."""
    last, after = names[-1], day_after(names[-1])
    if sights[last] == stored_sight(session, post, last) or after > day_at(session, post.now_ms).name:
        return []
    return [after]


def _turn(names: list[str]) -> tuple[list[str], list[str]]:
    """Cut off the first days in a row, not more than a turn may take."""
    taken = names[:1]
    for name in names[1:DAYS_AT_ONCE]:
        if date.fromisoformat(name) - date.fromisoformat(taken[-1]) != timedelta(days=1):
            break
        taken.append(name)
    return taken, names[len(taken) :]


def _wait(post: Post, day: Day, judgement: Judgement | None) -> int | None:
    """Return when a day's answer can change by time alone."""
    if judgement is None:
        return None
    settled = day.last_ms + SETTLED_AFTER_MS
    if post.now_ms >= settled:
        return None
    over = None if post.stands else day.last_ms + 1  # the rest of the day is not shown then
    return earliest(next_instant(judgement, post.now_ms), settled if post.now_ms > day.last_ms else over)


def _ticks(session: Session, post: Post) -> list[int | None]:
    """Return the next midnight, the first reading that the clock has not reached, and when it goes out of use or comes back."""
    if not post.stands:
        return []
    ahead = load_series(session, post.probe.id or 0, post.now_ms + 1, post.now_ms + AHEAD_MS)
    return [
        day_at(session, post.now_ms).last_ms + 1,
        int(np.min(ahead.at_ms)) if len(ahead) else None,
        next_change_ms(session, post.unit.id or 0, post.now_ms),
    ]
