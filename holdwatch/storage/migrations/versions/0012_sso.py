"""Let a person have an account of the group's single sign-on."""

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column; nobody has one before a manager enters it."""
    op.add_column("person", sa.Column("sso", sa.String(), nullable=False, server_default=sa.text("''")))
