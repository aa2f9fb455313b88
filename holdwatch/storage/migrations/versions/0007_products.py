"""Keep the products of the written plan, every version of each."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; a store of before has no plan."""
    op.create_table(
        "product_version",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("folded", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("from_ms", sa.BigInteger(), nullable=False),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.Column("plan", sa.JSON(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("why", sa.String(), nullable=False),
        sa.Column("recorded_ms", sa.BigInteger(), nullable=False),
        sa.Column("event_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["event_id"], ["event.id"], name="fk_product_version_event_id"),
        sa.PrimaryKeyConstraint("id", name="pk_product_version"),
    )
    op.create_index("ix_product_version_folded_from_ms", "product_version", ["folded", "from_ms"], unique=False)
    op.create_index("ix_product_version_event_id", "product_version", ["event_id"], unique=False)
