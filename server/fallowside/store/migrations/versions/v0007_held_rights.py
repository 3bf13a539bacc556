"""Held entries: what their sender might do then, for when they are judged again."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column; of what is held already nobody noted it."""
    op.add_column("held", sa.Column("rights", sa.Text()))
