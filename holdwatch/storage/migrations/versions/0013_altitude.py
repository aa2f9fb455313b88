"""Keep the altitude of the kitchen with the site."""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column; nobody has said it yet."""
    with op.batch_alter_table("site_version") as table:
        table.add_column(sa.Column("altitude", sa.String(), nullable=False, server_default=sa.text("''")))
