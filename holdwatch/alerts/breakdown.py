"""A unit that broke down: what becomes of every batch in it, recorded from one sheet in one transaction.

What is written are the same acts as on the page of a finding. Whoever waits for news hears of the unit once, and not of
forty batches.
"""

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from sqlmodel import Session

from holdwatch.alerts.acts import act
from holdwatch.errors import ConfigError, RefusedError
from holdwatch.language import _, explained, many
from holdwatch.people.handling import Act, Disposition
from holdwatch.people.roles import PersonRole, Right, may
from holdwatch.storage.batching import batch_named, end_batch, note, note_unit
from holdwatch.storage.findings import GRAVITY, findings
from holdwatch.storage.handling import Signer, handling, needs_somebody, record_act
from holdwatch.storage.ids import id_of
from holdwatch.storage.people import people
from holdwatch.storage.signing import sign
from holdwatch.storage.site import unit_named
from holdwatch.storage.standing import standing
from holdwatch.storage.tables import Batch, Event, EventKind, Finding, FindingKind, Unit

__all__ = ["Decided", "record_breakdown"]

_STANDS_FOR_ALL = (Disposition.HOLD, Disposition.RE_CHILL, Disposition.REHEAT, Disposition.KEEP, Disposition.DISCARD)
"""Which disposition the unit's finding gets where its batches had several: the one that is least final."""


@dataclass(frozen=True)
class Decided:
    """What was measured of one batch, what becomes of it, and where it is put."""

    lot: str
    disposition: Disposition
    celsius: float | None = None
    """By hand; ``None`` where nobody measured. [°C]"""
    vessel: int | None = None
    """Which vessel was measured."""
    place: str = ""
    """The unit that it is put into; empty where it stays, or is gone."""
    text: str = ""


def record_breakdown(
    session: Session, unit: Unit, sheet: Sequence[Decided], signer: Signer, *, now_ms: int, base_url: str
) -> str:
    """Record the sheet of a unit that broke down, all of it or nothing; return what it comes to, in words.

    Parameters
    ----------
    unit : the unit that broke down.
    sheet : a line for each batch that is decided; others stay as they are, and may be decided later.
    signer : who decides; to keep food is a manager's, with the PIN and a reason.
    now_ms : the present. [ms]
    base_url : where the screens are, for the links of messages.

    Raises
    ------
    ConfigError
        If a line cannot be: the message names its lot.
    """
    there = {id_of(batch) for batch in standing(session, unit, now_ms, perhaps=True)}
    rows = [(line, _batch(session, unit, line, there)) for line in sheet]
    if not rows:
        raise ConfigError(_("nothing is decided on this sheet: say of at least one batch what becomes of it"))
    twice = [lot for lot, count in Counter(batch.lot for _line, batch in rows).items() if count > 1]
    if twice:
        raise ConfigError(_("{twice} stands on the sheet twice: decide it once").format(twice=twice[0]))
    for line, _found in rows:
        _allow(session, line, signer)
    own = _findings(session, unit_id=id_of(unit))
    for line, batch in rows:
        try:
            _decide(session, unit, batch, line, signer, now_ms=now_ms, base_url="" if own else base_url, told=not own)
        except ConfigError as exc:
            raise ConfigError(explained(batch.lot, str(exc))) from exc
    counts = Counter(line.disposition for line, _found in rows)
    said = ", ".join(f"{counts[each]} {_(each.value)}" for each in Disposition if counts[each])
    left = [batch for batch in standing(session, unit, now_ms) if batch.lot not in {each.lot for _line, each in rows}]
    words = many(
        "breakdown of {unit}, {count} batch: {said}",
        "breakdown of {unit}, {count} batches: {said}",
        len(rows),
        unit=unit.name,
        said=said,
    )
    if left:
        words += "; " + _("not decided yet: {lots}").format(lots=", ".join(batch.lot for batch in left))
    _unit(session, unit, own, counts, signer, words, decided=not left, now_ms=now_ms, base_url=base_url)
    return words


def _batch(session: Session, unit: Unit, line: Decided, there: Collection[int]) -> Batch:
    """Return the batch of a line, if it can stand in the unit."""
    batch = batch_named(session, line.lot)
    if batch.ended_ms is not None:
        raise ConfigError(_("{lot} has ended: there is nothing to decide").format(lot=batch.lot))
    if batch.id not in there:
        raise ConfigError(
            _("{lot} stands elsewhere by what was recorded: record its move into {unit} first").format(
                lot=batch.lot, unit=unit.name
            )
        )
    if line.place.strip() and unit_named(session, line.place).id == unit.id:
        raise ConfigError(
            _("{lot} cannot be put into {unit}: that is the unit that broke down").format(lot=batch.lot, unit=unit.name)
        )
    return batch


def _allow(session: Session, line: Decided, signer: Signer) -> None:
    """Refuse what is not theirs: to keep food is a manager's, signed and with a reason."""
    if line.disposition is not Disposition.KEEP:
        return
    if signer.person is not None and not may(PersonRole(signer.person.role), Right.KEEP):
        raise RefusedError(_("{lot}: to keep food is a manager's").format(lot=line.lot), who=signer.by, what="keep")
    if not signer.signed and people(session):
        raise RefusedError(
            _("{lot}: to keep food needs a manager's PIN").format(lot=line.lot), who=signer.by, what="keep"
        )
    if not line.text.strip():
        raise ConfigError(_("{lot}: food is kept for a reason: say which").format(lot=line.lot))


def _decide(
    session: Session, unit: Unit, batch: Batch, line: Decided, signer: Signer, *, now_ms: int, base_url: str, told: bool
) -> None:
    """Record what was measured, where it goes and what becomes of it; what is discarded ends."""
    at: dict[str, Any] = {"at_ms": now_ms, "now_ms": now_ms}
    if line.celsius is not None:
        note(session, batch, EventKind.READING, by=signer.by, celsius=line.celsius, vessel=line.vessel, **at)
    if line.place.strip():
        note(session, batch, EventKind.MOVED, by=signer.by, unit=unit_named(session, line.place), **at)
    words = "; ".join(part for part in (_("{unit} broke down").format(unit=unit.name), line.text.strip()) if part)
    found = _findings(session, batch_id=id_of(batch))
    for each in found:
        done = Act.HOLD if line.disposition is Disposition.HOLD else Act.ACTION
        more: dict[str, Any] = {"disposition": line.disposition, "text": words}
        if told:
            act(session, each, done, signer, base_url=base_url, **at, **more)
        else:
            record_act(session, each, done, signer, **at, **more)
    if not found:
        facts = {"disposition": line.disposition.value}
        _sign(
            session, note(session, batch, EventKind.ACTION, by=signer.by, text=words, facts=facts, **at), signer, now_ms
        )
    if line.disposition is Disposition.DISCARD:
        end_batch(session, batch, outcome="discarded", by=signer.by, **at)


def _unit(
    session: Session,
    unit: Unit,
    own: Sequence[Finding],
    counts: Counter[Disposition],
    signer: Signer,
    words: str,
    *,
    decided: bool,
    now_ms: int,
    base_url: str,
) -> None:
    """Record the sheet on the gravest finding of the unit itself; while batches are undecided it is only seen."""
    if not own:
        _sign(
            session,
            note_unit(session, unit, EventKind.ACTION, at_ms=now_ms, now_ms=now_ms, by=signer.by, text=words),
            signer,
            now_ms,
        )
        return
    gravest = max(own, key=lambda each: GRAVITY[FindingKind(each.kind)])
    disposition = next(each for each in _STANDS_FOR_ALL if counts[each])
    done = Act.SEEN if not decided else Act.HOLD if disposition is Disposition.HOLD else Act.ACTION
    act(
        session,
        gravest,
        done,
        signer,
        at_ms=now_ms,
        now_ms=now_ms,
        base_url=base_url,
        disposition=None if done is Act.SEEN else disposition,
        text=words,
    )


def _findings(session: Session, *, batch_id: int | None = None, unit_id: int | None = None) -> list[Finding]:
    """Return the findings of a batch, or of a unit, about which somebody still has to do something."""
    rows = findings(session, open_only=True, batch_id=batch_id, unit_id=unit_id)
    return [row for row in rows if row.kind != FindingKind.SYSTEM and needs_somebody(row, handling(session, row))]


def _sign(session: Session, event: Event, signer: Signer, now_ms: int) -> None:
    if signer.signed and signer.person is not None:
        sign(session, [id_of(event)], signer.person, now_ms=now_ms)
