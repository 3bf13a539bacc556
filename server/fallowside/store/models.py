"""The tables. Migrations are made from these; the sync path writes to them by plain SQL.

Every row belongs to a place by its number. Entries are never changed or deleted (triggers refuse
it); `seq` rises by one from 1 within a place, in the order of commits.
"""

from sqlalchemy import BigInteger, Column, Index, LargeBinary, String, Text, UniqueConstraint
from sqlmodel import Field, SQLModel

from fallowside.store.log import SETUP_KINDS


def _us(*, nullable: bool = False) -> "Column[int]":
    """Make a column of microseconds since 1970-01-01T00:00Z."""
    return Column(BigInteger, nullable=nullable)


class Place(SQLModel, table=True):
    """A holding with its own log."""

    n: int | None = Field(default=None, primary_key=True)
    name: str = Field(sa_column=Column(String(64), nullable=False, unique=True))
    log: str = Field(sa_column=Column(String(36), nullable=False))
    """Which log this is: drawn anew when a backup is restored, so that phones start over at its head."""
    made_us: int = Field(sa_column=_us())


class Device(SQLModel, table=True):
    """A phone or program that sent entries, and how far its clock was off."""

    __table_args__ = (UniqueConstraint("place_n", "name", name="device_name"),)

    n: int | None = Field(default=None, primary_key=True)
    place_n: int = Field(foreign_key="place.n")
    name: str = Field(sa_column=Column(String(64), nullable=False))
    first_us: int = Field(sa_column=_us())
    last_us: int = Field(sa_column=_us())
    skew_ms: int | None = Field(default=None, sa_column=Column(BigInteger))
    """Server's clock minus the device's, when it last sent. [ms]"""


class Entry(SQLModel, table=True):
    """One entry of the log: `body` holds the bytes as they were received."""

    __table_args__ = (
        UniqueConstraint("place_n", "id", name="entry_id"),
        Index(
            "entry_setup",
            "place_n",
            "seq",
            sqlite_where=Column("kind").in_(SETUP_KINDS),
            postgresql_where=Column("kind").in_(SETUP_KINDS),
        ),
        {"sqlite_with_rowid": False},
    )

    place_n: int = Field(primary_key=True, foreign_key="place.n")
    seq: int = Field(sa_column=Column(BigInteger, primary_key=True, autoincrement=False))
    id: str = Field(sa_column=Column(String(64), nullable=False))
    kind: str = Field(sa_column=Column(String(64), nullable=False))
    device_n: int = Field(foreign_key="device.n")
    received_us: int = Field(sa_column=_us())
    skew_ms: int | None = Field(default=None, sa_column=Column(BigInteger))
    crc: int = Field(sa_column=Column(BigInteger, nullable=False))
    """CRC-32 of `body`: SQLite itself doesn't notice a flipped bit."""
    body: bytes = Field(sa_column=Column(LargeBinary, nullable=False))


class Held(SQLModel, table=True):
    """An entry set aside because it can't be used as it is. A row changes its state, and never goes."""

    __table_args__ = (
        Index("held_id", "place_n", "id"),
        Index(
            "held_waiting",
            "place_n",
            "ripe_us",
            sqlite_where=Column("state") == "waiting",
            postgresql_where=Column("state") == "waiting",
        ),
    )

    n: int | None = Field(default=None, primary_key=True)
    place_n: int = Field(foreign_key="place.n")
    id: str | None = Field(default=None, sa_column=Column(String(64)))
    """The entry's id; none where it has no usable one."""
    device_n: int = Field(foreign_key="device.n")
    code: str = Field(sa_column=Column(String(64), nullable=False))
    field: str = Field(sa_column=Column(Text, nullable=False))
    why: str = Field(sa_column=Column(Text, nullable=False))
    figures: str = Field(sa_column=Column(Text, nullable=False))
    """Numbers that go with `why`, as a JSON object."""
    received_us: int = Field(sa_column=_us())
    skew_ms: int | None = Field(default=None, sa_column=Column(BigInteger))
    ripe_us: int | None = Field(default=None, sa_column=_us(nullable=True))
    """When an entry dated in the future becomes past, by the server's clock."""
    state: str = Field(sa_column=Column(String(16), nullable=False))
    """waiting, accepted (as entry `seq`), mended (another one took its place) or dropped (by a person)."""
    settled_us: int | None = Field(default=None, sa_column=_us(nullable=True))
    seq: int | None = Field(default=None, sa_column=Column(BigInteger))
    crc: int = Field(sa_column=Column(BigInteger, nullable=False))
    body: bytes = Field(sa_column=Column(LargeBinary, nullable=False))
    rights: str | None = Field(default=None, sa_column=Column(Text))
    """What its sender might do when it came, as JSON; none for one who might do everything."""


class Session(SQLModel, table=True):
    """A phone that is let in. Of its token only the hash is kept."""

    n: int | None = Field(default=None, primary_key=True)
    place_n: int = Field(foreign_key="place.n")
    hash: str = Field(sa_column=Column(String(64), nullable=False, unique=True))
    person: str = Field(sa_column=Column(String(64), nullable=False))
    """Whose it is, as set up; '' for a host who isn't set up yet."""
    role: str = Field(sa_column=Column(String(16), nullable=False))
    """What its holder was invited as; counts only while `person` is ''."""
    device: str = Field(sa_column=Column(String(64), nullable=False))
    """The phone's name in the log."""
    label: str = Field(sa_column=Column(String(80), nullable=False))
    made_us: int = Field(sa_column=_us())
    seen_us: int = Field(sa_column=_us())
    ended_us: int | None = Field(default=None, sa_column=_us(nullable=True))


class Invitation(SQLModel, table=True):
    """A code that pairs one phone, once, until it is too old."""

    n: int | None = Field(default=None, primary_key=True)
    place_n: int = Field(foreign_key="place.n")
    hash: str = Field(sa_column=Column(String(64), nullable=False, unique=True))
    person: str = Field(sa_column=Column(String(64), nullable=False))
    role: str = Field(sa_column=Column(String(16), nullable=False))
    made_us: int = Field(sa_column=_us())
    until_us: int = Field(sa_column=_us())
    used_us: int | None = Field(default=None, sa_column=_us(nullable=True))


class Alarm(SQLModel, table=True):
    """Something a host should know, until they have seen it."""

    n: int | None = Field(default=None, primary_key=True)
    place_n: int = Field(foreign_key="place.n")
    what: str = Field(sa_column=Column(String(32), nullable=False))
    source: str = Field(sa_column=Column(String(64), nullable=False))
    """Where it came from: a network address."""
    times: int
    first_us: int = Field(sa_column=_us())
    last_us: int = Field(sa_column=_us())
    seen_us: int | None = Field(default=None, sa_column=_us(nullable=True))


class CalendarAddress(SQLModel, table=True):
    """The secret address of a person's calendar. Only its hash is kept."""

    __tablename__ = "calendar_address"

    n: int | None = Field(default=None, primary_key=True)
    place_n: int = Field(foreign_key="place.n")
    person: str = Field(sa_column=Column(String(64), nullable=False))
    hash: str = Field(sa_column=Column(String(64), nullable=False, unique=True))
    made_us: int = Field(sa_column=_us())
    fetched_us: int | None = Field(default=None, sa_column=_us(nullable=True))
    ended_us: int | None = Field(default=None, sa_column=_us(nullable=True))


class CalendarEvent(SQLModel, table=True):
    """How often an event of a person's calendar has changed."""

    __tablename__ = "calendar_event"

    place_n: int = Field(primary_key=True, foreign_key="place.n")
    person: str = Field(sa_column=Column(String(64), primary_key=True))
    uid: str = Field(sa_column=Column(String(36), primary_key=True))
    digest: str = Field(sa_column=Column(String(64), nullable=False))
    """Hash of all a person sees of it."""
    sequence: int
    changed_us: int = Field(sa_column=_us())
    start_us: int | None = Field(None, sa_column=Column(BigInteger))
    """When it was last said to begin, at a moment that was still to come; None once it has left."""


class Subscription(SQLModel, table=True):
    """A browser that takes messages: where they go, and the keys they are sealed with."""

    n: int | None = Field(default=None, primary_key=True)
    place_n: int = Field(foreign_key="place.n")
    person: str = Field(sa_column=Column(String(64), nullable=False))
    session_n: int | None = Field(default=None, foreign_key="session.n")
    """The phone it is on: one that is no longer let in gets no messages."""
    hash: str = Field(sa_column=Column(String(64), nullable=False, unique=True))
    """Of the endpoint, which is too long for an index."""
    endpoint: str = Field(sa_column=Column(Text, nullable=False))
    key: str = Field(sa_column=Column(String(100), nullable=False))
    """The browser's public key, base64url."""
    secret: str = Field(sa_column=Column(String(32), nullable=False))
    """The secret it shares with us, base64url."""
    language: str = Field(sa_column=Column(String(16), nullable=False))
    made_us: int = Field(sa_column=_us())


class Told(SQLModel, table=True):
    """A matter a person was sent a message about, so that they get no other."""

    place_n: int = Field(primary_key=True, foreign_key="place.n")
    person: str = Field(sa_column=Column(String(64), primary_key=True))
    matter: str = Field(sa_column=Column(String(200), primary_key=True))
    told_us: int = Field(sa_column=_us())


class Photo(SQLModel, table=True):
    """A photo as the phone shrank it, named by the SHA-256 of its bytes."""

    place_n: int = Field(primary_key=True, foreign_key="place.n")
    hash: str = Field(sa_column=Column(String(64), primary_key=True))
    media_type: str = Field(sa_column=Column(String(16), nullable=False))
    received_us: int = Field(sa_column=_us())
    size_bytes: int
    body: bytes = Field(sa_column=Column(LargeBinary, nullable=False))


class Probe(SQLModel, table=True):
    """The token by which probes of one station send their readings; only its hash is kept."""

    n: int | None = Field(default=None, primary_key=True)
    place_n: int = Field(foreign_key="place.n")
    station: str = Field(sa_column=Column(String(64), nullable=False))
    hash: str = Field(sa_column=Column(String(64), nullable=False, unique=True))
    made_us: int = Field(sa_column=_us())
    ended_us: int | None = Field(default=None, sa_column=_us(nullable=True))
