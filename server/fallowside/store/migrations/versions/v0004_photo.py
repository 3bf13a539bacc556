"""Photos: named by their content, beside the entries that speak of them."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "photo",
        sa.Column("place_n", sa.Integer(), sa.ForeignKey("place.n"), primary_key=True),
        sa.Column("hash", sa.String(64), primary_key=True),
        sa.Column("media_type", sa.String(16), nullable=False),
        sa.Column("received_us", sa.BigInteger(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
    )
