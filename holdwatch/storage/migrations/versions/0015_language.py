"""Keep the language of the site, and the language and the degrees of a person's screens."""

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns; nobody has chosen yet, which is English and the site's."""
    for table, column in (("site_version", "language"), ("person", "language"), ("person", "scale")):
        op.add_column(table, sa.Column(column, sa.String(), nullable=False, server_default=sa.text("''")))
