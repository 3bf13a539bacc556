"""Is the store sound? The file, pointers between tables, the run of `seq`, bytes of entries and photos."""

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from zlib import crc32

import msgspec

from fallowside.store import log, photos
from fallowside.store.database import Database, Hand
from fallowside.store.errors import Damaged

_MOST_TOLD = 20
"""Findings told one by one; the rest is counted."""


@dataclass(frozen=True, slots=True)
class Report:
    """What `check` found. `content` is one hash over all entries in order: equal logs have equal hashes."""

    entries: int
    held: int
    content: str
    findings: tuple[str, ...]

    @property
    def sound(self) -> bool:
        """Tell whether nothing was found."""
        return not self.findings


def check(database: Database, progress: Callable[[int, int], None] = lambda done, of: None) -> Report:
    """Check everything; `progress` hears how many entries are done, of how many."""
    findings: list[str] = []
    total = held = 0
    content = hashlib.sha256()
    try:
        with database.read() as hand:
            findings += [] if database.postgres else _file(hand)
            for place_n, name in hand.rows("SELECT n, name FROM place ORDER BY n"):
                total += log.last_seq(hand, place_n)
                findings += _entries(hand, place_n, name, content, total, progress)
                findings += _photos(hand, place_n, name)
            found, held = _held(hand)
            findings += found
    except Damaged as error:
        findings.append(str(error))
    if len(findings) > _MOST_TOLD:
        findings = [*findings[:_MOST_TOLD], f"and {len(findings) - _MOST_TOLD} more like these"]
    return Report(total, held, content.hexdigest(), tuple(findings))


def _file(hand: Hand) -> Iterator[str]:
    for (said,) in hand.rows("PRAGMA integrity_check"):
        if said != "ok":
            yield f"the database file is hurt: {said}"
    for table, row, parent, _ in hand.rows("PRAGMA foreign_key_check"):
        yield f"row {row} of table {table} points to a {parent} that isn't there"


def _entries(
    hand: Hand,
    place_n: int,
    place: str,
    content: "hashlib._Hash",
    total: int,
    progress: Callable[[int, int], None],
) -> Iterator[str]:
    seq, expected = 0, 1
    while True:
        page = hand.rows(
            "SELECT seq, id, kind, crc, body FROM entry WHERE place_n = ? AND seq > ? ORDER BY seq LIMIT ?",
            place_n,
            seq,
            log.PAGE,
        )
        if not page:
            return
        for seq, name, kind, crc, stored in page:
            body = _bytes(stored)
            if seq != expected:
                yield f"place {place}: seq jumps from {expected - 1} to {seq}"
            expected = seq + 1
            content.update(b"%b\0%b\n" % (name.encode(), body))
            fault = _body_fault(name, kind, crc, body)
            if fault:
                yield f"place {place}, seq {seq}: {fault}"
        progress(seq, total)


def _bytes(stored: object) -> bytes:
    """Give a stored body; SQLite lets a hand that meddles put text in its place."""
    return stored if isinstance(stored, bytes) else str(stored).encode()


def _body_fault(name: str, kind: str, crc: int, body: bytes) -> str:
    if crc32(body) != crc:
        return "the entry's bytes are not those that were received"
    try:
        doc = msgspec.json.decode(body)
    except (msgspec.DecodeError, UnicodeDecodeError):
        return "the entry is not JSON"
    if not isinstance(doc, dict) or doc.get("id") != name or doc.get("kind") != kind:
        return "the entry's id or kind is not that of its row"
    return ""


def _photos(hand: Hand, place_n: int, place: str) -> Iterator[str]:
    for (name,) in hand.rows("SELECT hash FROM photo WHERE place_n = ? ORDER BY hash", place_n):
        found = photos.get(hand, place_n, name)
        if found is None or hashlib.sha256(found.body).hexdigest() != name:
            yield f"place {place}: photo {name}: its bytes are not those that were received"


def _held(hand: Hand) -> tuple[list[str], int]:
    found = []
    waiting = 0
    for n, state, crc, body in hand.rows("SELECT n, state, crc, body FROM held ORDER BY n"):
        waiting += state == "waiting"
        if crc32(_bytes(body)) != crc:
            found.append(f"held entry {n}: its bytes are not those that were received")
    return found, waiting
