"""Who may come in: sessions of phones, invitations to pair one, and alarms for the host."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables. Only hashes of tokens and codes are kept."""
    op.create_table(
        "session",
        sa.Column("n", sa.Integer(), primary_key=True),
        sa.Column("place_n", sa.Integer(), sa.ForeignKey("place.n"), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False, unique=True),
        sa.Column("person", sa.String(64), nullable=False),
        sa.Column("role", sa.String(16), nullable=False),
        sa.Column("device", sa.String(64), nullable=False),
        sa.Column("label", sa.String(80), nullable=False),
        sa.Column("made_us", sa.BigInteger(), nullable=False),
        sa.Column("seen_us", sa.BigInteger(), nullable=False),
        sa.Column("ended_us", sa.BigInteger()),
    )
    op.create_table(
        "invitation",
        sa.Column("n", sa.Integer(), primary_key=True),
        sa.Column("place_n", sa.Integer(), sa.ForeignKey("place.n"), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False, unique=True),
        sa.Column("person", sa.String(64), nullable=False),
        sa.Column("role", sa.String(16), nullable=False),
        sa.Column("made_us", sa.BigInteger(), nullable=False),
        sa.Column("until_us", sa.BigInteger(), nullable=False),
        sa.Column("used_us", sa.BigInteger()),
    )
    op.create_table(
        "alarm",
        sa.Column("n", sa.Integer(), primary_key=True),
        sa.Column("place_n", sa.Integer(), sa.ForeignKey("place.n"), nullable=False),
        sa.Column("what", sa.String(32), nullable=False),
        sa.Column("source", sa.String(64), nullable=False),
        sa.Column("times", sa.Integer(), nullable=False),
        sa.Column("first_us", sa.BigInteger(), nullable=False),
        sa.Column("last_us", sa.BigInteger(), nullable=False),
        sa.Column("seen_us", sa.BigInteger()),
    )
