"""One digest for a day of readings: the root of a tree of hashes.

A leaf is 1,024 packed readings; two kinds of prefix keep a leaf from passing for a node [1]_. Where a level has an odd
number, the tree is split as there: the larger half is a whole power of two.

References
----------
.. [1] RFC 6962, Certificate Transparency, section 2.1: Merkle Hash Trees.
"""

import hashlib
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["LEAF", "PACKED", "root_of", "tree_root"]

LEAF = 1024
"""How many readings are in a leaf."""

PACKED = np.dtype([("at_ms", ">i8"), ("celsius", ">f8"), ("lag_ms", ">i8"), ("flags", ">i2")])
"""A reading as it is digested, big-endian: instant, raw value, how long after it arrived, and what is known of it."""


def root_of(readings: NDArray[Any]) -> str:
    """Return the root over readings, in hex.

    Parameters
    ----------
    readings : array of `PACKED`
        In the order in which they are digested; shape (n,).
    """
    packed = np.ascontiguousarray(readings, dtype=PACKED).tobytes()
    size = LEAF * PACKED.itemsize
    return tree_root([packed[first : first + size] for first in range(0, len(packed), size)]).hex()


def tree_root(leaves: list[bytes]) -> bytes:
    """Return the root of a tree over leaves, as RFC 6962 computes it [1]_."""
    if not leaves:
        return hashlib.sha256().digest()
    if len(leaves) == 1:
        return hashlib.sha256(b"\x00" + leaves[0]).digest()
    left = 1 << ((len(leaves) - 1).bit_length() - 1)
    return hashlib.sha256(b"\x01" + tree_root(leaves[:left]) + tree_root(leaves[left:])).digest()
