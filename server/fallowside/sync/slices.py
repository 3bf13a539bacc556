"""Cuts a call into its entries where the strict parser gave up, so that one bad entry spoils no other.

Python's own parser reads what strict JSON forbids and phones or scripts do write: NaN, Infinity and
half of a surrogate pair. Everything else that is not JSON still fails here, with a ValueError.
"""

import json
import re
from typing import Any

import msgspec

_decoder = json.JSONDecoder()
_SPACE = re.compile(r"[ \t\n\r]+")


def split(body: bytes, most: int) -> tuple[bytes, list[bytes]]:
    """Cut a call into the call without its entries, and each entry as it was sent.

    Args:
        body: The call.
        most: Entries it may hold; of more than these, the first too many is the last that is cut.

    Raises:
        ValueError: not JSON even by the tolerant reading, or not an object.
    """
    text = body.decode()
    outside: dict[str, Any] = {}
    entries: list[bytes] = []
    at = _mark(text, 0, "{")
    while not _is(text, at, "}"):
        key, at = _decoder.raw_decode(text, _skip(text, at))
        if not isinstance(key, str):
            raise ValueError("a name is missing")
        at = _mark(text, at, ":")
        if key == "entries" and _is(text, at, "["):
            entries, at = _list(text, at, most)
            if len(entries) > most:
                return b"{}", entries
        else:
            outside[key], at = _decoder.raw_decode(text, _skip(text, at))
        at = _next(text, at, "}")
    if _skip(text, _mark(text, at, "}")) != len(text):
        raise ValueError("something follows the end")
    return json.dumps(outside).encode(), entries


def strict(body: bytes) -> Any:
    """Parse one entry, or give None if it is not JSON."""
    try:
        return msgspec.json.decode(body)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return None


def tolerant(body: bytes) -> Any:
    """Parse one entry tolerantly, or give None."""
    try:
        return json.loads(body)
    except (ValueError, RecursionError):
        return None


def _list(text: str, at: int, most: int) -> tuple[list[bytes], int]:
    found: list[bytes] = []
    at = _mark(text, at, "[")
    while not _is(text, at, "]"):
        if len(found) > most:
            return found, at
        start = _skip(text, at)
        end = _decoder.raw_decode(text, start)[1]
        found.append(text[start:end].encode())
        at = _next(text, end, "]")
    return found, _mark(text, at, "]")


def _skip(text: str, at: int) -> int:
    found = _SPACE.match(text, at)
    return found.end() if found else at


def _is(text: str, at: int, mark: str) -> bool:
    at = _skip(text, at)
    return text[at : at + 1] == mark


def _mark(text: str, at: int, mark: str) -> int:
    at = _skip(text, at)
    if text[at : at + 1] != mark:
        raise ValueError(f"expected {mark!r} at character {at}")
    return at + 1


def _next(text: str, at: int, end: str) -> int:
    """Step over a comma, which may not stand before the end."""
    if _is(text, at, end):
        return at
    at = _mark(text, at, ",")
    if _is(text, at, end):
        raise ValueError(f"a comma stands before {end!r} at character {at}")
    return at
