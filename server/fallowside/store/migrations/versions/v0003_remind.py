"""Reminders: secret addresses of calendars, changes of their events, phones to message, what was told."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables. Of an address only the hash is kept."""
    op.create_table(
        "calendar_address",
        sa.Column("n", sa.Integer(), primary_key=True),
        sa.Column("place_n", sa.Integer(), sa.ForeignKey("place.n"), nullable=False),
        sa.Column("person", sa.String(64), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False, unique=True),
        sa.Column("made_us", sa.BigInteger(), nullable=False),
        sa.Column("fetched_us", sa.BigInteger()),
        sa.Column("ended_us", sa.BigInteger()),
    )
    op.create_table(
        "calendar_event",
        sa.Column("place_n", sa.Integer(), sa.ForeignKey("place.n"), primary_key=True),
        sa.Column("person", sa.String(64), primary_key=True),
        sa.Column("uid", sa.String(36), primary_key=True),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("changed_us", sa.BigInteger(), nullable=False),
    )
    op.create_table(
        "subscription",
        sa.Column("n", sa.Integer(), primary_key=True),
        sa.Column("place_n", sa.Integer(), sa.ForeignKey("place.n"), nullable=False),
        sa.Column("person", sa.String(64), nullable=False),
        sa.Column("session_n", sa.Integer(), sa.ForeignKey("session.n")),
        sa.Column("hash", sa.String(64), nullable=False, unique=True),
        sa.Column("endpoint", sa.Text(), nullable=False),
        sa.Column("key", sa.String(100), nullable=False),
        sa.Column("secret", sa.String(32), nullable=False),
        sa.Column("language", sa.String(16), nullable=False),
        sa.Column("made_us", sa.BigInteger(), nullable=False),
    )
    op.create_table(
        "told",
        sa.Column("place_n", sa.Integer(), sa.ForeignKey("place.n"), primary_key=True),
        sa.Column("person", sa.String(64), primary_key=True),
        sa.Column("matter", sa.String(200), primary_key=True),
        sa.Column("told_us", sa.BigInteger(), nullable=False),
    )
