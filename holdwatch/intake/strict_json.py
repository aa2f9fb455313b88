"""JSON as devices may send it: UTF-8, finite numbers, no key twice, no trap for the reader."""

import json
from typing import Any, NoReturn

from holdwatch.errors import MalformedPayloadError
from holdwatch.intake.decoded import excerpt
from holdwatch.language import _

__all__ = ["read_json", "read_text"]


def read_text(payload: bytes) -> str:
    """Return a payload as text.

    Raises
    ------
    MalformedPayloadError
        If it is empty or not UTF-8.
    """
    if not payload.strip():
        raise MalformedPayloadError(_("the message is empty"))
    try:
        return payload.decode("utf-8")
    except UnicodeDecodeError as exc:
        raise MalformedPayloadError(
            _("the message is not text in UTF-8 (byte {start})").format(start=exc.start)
        ) from exc


def read_json(payload: bytes) -> Any:
    """Return what a payload says in JSON.

    Raises
    ------
    MalformedPayloadError
        If it is not strict JSON, is nested too deep, or names a key twice.
    """
    text = read_text(payload)
    try:
        return _DECODER.decode(text)
    except json.JSONDecodeError as exc:
        raise MalformedPayloadError(
            _("the message is not JSON: {msg} at character {pos}").format(msg=exc.msg, pos=exc.pos + 1)
        ) from exc
    except RecursionError as exc:
        raise MalformedPayloadError(_("the message is nested too deep")) from exc
    except ValueError as exc:  # a whole number of thousands of digits
        raise MalformedPayloadError(_("the message holds a number that is too long")) from exc


def _refuse_constant(name: str) -> NoReturn:
    """Refuse NaN and Infinity, which are no JSON."""
    raise MalformedPayloadError(_("the message holds {name}, which is no number").format(name=name), "not-a-number")


def _refuse_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Refuse an object that names a key twice: readers differ on which one counts."""
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise MalformedPayloadError(_("the message names {key} twice").format(key=excerpt(key)))
        found[key] = value
    return found


_DECODER = json.JSONDecoder(parse_constant=_refuse_constant, object_pairs_hook=_refuse_doubles)
