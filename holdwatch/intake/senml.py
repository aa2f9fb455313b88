"""SenML in JSON: a pack of records, and what each says once the base fields are applied.

The name is base name and name put together; value, sum and time are base plus own, a missing one being zero;
the unit is the record's own, else the base unit. A base field holds for every later record until another
replaces it. A resolved time below 2^28 counts from "now"; from there on it counts from 1970 in UTC. An unknown
label is ignored unless it ends in ``_``: then the whole pack is an error.

References
----------
.. [1] Jennings, C., Shelby, Z., Arkko, J., Keränen, A., Bormann, C. (2018), "Sensor Measurement Lists (SenML)",
   RFC 8428, sections 4.1 to 4.6 and 5.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from holdwatch.errors import MalformedPayloadError
from holdwatch.intake.decoded import excerpt
from holdwatch.language import _

__all__ = ["FIRST_ABSOLUTE_S", "VERSION", "SenmlRecord", "resolve"]

FIRST_ABSOLUTE_S = 2**28
VERSION = 10

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9\-:./_]*", re.ASCII)
_TEXT_LABELS = ("bn", "bu", "n", "u", "vs", "vd")
_NUMBER_LABELS = ("bt", "bv", "bs", "v", "s", "t", "ut")
_KNOWN = frozenset((*_TEXT_LABELS, *_NUMBER_LABELS, "bver", "vb"))
_VALUES = ("v", "vs", "vb", "vd")
_BASES = frozenset(("bn", "bt", "bu", "bv", "bs", "bver"))


@dataclass(frozen=True, slots=True)
class SenmlRecord:
    """One resolved record.

    ``time_s`` counts from 1970 in UTC, or from "now" where ``relative``. At most one of the values is set.
    """

    name: str
    unit: str
    time_s: float
    relative: bool
    value: float | None = None
    text: str | None = None
    truth: bool | None = None
    data: str | None = None
    sum: float | None = None
    update_time_s: float | None = None


@dataclass(frozen=True)
class _Bases:
    """The base fields in force."""

    name: str = ""
    time_s: float = 0.0
    unit: str = ""
    value: float | None = None
    sum: float | None = None


def resolve(pack: Any) -> list[SenmlRecord]:
    """Apply the base fields of a pack, in the order of its records.

    Raises
    ------
    MalformedPayloadError
        If it is no SenML pack, of a newer version, or says something that must be understood and is not.
    """
    if not isinstance(pack, list) or not pack:
        raise MalformedPayloadError(_("a SenML pack is a list of records"))
    bases, resolved = _Bases(), []
    _check_version(pack)
    for number, record in enumerate(pack, start=1):
        _check(record, number)
        bases = _rebase(bases, record)
        if _BASES.issuperset(record):
            continue  # it says nothing of its own
        resolved.append(_apply(bases, record, number))
    return resolved


def _check_version(pack: Sequence[Any]) -> None:
    """Refuse a version that we do not know, and a pack of several."""
    versions = {excerpt(r["bver"]): r["bver"] for r in pack if isinstance(r, dict) and "bver" in r}
    if len(versions) > 1:
        raise MalformedPayloadError(_("the pack states several versions: {known}").format(known=", ".join(versions)))
    for version in versions.values():
        if isinstance(version, bool) or not isinstance(version, int) or version < 1:
            raise MalformedPayloadError(
                _("the pack's version is {version}; it must be a whole number").format(version=excerpt(version))
            )
        if version > VERSION:
            raise MalformedPayloadError(
                _("the pack is of version {version}; we read up to {most}").format(
                    version=excerpt(version), most=VERSION
                )
            )


def _check(record: Any, number: int) -> None:
    """Refuse a record whose labels are not of their types."""
    if not isinstance(record, dict):
        raise MalformedPayloadError(_("record {number} is no object").format(number=number))
    for label, value in record.items():
        if label.endswith("_") and label not in _KNOWN:
            raise MalformedPayloadError(
                _("record {number} has {label}, which must be understood and is not").format(
                    number=number, label=excerpt(label)
                )
            )
        if label in _TEXT_LABELS and not isinstance(value, str):
            raise MalformedPayloadError(
                _("record {number}: {label} is {value}; it must be text").format(
                    number=number, label=label, value=excerpt(value)
                )
            )
        if label in _NUMBER_LABELS and not _is_number(value):
            raise MalformedPayloadError(
                _("record {number}: {label} is {value}; it must be a number").format(
                    number=number, label=label, value=excerpt(value)
                )
            )
        if label == "vb" and not isinstance(value, bool):
            raise MalformedPayloadError(
                _("record {number}: vb is {value}; it must be true or false").format(
                    number=number, value=excerpt(value)
                )
            )


def _is_number(value: Any) -> bool:
    """Return whether a value is a JSON number that a double can hold."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    try:
        return math.isfinite(float(value))
    except OverflowError:
        return False


def _rebase(bases: _Bases, record: dict[str, Any]) -> _Bases:
    """Return the base fields in force from this record on."""
    changes: dict[str, Any] = {}
    for label, field in (("bn", "name"), ("bu", "unit")):
        if label in record:
            changes[field] = record[label]
    for label, field in (("bt", "time_s"), ("bv", "value"), ("bs", "sum")):
        if label in record:
            changes[field] = float(record[label])
    return replace(bases, **changes) if changes else bases


def _apply(bases: _Bases, record: dict[str, Any], number: int) -> SenmlRecord:
    """Resolve one record against the base fields in force."""
    name = bases.name + record.get("n", "")
    if not _NAME.fullmatch(name):
        raise MalformedPayloadError(
            _("record {number}: {name} is no SenML name").format(number=number, name=excerpt(name))
        )
    present = [label for label in _VALUES if label in record]
    if len(present) > 1:
        raise MalformedPayloadError(
            _("record {number} has several values: {known}").format(number=number, known=", ".join(present))
        )
    total = _added(bases.sum, record.get("s"))
    if not present and total is None and bases.value is None:
        raise MalformedPayloadError(
            _("record {number} ({name}) has no value").format(number=number, name=excerpt(name))
        )
    time_s = bases.time_s + float(record.get("t", 0.0))
    numeric = "v" in record or not present
    return SenmlRecord(
        name=name,
        unit=record.get("u", bases.unit),
        time_s=time_s,
        relative=time_s < FIRST_ABSOLUTE_S,
        value=_added(bases.value, record.get("v")) if numeric else None,
        text=record.get("vs"),
        truth=record.get("vb"),
        data=record.get("vd"),
        sum=total,
        update_time_s=None if "ut" not in record else float(record["ut"]),
    )


def _added(base: float | None, own: float | None) -> float | None:
    """Return base plus own, a missing one being zero; None where both are missing."""
    if base is None:
        return None if own is None else float(own)
    return base if own is None else base + float(own)
