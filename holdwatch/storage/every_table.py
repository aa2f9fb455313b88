"""All tables of the store, whichever file they are written in."""

from typing import Any

from sqlmodel import SQLModel

from holdwatch.storage import chain_tables, limits_tables, people_tables, product_tables, tables

__all__ = ["METADATA", "every_table"]

# Naming one class of each file is what keeps its import.
METADATA = SQLModel.metadata
for _each in (
    tables.Reading,
    people_tables.Person,
    limits_tables.LimitsText,
    product_tables.ProductVersion,
    chain_tables.Link,
):
    assert _each.metadata is METADATA  # noqa: S101


def every_table() -> dict[str, type[SQLModel]]:
    """Return the tables by name, in the order of their names."""
    mappers: Any = SQLModel._sa_registry.mappers  # noqa: SLF001  the library names no other way to list its tables
    found = {mapper.local_table.name: mapper.class_ for mapper in mappers if mapper.local_table.metadata is METADATA}
    return {name: found[name] for name in sorted(found)}
