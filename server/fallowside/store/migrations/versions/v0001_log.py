"""The log: places, devices, entries (append-only) and entries held."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_SETUP_KINDS = sa.text("kind IN ('setup', 'correction')")
_WAITING = sa.text("state = 'waiting'")


def upgrade() -> None:
    """Make the tables, and let the database itself refuse to change an entry."""
    op.create_table(
        "place",
        sa.Column("n", sa.Integer(), primary_key=True),
        sa.Column("name", sa.String(64), nullable=False, unique=True),
        sa.Column("log", sa.String(36), nullable=False),
        sa.Column("made_us", sa.BigInteger(), nullable=False),
    )
    op.create_table(
        "device",
        sa.Column("n", sa.Integer(), primary_key=True),
        sa.Column("place_n", sa.Integer(), sa.ForeignKey("place.n"), nullable=False),
        sa.Column("name", sa.String(64), nullable=False),
        sa.Column("first_us", sa.BigInteger(), nullable=False),
        sa.Column("last_us", sa.BigInteger(), nullable=False),
        sa.Column("skew_ms", sa.BigInteger()),
        sa.UniqueConstraint("place_n", "name", name="device_name"),
    )
    op.create_table(
        "entry",
        sa.Column("place_n", sa.Integer(), sa.ForeignKey("place.n"), primary_key=True),
        sa.Column("seq", sa.BigInteger(), primary_key=True, autoincrement=False),
        sa.Column("id", sa.String(64), nullable=False),
        sa.Column("kind", sa.String(64), nullable=False),
        sa.Column("device_n", sa.Integer(), sa.ForeignKey("device.n"), nullable=False),
        sa.Column("received_us", sa.BigInteger(), nullable=False),
        sa.Column("skew_ms", sa.BigInteger()),
        sa.Column("crc", sa.BigInteger(), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.UniqueConstraint("place_n", "id", name="entry_id"),
        sqlite_with_rowid=False,
    )
    op.create_index(
        "entry_setup", "entry", ["place_n", "seq"], sqlite_where=_SETUP_KINDS, postgresql_where=_SETUP_KINDS
    )
    op.create_table(
        "held",
        sa.Column("n", sa.Integer(), primary_key=True),
        sa.Column("place_n", sa.Integer(), sa.ForeignKey("place.n"), nullable=False),
        sa.Column("id", sa.String(64)),
        sa.Column("device_n", sa.Integer(), sa.ForeignKey("device.n"), nullable=False),
        sa.Column("code", sa.String(64), nullable=False),
        sa.Column("field", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("figures", sa.Text(), nullable=False),
        sa.Column("received_us", sa.BigInteger(), nullable=False),
        sa.Column("skew_ms", sa.BigInteger()),
        sa.Column("ripe_us", sa.BigInteger()),
        sa.Column("state", sa.String(16), nullable=False),
        sa.Column("settled_us", sa.BigInteger()),
        sa.Column("seq", sa.BigInteger()),
        sa.Column("crc", sa.BigInteger(), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
    )
    op.create_index("held_id", "held", ["place_n", "id"])
    op.create_index(
        "held_waiting", "held", ["place_n", "ripe_us"], sqlite_where=_WAITING, postgresql_where=_WAITING
    )
    _refuse_changes()


def _refuse_changes() -> None:
    refused = "entries are never changed or deleted; send a correction"
    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            f"CREATE FUNCTION entry_stays() RETURNS trigger AS $$ BEGIN RAISE EXCEPTION '{refused}'; END; $$ "
            "LANGUAGE plpgsql"
        )
        op.execute(
            "CREATE TRIGGER entry_stays BEFORE UPDATE OR DELETE OR TRUNCATE ON entry "
            "FOR EACH STATEMENT EXECUTE FUNCTION entry_stays()"
        )
        return
    for change in ("update", "delete"):
        op.execute(
            f"CREATE TRIGGER entry_no_{change} BEFORE {change.upper()} ON entry "
            f"BEGIN SELECT RAISE(ABORT, '{refused}'); END"
        )
