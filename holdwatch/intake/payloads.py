"""From the bytes of a message to temperatures: a bare number, JSON with pointers, or SenML.

Pure: bytes and the probe's profile in, temperatures and refusals out. Whatever the bytes are, the only error
is ``MalformedPayloadError``, whose ``reason`` is the word under which the whole message is set aside.
"""

import math
import re
from datetime import datetime
from typing import Any

from holdwatch.clock import to_ms
from holdwatch.errors import MalformedPayloadError
from holdwatch.intake.decoded import (
    LONGEST_PAYLOAD,
    AsideReason,
    Decoded,
    ProbeProfile,
    Refused,
    excerpt,
    keep_or_refuse,
    too_large,
)
from holdwatch.intake.pointer import point
from holdwatch.intake.senml import SenmlRecord, resolve
from holdwatch.intake.strict_json import read_json, read_text
from holdwatch.language import _, decimals
from holdwatch.storage.tables import Payload

__all__ = ["decode", "read_instant"]

_NUMBER = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]{1,3})?", re.ASCII)
_FIRST_MS = 1e11
"""A number from here on counts milliseconds: as seconds it would be the year 5138, as milliseconds 1973."""
_LAST_EXACT = 2.0**53
_SENML_UNITS = ("Cel", "K")


def decode(payload: bytes, profile: ProbeProfile) -> list[Decoded | Refused]:
    """Return what a message of a probe says, each value as a temperature or as a refusal.

    Raises
    ------
    MalformedPayloadError
        If the message as a whole is not of the profile's format.
    """
    if len(payload) > LONGEST_PAYLOAD:
        raise MalformedPayloadError(too_large(payload), AsideReason.TOO_LARGE)
    if profile.payload == Payload.SENML:
        return _decode_senml(payload, profile)
    if profile.payload == Payload.JSON:
        return [_decode_json(payload, profile)]
    if profile.payload == Payload.NUMBER:
        return [_decode_number(payload, profile)]
    raise MalformedPayloadError(
        _("the probe's format {payload} is not one we read").format(payload=excerpt(profile.payload))
    )


def read_instant(stated: Any) -> int | None:
    """Return a stated instant in ms: epoch seconds, epoch milliseconds, or ISO 8601 with an offset; None for null.

    Raises
    ------
    MalformedPayloadError
        If it is none of these.
    """
    if stated is None:
        return None
    if isinstance(stated, str):
        return _read_iso(stated)
    if isinstance(stated, bool) or not isinstance(stated, int | float):
        raise MalformedPayloadError(
            _("the instant is {stated}; send epoch seconds or ISO 8601").format(stated=excerpt(stated))
        )
    if not abs(stated) <= _LAST_EXACT:  # also NaN
        raise MalformedPayloadError(_("the instant {stated} is too large").format(stated=excerpt(stated)))
    return round(stated if abs(stated) >= _FIRST_MS else stated * 1_000)


def _read_iso(stated: str) -> int:
    """Return the instant of an ISO 8601 text that says its offset."""
    try:
        at = datetime.fromisoformat(stated)
    except ValueError as exc:
        raise MalformedPayloadError(_("the instant {stated} is not ISO 8601").format(stated=excerpt(stated))) from exc
    if at.tzinfo is None:
        raise MalformedPayloadError(
            _("the instant {stated} has no offset; write it with Z or +00:00").format(stated=excerpt(stated))
        )
    return to_ms(at)


def _decode_number(payload: bytes, profile: ProbeProfile) -> Decoded | Refused:
    """Read a message that is one number."""
    text = read_text(payload).strip()
    if _NUMBER.fullmatch(text):
        return keep_or_refuse(float(text), profile.unit, None)
    if text.strip("+-").lower() in {"nan", "inf", "infinity"}:
        return Refused(AsideReason.NOT_A_NUMBER, _("the value is {text}; send a number").format(text=text))
    if _NUMBER.fullmatch(text.replace(",", ".", 1)):
        raise MalformedPayloadError(
            _("{text} has a comma; send the number with a point, as in 21.4").format(text=excerpt(text))
        )
    raise MalformedPayloadError(
        _("{text} is no number; the probe was added as sending a bare number").format(text=excerpt(text))
    )


def _decode_json(payload: bytes, profile: ProbeProfile) -> Decoded | Refused:
    """Read a JSON message by the profile's pointers."""
    document = read_json(payload)
    value = point(document, profile.pointer)
    if isinstance(value, dict | list):
        where = excerpt(profile.pointer) if profile.pointer else _("the whole message")
        raise MalformedPayloadError(
            _("{where} is no number but holds others; name the value with its JSON Pointer").format(where=where)
        )
    at_ms = read_instant(point(document, profile.time_pointer)) if profile.time_pointer else None
    unit = point(document, profile.unit_pointer) if profile.unit_pointer else profile.unit
    if not isinstance(unit, str):
        return Refused(
            AsideReason.OTHER_UNIT, _("the unit is {unit}; send C, F or K").format(unit=excerpt(unit)), at_ms
        )
    return keep_or_refuse(value, unit, at_ms)


def _decode_senml(payload: bytes, profile: ProbeProfile) -> list[Decoded | Refused]:
    """Read a SenML pack: the named record, or the only one that is a temperature."""
    records = resolve(read_json(payload))
    if profile.senml_name:
        chosen = [record for record in records if record.name == profile.senml_name]
        if not chosen:
            names = ", ".join(sorted({record.name for record in records})) or _("no record at all")
            raise MalformedPayloadError(
                _("the pack has no {senml_name}; it holds {names}").format(
                    senml_name=excerpt(profile.senml_name), names=excerpt(names)
                )
            )
        return [_senml_value(record) for record in chosen]
    if not records:
        raise MalformedPayloadError(_("the pack holds no record"))
    warm = {record.name for record in records if record.value is not None and record.unit in _SENML_UNITS}
    if len(warm) > 1:
        shown = excerpt(", ".join(sorted(warm)))
        raise MalformedPayloadError(
            _("the pack holds temperatures of several names ({shown}); say which is this probe").format(shown=shown)
        )
    return [_senml_value(record) for record in records]


def _senml_value(record: SenmlRecord) -> Decoded | Refused:
    """Return a resolved record as a temperature or a refusal."""
    at_ms, offset_ms = None, 0
    if record.relative:
        offset_ms = _whole_ms(record.time_s)
    else:
        at_ms = _whole_ms(record.time_s)
    if record.value is None:
        other = next((v for v in (record.text, record.truth, record.data) if v is not None), _("a sum"))
        return Refused(
            AsideReason.NOT_A_NUMBER,
            _("{record} is {other}; send a number").format(record=record.name, other=excerpt(other)),
            at_ms,
        )
    if record.unit not in _SENML_UNITS:
        detail = (
            _("{name} has the unit {unit}; a temperature comes as Cel or K")
            if record.unit
            else _("{name} has no unit; a temperature comes as Cel or K")
        ).format(name=excerpt(record.name), unit=excerpt(record.unit))
        return Refused(AsideReason.OTHER_UNIT, detail, at_ms)
    return keep_or_refuse(record.value, record.unit, at_ms, offset_ms)


def _whole_ms(seconds: float) -> int:
    """Return seconds as whole milliseconds."""
    if not math.isfinite(seconds) or abs(seconds) * 1_000 > _LAST_EXACT:
        raise MalformedPayloadError(_("the time {seconds} s is too large").format(seconds=decimals(f"{seconds:g}")))
    return round(seconds * 1_000)
