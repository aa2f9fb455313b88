"""Alembic's environment: it runs on the connection that ``holdwatch.storage.migrating`` hands it."""

from alembic import context

from holdwatch.storage.every_table import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    render_as_batch=True,  # SQLite changes a table by making it anew
    compare_type=True,
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
