"""Let an alert wait for the opening of the kitchen, or for the broker."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add what an alert is held for, and until when; alerts of before were held for nothing."""
    with op.batch_alter_table("alert") as table:
        table.add_column(sa.Column("held", sa.String(), nullable=False, server_default=sa.text("''")))
        table.add_column(sa.Column("held_until_ms", sa.BigInteger(), nullable=False, server_default=sa.text("0")))
