"""Make who works here, their tries with a PIN, and what they signed."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the three tables."""
    op.create_table(
        "person",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("initials", sa.String(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("pin_hash", sa.String(), nullable=False),
        sa.Column("pin_set_ms", sa.BigInteger(), nullable=True),
        sa.Column("added_ms", sa.BigInteger(), nullable=False),
        sa.Column("ended_ms", sa.BigInteger(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_person"),
        sa.UniqueConstraint("name", name="uq_person_name"),
    )
    op.create_index("ix_person_ended_ms", "person", ["ended_ms"], unique=False)
    op.create_table(
        "pin_try",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("at_ms", sa.BigInteger(), nullable=False),
        sa.Column("act", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("outcome", sa.String(), nullable=False),
        sa.Column("times", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_pin_try_person_id"),
        sa.PrimaryKeyConstraint("id", name="pk_pin_try"),
    )
    op.create_index("ix_pin_try_person_id", "pin_try", ["person_id"], unique=False)
    op.create_table(
        "signature",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("event_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("initials", sa.String(), nullable=False),
        sa.Column("at_ms", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["event_id"], ["event.id"], name="fk_signature_event_id"),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_signature_person_id"),
        sa.PrimaryKeyConstraint("id", name="pk_signature"),
    )
    op.create_index("ix_signature_event_id", "signature", ["event_id"], unique=False)
    op.create_index("ix_signature_person_id", "signature", ["person_id"], unique=False)
