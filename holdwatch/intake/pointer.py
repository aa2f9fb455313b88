"""JSON Pointer: how a profile says where in a document the value stands.

References
----------
.. [1] Bryan, P., Zyp, K., Nottingham, M. (2013), "JavaScript Object Notation (JSON) Pointer", RFC 6901.
"""

import re
from typing import Any

from holdwatch.errors import MalformedPayloadError
from holdwatch.intake.decoded import excerpt
from holdwatch.language import _

__all__ = ["point", "pointer_tokens"]

_STRAY_TILDE = re.compile(r"~(?![01])")
_INDEX = re.compile(r"0|[1-9][0-9]{0,8}", re.ASCII)


def pointer_tokens(pointer: str) -> tuple[str, ...]:
    """Split a pointer into its unescaped tokens.

    Raises
    ------
    ValueError
        If it is no JSON Pointer.
    """
    if not pointer:
        return ()
    if not pointer.startswith("/"):
        raise ValueError(f"{excerpt(pointer)} is no JSON Pointer: it must begin with /")
    if _STRAY_TILDE.search(pointer):
        raise ValueError(f"{excerpt(pointer)} is no JSON Pointer: write ~ as ~0 and / inside a name as ~1")
    return tuple(token.replace("~1", "/").replace("~0", "~") for token in pointer[1:].split("/"))


def point(document: Any, pointer: str) -> Any:
    """Return what a pointer points at.

    Raises
    ------
    MalformedPayloadError
        If there is nothing there, or the pointer is none.
    """
    try:
        tokens = pointer_tokens(pointer)
    except ValueError as exc:
        raise MalformedPayloadError(str(exc)) from exc
    found = document
    for token in tokens:
        if isinstance(found, dict) and token in found:
            found = found[token]
        elif isinstance(found, list) and _INDEX.fullmatch(token) and int(token) < len(found):
            found = found[int(token)]
        else:
            raise MalformedPayloadError(
                _("the message has nothing at {pointer} (no {token})").format(
                    pointer=excerpt(pointer), token=excerpt(token)
                )
            )
    return found
