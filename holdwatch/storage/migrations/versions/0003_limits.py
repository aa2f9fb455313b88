"""Keep limits files by their text; let a site say who inspects it, and answer two questions."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; sites of before name no version: the file that they name is read, as it was until now."""
    op.create_table(
        "limits_text",
        sa.Column("digest", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("text", sa.String(), nullable=False),
        sa.Column("base_text", sa.String(), nullable=False),
        sa.Column("kept_ms", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("digest", name="pk_limits_text"),
    )
    with op.batch_alter_table("site_version") as table:
        for name in ("limits_digest", "authority", "raw_egg", "susceptible"):
            table.add_column(sa.Column(name, sa.String(), nullable=False, server_default=""))
