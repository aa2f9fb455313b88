"""Keep the quiet hours with the site."""

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column; nobody has asked for quiet yet."""
    op.add_column("site_version", sa.Column("quiet", sa.String(), nullable=False, server_default=sa.text("''")))
