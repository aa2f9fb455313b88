"""Keep when a contact is told, and let an alert wait for somebody to see, or tell of an entry."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table of routes; alerts of before waited for nobody and told of no entry."""
    op.create_table(
        "contact_route",
        sa.Column("id", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("contact_id", sa.Integer(), nullable=False),
        sa.Column("kinds", sa.JSON(), nullable=False),
        sa.Column("unit_ids", sa.JSON(), nullable=False),
        sa.Column("days", sa.JSON(), nullable=False),
        sa.Column("from_min", sa.Integer(), nullable=False),
        sa.Column("to_min", sa.Integer(), nullable=False),
        sa.Column("after_ms", sa.BigInteger(), nullable=False),
        sa.Column("added_ms", sa.BigInteger(), nullable=False),
        sa.Column("ended_ms", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["contact_id"], ["contact.id"], name="fk_contact_route_contact_id"),
        sa.PrimaryKeyConstraint("id", name="pk_contact_route"),
    )
    op.create_index("ix_contact_route_contact_id", "contact_route", ["contact_id"], unique=False)
    with op.batch_alter_table("alert") as table:
        for name in ("entry_id", "wait_ms"):
            table.add_column(sa.Column(name, sa.BigInteger(), nullable=False, server_default=sa.text("0")))
        table.drop_constraint("uq_alert_finding_id_finding_version_contact_id", type_="unique")
        table.create_unique_constraint(
            "uq_alert_finding_id_finding_version_contact_id_entry_id",
            ["finding_id", "finding_version", "contact_id", "entry_id"],
        )
