"""The versions of the tables, oldest first; a file in ``migrations/versions`` makes each from the one before."""

__all__ = ["VERSIONS", "head_version"]

VERSIONS = (
    "0001",
    "0002",
    "0003",
    "0004",
    "0005",
    "0006",
    "0007",
    "0008",
    "0009",
    "0010",
    "0011",
    "0012",
    "0013",
    "0014",
    "0015",
    "0016",
    "0017",
    "0018",
)


def head_version() -> str:
    """Return the version of the tables that this program needs."""
    return VERSIONS[-1]
