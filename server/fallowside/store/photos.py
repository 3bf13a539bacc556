"""Photos that entries speak of, named by the SHA-256 of their bytes.

A photo comes whole or not at all, and the same one may come again: so a phone that lost its signal
half-way sends it once more. It was shrunk and stripped on the phone; one that still tells where and with
what it was taken is refused, never mended.
"""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from fallowside.store.database import Hand

MOST_BYTES: Final = 300_000
"""Of one photo."""
BUDGET_BYTES: Final = 2_000_000_000
"""Of all photos of a place."""

Wrong = Literal["too_large", "other_content", "no_photo", "tells_where", "no_room"]

_JPEG, _WEBP = b"\xff\xd8\xff", b"RIFF"
_WEBP_MARK, _WEBP_HEAD, _CHUNK_HEAD = b"WEBP", 12, 8
_WEBP_TELLS: Final = frozenset({b"EXIF", b"XMP "})
_SCAN, _END, _APP1, _APP13, _COMMENT, _FILL = 0xDA, 0xD9, 0xE1, 0xED, 0xFE, 0xFF
_JPEG_TELLS: Final = frozenset({_APP1, _APP13, _COMMENT})
"""Segments of a JPEG in which cameras and programs note things: Exif and XMP, IPTC, remarks."""


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo and what kind of picture it is."""

    media_type: str
    body: bytes


def wrong(name: str, body: bytes) -> Wrong | None:
    """Say what is wrong with a photo sent under a name; None if nothing is."""
    if len(body) > MOST_BYTES:
        return "too_large"
    if hashlib.sha256(body).hexdigest() != name:
        return "other_content"
    if media_type(body) is None:
        return "no_photo"
    return "tells_where" if _tells(body) else None


def media_type(body: bytes) -> str | None:
    """Tell a JPEG or a WebP by its first bytes; None if it is neither."""
    if body.startswith(_JPEG):
        return "image/jpeg"
    return "image/webp" if body.startswith(_WEBP) and body[8:_WEBP_HEAD] == _WEBP_MARK else None


def put(hand: Hand, place_n: int, name: str, body: bytes, now_us: int) -> Wrong | None:
    """Store a photo unless it is there; say what is wrong with it, if something is."""
    found = wrong(name, body)
    if found is not None or has(hand, place_n, name):
        return found
    if used_bytes(hand, place_n) + len(body) > BUDGET_BYTES:
        return "no_room"
    hand.run(
        "INSERT INTO photo (place_n, hash, media_type, received_us, size_bytes, body) "
        "VALUES (?, ?, ?, ?, ?, ?)",
        place_n,
        name,
        media_type(body),
        now_us,
        len(body),
        body,
    )
    return None


def has(hand: Hand, place_n: int, name: str) -> bool:
    """Tell whether a photo is stored."""
    return bool(hand.rows("SELECT 1 FROM photo WHERE place_n = ? AND hash = ?", place_n, name))


def get(hand: Hand, place_n: int, name: str) -> Photo | None:
    """Give a photo, or None if there is none of that name."""
    found = hand.rows("SELECT media_type, body FROM photo WHERE place_n = ? AND hash = ?", place_n, name)
    return Photo(found[0][0], bytes(found[0][1])) if found else None


def used_bytes(hand: Hand, place_n: int) -> int:
    """Give how much room the photos of a place take."""
    return int(hand.value("SELECT COALESCE(SUM(size_bytes), 0) FROM photo WHERE place_n = ?", place_n))


def _tells(body: bytes) -> bool:
    if body.startswith(_JPEG):
        marks = set(_segments(body))
        # Segments that don't lead to a picture may hold anything.
        return _SCAN not in marks or not marks.isdisjoint(_JPEG_TELLS)
    return any(chunk in _WEBP_TELLS for chunk in _chunks(body))


def _segments(body: bytes) -> Iterator[int]:
    """Give the marks of a JPEG's segments up to the scan of the picture (ISO/IEC 10918-1, annex B)."""
    at = 2
    while at + 4 <= len(body) and body[at] == 0xFF:
        mark = body[at + 1]
        if mark == _FILL:
            at += 1
            continue
        yield mark
        if mark in (_SCAN, _END):
            return
        at += 2 + int.from_bytes(body[at + 2 : at + 4], "big")


def _chunks(body: bytes) -> Iterator[bytes]:
    """Give the names of a WebP's chunks (RFC 9649)."""
    at = _WEBP_HEAD
    while at + _CHUNK_HEAD <= len(body):
        yield body[at : at + 4]
        size = int.from_bytes(body[at + 4 : at + _CHUNK_HEAD], "little")
        at += _CHUNK_HEAD + size + size % 2
