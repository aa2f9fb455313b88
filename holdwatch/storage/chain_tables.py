"""The tables of the chain and of the seals; the conventions are those of `tables`."""

from typing import Any, ClassVar

from sqlalchemy import JSON, BigInteger, Column, Float, ForeignKey, Index, Integer, SmallInteger, UniqueConstraint
from sqlmodel import Field, SQLModel

__all__ = ["LateReading", "Link", "Seal", "ThinnedDay"]


class Link(SQLModel, table=True):
    """One line of the chain; only ever appended."""

    __tablename__ = "link"
    __table_args__: ClassVar[Any] = (Index("ix_link_table_name_row", "table_name", "row"),)
    position: int = Field(sa_column=Column(BigInteger, primary_key=True, autoincrement=False))
    table_name: str
    row: str
    text: str  # trust.lines.Line.text: exactly what is digested
    digest: str = Field(unique=True)


class Seal(SQLModel, table=True):
    """The readings of one probe on one UTC day, in one digest; later ones get a supplement that names them."""

    __tablename__ = "seal"
    __table_args__: ClassVar[Any] = (UniqueConstraint("probe_id", "day", "part"),)
    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True, autoincrement=True))
    probe_id: int = Field(sa_column=Column(Integer, ForeignKey("probe.id"), nullable=False, index=True))
    day: str = Field(index=True)  # ISO, in UTC
    part: int = 0  # 0: the day; 1, 2 …: what came after it was sealed
    count: int
    root: str  # trust.merkle.root_of, in hex
    late: list[str] = Field(default_factory=list, sa_column=Column(JSON, nullable=False))
    """Of a supplement: each reading that it is over, packed (`trust.merkle.PACKED`), in hex."""
    head: int = Field(sa_column=Column(BigInteger, nullable=False))  # how many lines the chain had
    head_digest: str
    key: str  # the public half of the key, in hex
    signature: str  # over sealing.signed_text, in hex
    sealed_ms: int = Field(sa_column=Column(BigInteger, nullable=False))


class LateReading(SQLModel, table=True):
    """A reading that came after the seals of its probe had passed its day; it waits for a supplement."""

    __tablename__ = "late_reading"
    probe_id: int = Field(sa_column=Column(Integer, primary_key=True, autoincrement=False))
    at_ms: int = Field(sa_column=Column(BigInteger, primary_key=True, autoincrement=False))
    celsius: float = Field(sa_column=Column(Float(53), primary_key=True))
    flags: int = Field(sa_column=Column(SmallInteger, nullable=False))


class ThinnedDay(SQLModel, table=True):
    """Readings of one probe on one sealed UTC day that were taken away, and what was left."""

    __tablename__ = "thinned_day"
    __table_args__: ClassVar[Any] = (UniqueConstraint("probe_id", "day"),)
    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True, autoincrement=True))
    probe_id: int = Field(sa_column=Column(Integer, ForeignKey("probe.id"), nullable=False))
    day: str = Field(index=True)  # ISO, in UTC
    part: int  # the last seal that is over what was there; later supplements are over later readings
    roots: list[str] = Field(default_factory=list, sa_column=Column(JSON, nullable=False))
    """The roots of those seals, in the order of their parts."""
    taken: int
    left_count: int
    left_root: str  # trust.merkle.root_of the readings that were left, in the order of the seals, in hex
    verdicts: str  # thinning.digest_of_verdicts: what was found of the day, which nobody can compute again
    keep_days: int  # the rule: how long readings were kept then
    by: str
    thinned_ms: int = Field(sa_column=Column(BigInteger, nullable=False))
