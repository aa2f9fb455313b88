"""A choice of units and batches: what of the record a paper holds, and in words what it leaves out."""

from dataclasses import dataclass

from sqlmodel import Session

from holdwatch.errors import ConfigError
from holdwatch.language import _, many
from holdwatch.records.setting import Setting
from holdwatch.storage.findings import findings
from holdwatch.storage.ids import id_of
from holdwatch.storage.placing import placements
from holdwatch.storage.register import batch_named, batches, unit_named, units
from holdwatch.storage.tables import Batch, Unit

__all__ = ["WHOLE", "Choice", "Chosen", "chosen"]


@dataclass(frozen=True)
class Choice:
    """Units and batches by name; none of either is all that there is."""

    units: tuple[str, ...] = ()
    lots: tuple[str, ...] = ()

    @property
    def is_whole(self) -> bool:
        """Whether nothing is left out."""
        return not self.units and not self.lots


WHOLE = Choice()


@dataclass(frozen=True)
class Chosen:
    """What of the record is printed."""

    units: tuple[Unit, ...]
    batches: tuple[Batch, ...]
    finding_ids: tuple[int, ...]
    left_out: str
    """What was chosen, and what is on record beside it, in words; empty where nothing is left out."""


def chosen(session: Session, choice: Choice, setting: Setting) -> Chosen:
    """Return what a choice comes to in the span.

    Raises
    ------
    UnknownNameError
        If there is no unit or batch of a name.
    ConfigError
        If a batch did not run in the span.
    """
    found = findings(session, since_ms=setting.span.first_ms, until_ms=setting.until_ms)
    listed = units(session)
    run = [batch for batch in batches(session) if _touches(batch, setting)]
    if choice.is_whole:
        return Chosen(tuple(listed), tuple(run), tuple(id_of(each) for each in found), "")
    unit_ids = {id_of(unit_named(session, name)) for name in choice.units}
    batch_ids = {_ran(session, lot, setting) for lot in choice.lots}
    probe_ids = {
        placement.probe_id
        for placement in placements(session)
        if placement.unit_id in unit_ids or placement.batch_id in batch_ids
    }
    about = [
        each
        for each in found
        if each.unit_id in unit_ids
        or each.batch_id in batch_ids
        or (each.unit_id is None and each.batch_id is None and each.probe_id in probe_ids)
    ]
    taken_units = tuple(unit for unit in listed if unit.id in unit_ids)
    taken = tuple(batch for batch in run if batch.id in batch_ids)
    beside = (len(listed) - len(taken_units), len(run) - len(taken), len(found) - len(about))
    return Chosen(taken_units, taken, tuple(id_of(each) for each in about), _words(taken_units, taken, beside))


def _touches(batch: Batch, setting: Setting) -> bool:
    """Tell whether a batch ran within the span."""
    begun = batch.started_ms <= setting.until_ms
    return begun and (batch.ended_ms is None or batch.ended_ms >= setting.span.first_ms)


def _ran(session: Session, lot: str, setting: Setting) -> int:
    batch = batch_named(session, lot)
    if not _touches(batch, setting):
        ran = setting.times.whole(batch.started_ms)
        raise ConfigError(
            _("batch {lot!r} did not run in this period, it started on {ran}: choose a period it ran in").format(
                lot=lot, ran=ran
            )
        )
    return id_of(batch)


def _words(taken_units: tuple[Unit, ...], taken: tuple[Batch, ...], beside: tuple[int, int, int]) -> str:
    """Say what was chosen, and how much is on record beside it, so that a choice never passes for the whole."""
    unit_names = ", ".join(unit.name for unit in taken_units) or _("none")
    lots = ", ".join(batch.lot for batch in taken) or _("none")
    return _(
        "Not the whole record. Units: {units}; batches: {lots}; and the findings about these. Left out of this period: {left_units}, {left_batches} and {left_findings}."
    ).format(
        units=unit_names,
        lots=lots,
        left_units=many("{count} unit", "{count} units", beside[0]),
        left_batches=many("{count} batch", "{count} batches", beside[1]),
        left_findings=many("{count} finding", "{count} findings", beside[2]),
    )
