"""The table of the written plan's products; the conventions are those of `tables`."""

from typing import Any

from sqlalchemy import JSON, BigInteger, Column, ForeignKey, Index, Integer
from sqlmodel import Field, SQLModel

from holdwatch.storage import tables

__all__ = ["ProductVersion"]


class ProductVersion(SQLModel, table=True):
    """A product as the plan had it from an instant on; the latest at or before an instant is in force then."""

    __tablename__ = "product_version"
    __table_args__ = (Index("ix_product_version_folded_from_ms", "folded", "from_ms"),)
    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True, autoincrement=True))
    folded: str  # the name without capitals: by it a product is found
    name: str
    from_ms: int = Field(sa_column=Column(BigInteger, nullable=False))
    retired: bool = False  # from then on the plan has no such product
    plan: dict[str, Any] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))
    by: str
    why: str
    recorded_ms: int = Field(sa_column=Column(BigInteger, nullable=False))
    event_id: int = Field(
        sa_column=Column(Integer, ForeignKey(f"{tables.Event.__tablename__}.id"), nullable=False, index=True)
    )
