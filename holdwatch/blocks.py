"""Looking through long records in blocks.

A step of a calculation on a whole year makes arrays as long as the year, each of which the system has to find memory
for; that soon takes longer than the calculation. In blocks the steps share a little memory, and a reading of a long
record costs what one of a short record does.
"""

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

__all__ = ["READINGS", "blocks", "places"]

READINGS = 1 << 16
"""So many readings are looked at in one go."""


def blocks(length: int) -> Iterator[slice]:
    """Give the slices that a length is cut into, in order."""
    return (slice(start, min(start + READINGS, length)) for start in range(0, length, READINGS))


def places(length: int, test: Callable[[slice], NDArray[np.bool_]]) -> NDArray[np.intp]:
    """Return the indices at which a test holds that looks at each place by itself."""
    if length <= READINGS:  # nearly every record
        return np.flatnonzero(test(slice(0, length)))
    return np.concatenate([part.start + np.flatnonzero(test(part)) for part in blocks(length)])
