"""Who inspects a kitchen, and which limits files that authority may hold it to."""

import re

from holdwatch.limits.loading import known_limits, load_limits

__all__ = ["codes_for", "places"]

_MODEL_CODE = "United States"
_STATES = (
    "Alabama", "Alaska", "American Samoa", "Arizona", "Arkansas", "California", "Colorado", "Connecticut", "Delaware",
    "District of Columbia", "Florida", "Georgia", "Guam", "Hawaii", "Idaho", "Illinois", "Indiana", "Iowa", "Kansas",
    "Kentucky", "Louisiana", "Maine", "Maryland", "Massachusetts", "Michigan", "Minnesota", "Mississippi", "Missouri",
    "Montana", "Nebraska", "Nevada", "New Hampshire", "New Jersey", "New Mexico", "New York", "North Carolina",
    "North Dakota", "Northern Mariana Islands", "Ohio", "Oklahoma", "Oregon", "Pennsylvania", "Puerto Rico",
    "Rhode Island", "South Carolina", "South Dakota", "Tennessee", "Texas", "Utah", "Vermont", "Virgin Islands",
    "Virginia", "Washington", "West Virginia", "Wisconsin", "Wyoming", "USA",
)  # fmt: skip
"""Places where a Food Code is the model of the law; which edition, or whose changes, their own authority says."""


def places() -> tuple[str, ...]:
    """Return every place that a limits file names, in order."""
    named = {place for name in known_limits() for place in load_limits(name).places}
    return tuple(sorted({*named, *_STATES}))


def codes_for(authority: str) -> tuple[str, ...]:
    """Return the codes that an authority may hold a kitchen to, from the places named in its words.

    The longest place named decides (Northern Ireland is not Ireland). A state that no file names leads to every
    edition of the model code; a place that is not known leads to none, and whoever asks must choose.
    """
    named = [place for place in places() if re.search(rf"\b{re.escape(place)}\b", authority, re.IGNORECASE)]
    named = [place for place in named if not any(place != other and place in other for other in named)]
    files = {name: load_limits(name).places for name in known_limits()}
    found = [name for name, where in files.items() if any(place in where for place in named)]
    if not found and any(place in _STATES for place in named):
        found = [name for name, where in files.items() if _MODEL_CODE in where]
    return tuple(sorted(found, reverse=True))  # the newest edition first
