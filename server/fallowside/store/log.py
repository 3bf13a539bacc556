"""The log of a place: append entries, read them back in the order of their `seq`.

`seq` is given under the writer's turn (SQLite: the one writer; PostgreSQL: the locked row of the
place), so its order is the order of commits and a reader who follows it can't miss an entry.
"""

import uuid
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import msgspec

from fallowside.store.database import ONLY_PLACE as ONLY_PLACE
from fallowside.store.database import Database, Hand

SETUP_KINDS = ("setup", "correction")
"""Kinds that can change what is set up at a place; they have an index of their own."""
PAGE = 5000
"""Rows read at once when a whole log is walked."""


@dataclass(frozen=True, slots=True)
class OpenPlace:
    """A place as a transaction sees it: its number, the name of its log, its newest `seq`."""

    n: int
    log: str
    last_seq: int


@dataclass(frozen=True, slots=True)
class Line:
    """One entry as the log holds it."""

    seq: int
    id: str
    received_us: int
    body: bytes


class Came(NamedTuple):
    """How entries came: the first columns of `append`, alike in all its rows."""

    place_n: int
    device_n: int
    received_us: int
    skew_ms: int | None


Row = tuple[int, str, str, int, bytes | bytearray]
"""The other columns of an entry: seq, id, kind, crc, body."""
_COLUMNS = "entry (place_n, device_n, received_us, skew_ms, seq, id, kind, crc, body)"


def place_number(hand: Hand) -> int | None:
    """Give the number of the place, or None while nothing was ever sent to it."""
    found: int | None = hand.value("SELECT n FROM place WHERE name = ?", hand.place)
    return found


def look_up(hand: Hand) -> OpenPlace | None:
    """Find the place, or None while nothing was ever sent to it."""
    found = hand.rows("SELECT n, log FROM place WHERE name = ?", hand.place)
    return OpenPlace(found[0][0], found[0][1], last_seq(hand, found[0][0])) if found else None


def open_place(hand: Hand, now_us: int) -> OpenPlace:
    """Take the writer's turn at the place, made if it isn't there."""
    find = "SELECT n, log FROM place WHERE name = ?" + (" FOR UPDATE" if hand.postgres else "")
    found = hand.rows(find, hand.place)
    if not found:
        hand.run(
            "INSERT INTO place (name, log, made_us) VALUES (?, ?, ?) ON CONFLICT (name) DO NOTHING",
            hand.place,
            str(uuid.uuid4()),
            now_us,
        )
        found = hand.rows(find, hand.place)
    return OpenPlace(found[0][0], found[0][1], last_seq(hand, found[0][0]))


def device_number(hand: Hand, place_n: int, name: str, now_us: int, skew_ms: int | None) -> int:
    """Note that a device called, and give its number."""
    found: int = hand.value(
        "INSERT INTO device (place_n, name, first_us, last_us, skew_ms) VALUES (?, ?, ?, ?, ?) "
        "ON CONFLICT (place_n, name) DO UPDATE SET last_us = excluded.last_us, skew_ms = excluded.skew_ms "
        "RETURNING n",
        place_n,
        name,
        now_us,
        now_us,
        skew_ms,
    )
    return found


def device_names(hand: Hand, place_n: int) -> dict[int, str]:
    """Give the names of a place's devices by their number."""
    return {row[0]: row[1] for row in hand.rows("SELECT n, name FROM device WHERE place_n = ?", place_n)}


def last_seq(hand: Hand, place_n: int) -> int:
    """Give the newest `seq`, 0 for an empty log."""
    return hand.value("SELECT max(seq) FROM entry WHERE place_n = ?", place_n) or 0


def append(hand: Hand, came: Came, rows: Sequence[Row]) -> None:
    """Append entries that came together.

    Raises:
        Taken: an id among them is taken; the transaction is to be given up.
    """
    hand.insert(_COLUMNS, came, rows)


def bodies_of(hand: Hand, place_n: int, ids: Sequence[str]) -> dict[str, bytes]:
    """Give the bodies of those entries that are in the log."""
    listed, value = hand.listed(ids)
    return dict(
        hand.rows(
            f"SELECT entry.id, body FROM {listed} CROSS JOIN entry "
            "WHERE place_n = ? AND entry.id = listed.value",
            value,
            place_n,
        )
    )


def has(hand: Hand, place_n: int, name: str) -> bool:
    """Tell whether an entry is in the log."""
    return hand.value("SELECT 1 FROM entry WHERE place_n = ? AND id = ?", place_n, name) is not None


def after(hand: Hand, place_n: int, cursor: int, last: int, limit: int) -> list[Line]:
    """Give at most `limit` entries with `cursor` < seq <= `last`, in order."""
    found = hand.rows(
        "SELECT seq, id, received_us, body FROM entry WHERE place_n = ? AND seq > ? AND seq <= ? "
        "ORDER BY seq LIMIT ?",
        place_n,
        cursor,
        last,
        limit,
    )
    return [Line(*row) for row in found]


def setup_bodies(hand: Hand, place_n: int, cursor: int) -> list[tuple[int, bytes]]:
    """Give seq and body of the set-ups and corrections after `cursor`, in order."""
    kinds = ", ".join(f"'{kind}'" for kind in SETUP_KINDS)
    return hand.rows(
        f"SELECT seq, body FROM entry WHERE place_n = ? AND seq > ? AND kind IN ({kinds}) ORDER BY seq",
        place_n,
        cursor,
    )


def lines(database: Database) -> Iterator[Line]:
    """Walk the whole log of the place as it is now, in order."""
    with database.read() as hand:
        place_n = place_number(hand)
        if place_n is None:
            return
        seq, last = 0, last_seq(hand, place_n)
        while page := after(hand, place_n, seq, last, PAGE):
            yield from page
            seq = page[-1].seq


def entries(database: Database) -> Iterator[dict[str, Any]]:
    """Walk the whole log of the place as parsed entries, in order."""
    decode = msgspec.json.decode
    for line in lines(database):
        yield decode(line.body)
