"""Find the days of a unit without looking at all the days that it ever had."""

from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Put an index over unit and day in the place of the one over the unit."""
    op.create_index("ix_clause_state_unit_day", "clause_state", ["unit_id", "day"], unique=False)
    op.drop_index("ix_clause_state_unit_id", table_name="clause_state")
