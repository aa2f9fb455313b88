"""Containers that food cools in, as a kitchen calls them or by their measures."""

import re

from holdwatch.errors import ConfigError
from holdwatch.language import _
from holdwatch.measures import length_m
from holdwatch.science.cooling_time import Pan, Pot

__all__ = ["CONTAINERS", "read_container"]

CONTAINERS: dict[str, Pan | Pot] = {
    "full-pan": Pan(0.51, 0.305),  # inside of a GN 1/1 pan (EN 631-1: 530 × 325 mm outside)
    "half-pan": Pan(0.305, 0.24),  # inside of a GN 1/2 pan (325 × 265 mm outside)
    "sheet-pan": Pan(0.62, 0.41),  # inside of a full sheet of 18 × 26 in
    "half-sheet": Pan(0.41, 0.30),  # inside of a half sheet of 18 × 13 in
    "pot": Pot(0.30),
    "bowl": Pot(0.25),
    "cup": Pot(0.08),
}
"""Inside, about; only the depth matters much. The round ones are ours."""

_ROUND = re.compile(r"round[\s:]*(?P<size>.+)", re.IGNORECASE)
_BOX = re.compile(r"(?P<length>[\d.]+)\s*(?P<own>[a-z]*)\s*[x×]\s*(?P<width>[\d.]+)\s*(?P<unit>[a-z]+)", re.IGNORECASE)


def read_container(text: str) -> Pan | Pot:
    """Read ``full-pan``, ``round 8in`` or ``20x12in``.

    Raises
    ------
    ConfigError
        If it is none of these.
    """
    word = text.strip().lower().replace(" ", "-")
    if word in CONTAINERS:
        return CONTAINERS[word]
    if found := _ROUND.fullmatch(text.strip()):
        return Pot(length_m(found["size"]))
    if found := _BOX.fullmatch(text.strip()):
        return Pan(
            length_m(found["length"] + (found["own"] or found["unit"])), length_m(found["width"] + found["unit"])
        )
    known = ", ".join(CONTAINERS)
    raise ConfigError(
        _("{text!r} is no container: write one of {known}; or its size, such as round 8in or 20x12in").format(
            text=text, known=known
        )
    )
