"""Keep the chain of all that is recorded, and the seals of the readings."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables; what the store holds is taken into the chain afterwards."""
    op.create_table(
        "link",
        sa.Column("position", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("table_name", sa.String(), nullable=False),
        sa.Column("row", sa.String(), nullable=False),
        sa.Column("text", sa.String(), nullable=False),
        sa.Column("digest", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("position", name="pk_link"),
        sa.UniqueConstraint("digest", name="uq_link_digest"),
    )
    op.create_index("ix_link_table_name_row", "link", ["table_name", "row"])
    op.create_table(
        "seal",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("probe_id", sa.Integer(), nullable=False),
        sa.Column("day", sa.String(), nullable=False),
        sa.Column("part", sa.Integer(), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("root", sa.String(), nullable=False),
        sa.Column("late", sa.JSON(), nullable=False),
        sa.Column("head", sa.BigInteger(), nullable=False),
        sa.Column("head_digest", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("signature", sa.String(), nullable=False),
        sa.Column("sealed_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["probe_id"], ["probe.id"], name="fk_seal_probe_id_probe"),
        sa.PrimaryKeyConstraint("id", name="pk_seal"),
        sa.UniqueConstraint("probe_id", "day", "part", name="uq_seal_probe_id_day_part"),
    )
    op.create_index("ix_seal_probe_id", "seal", ["probe_id"])
    op.create_index("ix_seal_day", "seal", ["day"])
    op.create_table(
        "late_reading",
        sa.Column("probe_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at_ms", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("celsius", sa.Float(53), nullable=False),
        sa.Column("flags", sa.SmallInteger(), nullable=False),
        sa.PrimaryKeyConstraint("probe_id", "at_ms", "celsius", name="pk_late_reading"),
    )
