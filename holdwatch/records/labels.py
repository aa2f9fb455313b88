"""Labels of batches, and the cooling tags that stand on their pans.

A label says what it is, by when it is to be gone and what is in it; a tag says by when which temperature is to be
reached. Neither says that the food is good: that is nowhere in the record. The same batch at the same instant gives
the same bytes.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any, Literal

from sqlmodel import Session

from holdwatch.clock import clock_time, day_words, local
from holdwatch.errors import ConfigError
from holdwatch.language import _, explained, short_day
from holdwatch.records.fixed_words import LABEL, fixed_words
from holdwatch.records.label_size import DEFAULT_SIZE, LabelSize, read_size
from holdwatch.records.setting import speaking_of_site
from holdwatch.records.typeset import typeset
from holdwatch.records.write import whole_file
from holdwatch.storage.doors import door_code
from holdwatch.storage.engine import Store
from holdwatch.storage.people import initials
from holdwatch.storage.register import batch_named, units
from holdwatch.storage.tables import Batch
from holdwatch.views.batches import batch_view
from holdwatch.views.cooling_due import CoolingDue, cooling_due
from holdwatch.views.discard import OWN_PLAN, Discard, discard_times, made_ms
from holdwatch.views.model import BatchView
from holdwatch.views.site import site_view

__all__ = ["LabelWanted", "label_pdf", "print_doors", "print_labels", "qr_svg"]

_MOST = 200


@dataclass(frozen=True)
class LabelWanted:
    """What is to be printed."""

    lots: Sequence[str]
    kind: Literal["label", "cooling-tag"] = "label"
    size: str = DEFAULT_SIZE
    vessel: int | None = None
    """One vessel alone; without it a cooling tag for each, and one label."""
    copies: int = 1


def print_labels(store: Store, out: Path, wanted: LabelWanted, *, now_ms: int, base_url: str) -> None:
    """Write labels or cooling tags to the PDF `out`.

    Raises
    ------
    ConfigError
        If the size cannot be, a batch has ended, or it has no cooling to be tagged with.
    """
    pdf = label_pdf(store, wanted, now_ms=now_ms, base_url=base_url)
    with whole_file(out) as file:
        file.write(pdf)


def label_pdf(store: Store, wanted: LabelWanted, *, now_ms: int, base_url: str) -> bytes:
    """Return the PDF of labels or cooling tags; the errors are those of `print_labels`."""
    size = read_size(wanted.size)
    if not 1 <= wanted.copies <= _MOST:
        raise ConfigError(
            _("{copies} copies cannot be: give a number from 1 to {most}").format(copies=wanted.copies, most=_MOST)
        )
    with speaking_of_site(store, now_ms), store.read() as session:
        site = site_view(session)
        labels = [
            each
            for lot in wanted.lots
            for each in _of(session, batch_named(session, lot), wanted, now_ms, base_url)
            for _copy in range(wanted.copies)
        ]
        sheet = _sheet(labels, size, site.name)
    return typeset(sheet, now_ms, pages=("label.typ",))


def print_doors(store: Store, out: Path, *, size: str, now_ms: int, base_url: str) -> None:
    """Write the signs for the doors of all units to the PDF `out`.

    Raises
    ------
    ConfigError
        If the size cannot be, or there is no unit.
    """
    with speaking_of_site(store, now_ms), store.read() as session:
        site = site_view(session)
        signs = [
            {
                "kind": "door",
                "name": unit.name,
                "code": code,
                "qr": qr_svg(f"{base_url.rstrip('/')}/batches?door={code}"),
            }
            for unit in units(session)
            for code in [door_code(session, unit)]
        ]
        sheet = _sheet(signs, read_size(size), site.name)
    if not signs:
        raise ConfigError(_("there is no unit yet: add one first (holdwatch unit add)"))
    pdf = typeset(sheet, now_ms, pages=("label.typ",))
    with whole_file(out) as file:
        file.write(pdf)


def qr_svg(url: str) -> str:
    """Return the QR code of an address as a drawing, black on white with its quiet zone of four modules."""
    import segno

    out = BytesIO()
    segno.make_qr(url, error="m").save(
        out, kind="svg", border=4, xmldecl=False, svgclass=None, lineclass=None, nl=False
    )
    return out.getvalue().decode("ascii")


def _sheet(labels: list[dict[str, Any]], size: LabelSize, site: str) -> dict[str, Any]:
    return {
        **fixed_words(LABEL),
        "document_title": _("Labels, {site}").format(site=site),
        "site": site,
        "width_mm": size.page_width_mm,
        "height_mm": size.page_height_mm,
        "columns": size.columns,
        "rows": size.rows,
        "labels": labels,
    }


def _of(session: Session, batch: Batch, wanted: LabelWanted, now_ms: int, base_url: str) -> list[dict[str, Any]]:
    view = batch_view(session, batch.id or 0, now_ms)
    if view is None:
        raise AssertionError("a batch that has a name can be viewed")
    if not view.running:
        raise ConfigError(
            _("batch {lot!r} has ended ({outcome}): there is nothing left to label").format(
                lot=view.lot, outcome=view.outcome
            )
        )
    if wanted.vessel is not None and not 1 <= wanted.vessel <= view.vessels:
        raise ConfigError(
            _("batch {lot!r} has no vessel {vessel}: give one from 1 to {vessels}").format(
                lot=view.lot, vessel=wanted.vessel, vessels=view.vessels
            )
        )
    shared = {
        "product": view.product,
        "lot": view.lot,
        "by": initials(session).get(view.by, view.by),
        "qr": qr_svg(f"{base_url.rstrip('/')}/batches?batch={view.id}"),
    }
    if wanted.kind == "label":
        return [shared | _label(session, batch, view, wanted.vessel, now_ms)]
    zone = site_view(session, view.started_ms).zone
    vessels = range(1, view.vessels + 1) if wanted.vessel is None else [wanted.vessel]
    return [
        shared
        | {
            "kind": "tag",
            "vessel": _vessel(number, view),
            "steps": [
                [
                    _("{temperature} by {time}").format(temperature=each.level, time=clock_time(each.at_ms, zone)),
                    day_words(each.at_ms, zone),
                ]
                for each in due.steps
            ],
            "from": _("counted from {time}, {event}").format(
                time=clock_time(due.from_ms, zone), event=due.counted_from
            ),
        }
        for number in vessels
        for due in [_due(session, batch, number, now_ms)]
    ]


def _due(session: Session, batch: Batch, vessel: int, now_ms: int) -> CoolingDue:
    due = cooling_due(session, batch, vessel, now_ms)
    if due is None:
        raise ConfigError(
            _("batch {lot!r} has no cooling with a time limit: a cooling tag has nothing to say").format(lot=batch.lot)
        )
    return due


def _label(session: Session, batch: Batch, view: BatchView, vessel: int | None, now_ms: int) -> dict[str, Any]:
    zone = site_view(session, view.started_ms).zone
    times = discard_times(session, batch, now_ms, vessel=vessel)
    made = made_ms(session, batch, now_ms)
    found = [*view.found_in_parts, *(each for each in view.findings if each.kind in {"deviation", "not-shown"})]
    keep_apart = _("{finding}. Keep apart until it is decided.")
    warnings = [explained(each.mark.said.upper(), keep_apart.format(finding=each.title)) for each in found]
    if times and times[0].at_ms < now_ms:
        warnings.insert(0, _("DISCARD IT NOW: the time is over."))
    return {
        "kind": "label",
        "vessel": "" if vessel is None else _vessel(vessel, view),
        "made": f"{day_words(made, zone)} {clock_time(made, zone)}",
        **_discard(times, zone),
        "contains": view.allergens.contains,
        "not_declared": list(view.allergens.not_declared),
        "allergens": view.allergens.words,
        "warnings": list(dict.fromkeys(warnings)),
    }


def _vessel(number: int, view: BatchView) -> str:
    return _("vessel {vessel} of {vessels}").format(vessel=number, vessels=view.vessels) if view.vessels > 1 else ""


def _discard(times: tuple[Discard, ...], zone: str) -> dict[str, Any]:
    """Return the largest words of a label: a day, or an instant with its day; and what says so."""
    if not times:
        return {"discard": [_("no time runs")], "why": ""}
    first = times[0]
    day = short_day(local(first.at_ms, zone).date(), year=True)
    said = [day] if first.whole_day else [clock_time(first.at_ms, zone), day]
    own = first.source == OWN_PLAN
    return {"discard": said, "why": first.why if own else f"{first.why} · {first.clause}"}
