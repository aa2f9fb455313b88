"""Let an entry be about a finding."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the finding's number to the entries."""
    with op.batch_alter_table("event") as table:
        table.add_column(sa.Column("finding_id", sa.Integer(), nullable=True))
        table.create_foreign_key("fk_event_finding_id", "finding", ["finding_id"], ["id"])
        table.create_index("ix_event_finding_id", ["finding_id"], unique=False)
