"""Let a correction have a slope beside its offset."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column; what was corrected by an offset alone has a slope of 1."""
    with op.batch_alter_table("correction") as table:
        table.add_column(sa.Column("slope", sa.Float(53), nullable=False, server_default=sa.text("1")))
