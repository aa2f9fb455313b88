"""Keep what is heard on topics of no probe, with what it seems to say."""

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; what speaks will be heard again."""
    texts = ("payload", "pointer", "time_pointer", "unit_pointer", "senml_name", "unit")
    op.create_table(
        "heard",
        sa.Column("topic", sa.String(), nullable=False),
        sa.Column("first_ms", sa.BigInteger(), nullable=False),
        sa.Column("last_ms", sa.BigInteger(), nullable=False),
        sa.Column("messages", sa.BigInteger(), nullable=False),
        sa.Column("live", sa.Boolean(), nullable=False),
        *(sa.Column(name, sa.String(), nullable=False) for name in texts),
        sa.Column("celsius", sa.Float(53), nullable=True),
        *(sa.Column(name, sa.String(), nullable=False) for name in ("battery", "signal", "problem", "said")),
        sa.PrimaryKeyConstraint("topic", name="pk_heard"),
    )
