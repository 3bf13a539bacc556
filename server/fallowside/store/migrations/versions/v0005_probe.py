"""Probes: thermometers and the like that send readings of one station by themselves."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "probe",
        sa.Column("n", sa.Integer(), primary_key=True),
        sa.Column("place_n", sa.Integer(), sa.ForeignKey("place.n"), nullable=False),
        sa.Column("station", sa.String(64), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False, unique=True),
        sa.Column("made_us", sa.BigInteger(), nullable=False),
        sa.Column("ended_us", sa.BigInteger()),
    )
