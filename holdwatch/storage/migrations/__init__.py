"""The migrations of the store: Alembic's environment, and one file a version."""
