"""Calendars: when an event was last said to begin, so that one that comes late still rings, once."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column."""
    op.add_column("calendar_event", sa.Column("start_us", sa.BigInteger()))
