"""What the rules of single clauses share: how an answer is put together, and what was declared beside it."""

from collections.abc import Iterable
from dataclasses import dataclass

from holdwatch.language import _
from holdwatch.limits.model import Cited
from holdwatch.quantities import Scale
from holdwatch.readings import DeclarationKind, Record, Series
from holdwatch.rules.context import Context
from holdwatch.rules.verdicts import Bracket, ClauseVerdict, Spell, Verdict, worst

__all__ = ["Declared", "Said", "answer", "ended_before_due", "joined", "reading"]

Said = tuple[Verdict, str]
"""The verdict of one demand of a clause, with its sentence."""


@dataclass(frozen=True)
class Declared:
    """What a person declared, as the clauses with a clock of their own ask for it; instants in ms."""

    prepared_ms: int | None = None
    removed_ms: int | None = None
    left_heat_ms: int | None = None
    begins_ms: int | None = None
    """The first that was declared of all."""
    out_from_ms: int | None = None
    """The first that says from when on the food can have been out: made, received, removed, off the heat.

    Where a probe or the food was put, says nothing of the time before."""
    out: tuple[tuple[int, bool], ...] = ()
    """When it was removed (true) and returned (false), once it had left the heat."""
    entries: tuple[int, ...] = ()
    """Every declared instant but the end: each shows that the food was still there."""
    finished: bool = False
    """Whether the record is complete: the step has ended, or the file is at its end."""
    tray_ms: int | None = None
    """Since when what it was put with was out of temperature control already."""
    room: Series | None = None
    """The air of the room, where a written procedure lets it stand for the food."""
    stood: str = ""
    """What shows, without a reading of the food, that it was cold when it was removed."""

    @classmethod
    def of(cls, record: Record, *, finished: bool) -> "Declared":
        """Return what a record declares."""
        kind = DeclarationKind
        entries = tuple(sorted(d.at_ms for d in record.declared if d.kind is not kind.ENDED))
        left_heat = _first(record.instants(kind.LEFT_HEAT))
        beginnings = (kind.PREPARED, kind.FROM, kind.REMOVED, kind.LEFT_HEAT)
        ended = bool(record.instants(kind.ENDED))
        return cls(
            prepared_ms=_first(record.instants(kind.PREPARED)),
            removed_ms=_first(record.instants(kind.REMOVED)),
            left_heat_ms=left_heat,
            begins_ms=_first(entries),
            out_from_ms=_first(d.at_ms for d in record.declared if d.kind in beginnings),
            out=tuple(
                (d.at_ms, d.kind is kind.REMOVED)
                for d in record.declared
                if d.kind in {kind.REMOVED, kind.RETURNED} and left_heat is not None and d.at_ms > left_heat
            ),
            entries=entries,
            finished=finished or ended or left_heat is not None,
        )


def _first(instants: Iterable[int]) -> int | None:
    return min(instants, default=None)


def answer(
    limit: Cited,
    said: Said,
    *,
    level_c: float | None = None,
    started: Bracket | None = None,
    due: Bracket | None = None,
    reached: Bracket | None = None,
    spells: tuple[Spell, ...] = (),
) -> ClauseVerdict:
    """Return what the record shows of a clause."""
    verdict, reason = said
    return ClauseVerdict(
        clause=limit.clause,
        source=limit.source,
        requires=limit.requires,
        verdict=verdict,
        reason=reason,
        level_c=level_c,
        started=started,
        due=due,
        reached=reached,
        spells=spells,
    )


def joined(parts: Iterable[Said]) -> Said:
    """Return the worst verdict of the demands of one clause, and all their sentences."""
    said = list(parts)
    return worst(verdict for verdict, _ in said), " ".join(sentence for _, sentence in said if sentence)


def reading(series: Series, index: int, scale: Scale, context: Context) -> str:
    """Write a reading: its temperature and its instant."""
    degrees = context.words.temperature(float(series.celsius[index]), scale)
    return _("{degrees} at {time}").format(degrees=degrees, time=context.words.when(int(series.at_ms[index])))


def ended_before_due(context: Context) -> str:
    """Say that nothing is asked of food that was gone before the limit fell due."""
    return _("It was served, used, frozen or discarded at {time}, before the limit fell due.").format(
        time=context.words.when(context.until_ms)
    )
