"""Alembic's environment: it runs on the connection that ``holdwatch.storage.migrating`` hands it."""

from alembic import context
from sqlmodel import SQLModel

from holdwatch.storage import limits_tables, people_tables, product_tables, tables

for each in (  # the import is what fills the metadata
    tables.Reading,
    people_tables.Person,
    limits_tables.LimitsText,
    product_tables.ProductVersion,
):
    assert each.metadata is SQLModel.metadata  # noqa: S101

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=SQLModel.metadata,
    render_as_batch=True,  # SQLite changes a table by making it anew
    compare_type=True,
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
