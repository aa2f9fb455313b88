"""The root over readings, held against the tree of RFC 6962."""

import hashlib
import struct

import numpy as np
import pytest

from holdwatch.trust.merkle import LEAF, PACKED, root_of, tree_root

# Inputs and roots of the reference test of Certificate Transparency (google/certificate-transparency, merkletree), from memory.
INPUTS = [
    bytes.fromhex(each)
    for each in ("", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f")
]
ROOTS = (
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
)


@pytest.mark.parametrize("count", range(1, 9))
def test_root_is_that_of_the_reference(count: int) -> None:
    """One to eight leaves: every shape of a small tree."""
    assert tree_root(INPUTS[:count]).hex() == ROOTS[count - 1]


def test_root_of_nothing() -> None:
    """RFC 6962, section 2.1: the hash of an empty list is the hash of an empty string (FIPS 180-4)."""
    assert tree_root([]).hex() == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


def _readings(count: int) -> np.ndarray:
    found = np.zeros(count, dtype=PACKED.newbyteorder("="))
    found["at_ms"] = 1_780_000_000_000 + 30_000 * np.arange(count)
    found["celsius"] = 4.0 + 0.0625 * (np.arange(count) % 7)
    found["lag_ms"] = 120
    return found


def test_a_reading_is_packed_big_endian() -> None:
    """By hand, as docs/records-format.md says, whatever the machine's own order."""
    one = _readings(1)
    packed = struct.pack(">qdqh", 1_780_000_000_000, 4.0, 120, 0)
    assert root_of(one) == hashlib.sha256(b"\x00" + packed).hexdigest()


@pytest.mark.parametrize("count", [LEAF - 1, LEAF, LEAF + 1, 3 * LEAF])
@pytest.mark.parametrize("field", ["at_ms", "celsius", "lag_ms", "flags"])
def test_any_changed_figure_changes_the_root(count: int, field: str) -> None:
    """The last one too, at the seams of the leaves."""
    readings, changed = _readings(count), _readings(count)
    changed[field][-1] += 1
    assert root_of(readings) != root_of(changed)


def test_order_counts() -> None:
    """Two readings that are swapped are another record."""
    readings = _readings(LEAF + 2)
    swapped = readings.copy()
    swapped[[0, LEAF + 1]] = readings[[LEAF + 1, 0]]
    assert root_of(readings) != root_of(swapped)
