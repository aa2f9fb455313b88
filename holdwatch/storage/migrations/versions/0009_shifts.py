"""Keep who is on shift at which screen, and tries that were refused."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the three tables; whoever is signed in signs in once more."""
    op.create_table(
        "refusal",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("at_ms", sa.BigInteger(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("why", sa.String(), nullable=False),
        sa.Column("times", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_refusal"),
    )
    op.create_index("ix_refusal_at_ms", "refusal", ["at_ms"])
    op.create_table(
        "screen",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("kitchen", sa.Boolean(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("opened_ms", sa.BigInteger(), nullable=False),
        sa.Column("seen_ms", sa.BigInteger(), nullable=False),
        sa.Column("ended_ms", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_screen_person_id"),
        sa.PrimaryKeyConstraint("id", name="pk_screen"),
    )
    op.create_index("ix_screen_ended_ms", "screen", ["ended_ms"])
    op.create_index("ix_screen_person_id", "screen", ["person_id"])
    op.create_table(
        "shift",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("screen_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("from_ms", sa.BigInteger(), nullable=False),
        sa.Column("until_ms", sa.BigInteger(), nullable=False),
        sa.Column("ended_ms", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["screen_id"], ["screen.id"], name="fk_shift_screen_id"),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_shift_person_id"),
        sa.PrimaryKeyConstraint("id", name="pk_shift"),
    )
    for column in ("ended_ms", "person_id", "screen_id"):
        op.create_index(f"ix_shift_{column}", "shift", [column])
