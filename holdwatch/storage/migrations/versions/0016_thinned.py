"""Keep of which sealed days readings were taken away."""

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; nothing was ever thinned."""
    op.create_table(
        "thinned_day",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("probe_id", sa.Integer(), nullable=False),
        sa.Column("day", sa.String(), nullable=False),
        sa.Column("part", sa.Integer(), nullable=False),
        sa.Column("roots", sa.JSON(), nullable=False),
        sa.Column("taken", sa.Integer(), nullable=False),
        sa.Column("left_count", sa.Integer(), nullable=False),
        sa.Column("left_root", sa.String(), nullable=False),
        sa.Column("verdicts", sa.String(), nullable=False),
        sa.Column("keep_days", sa.Integer(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("thinned_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["probe_id"], ["probe.id"], name="fk_thinned_day_probe_id_probe"),
        sa.PrimaryKeyConstraint("id", name="pk_thinned_day"),
        sa.UniqueConstraint("probe_id", "day", name="uq_thinned_day_probe_id_day"),
    )
    op.create_index("ix_thinned_day_day", "thinned_day", ["day"])
