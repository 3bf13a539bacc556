"""When two entries say the same, and which of their fields are the server's."""

from collections.abc import Mapping
from typing import Any

import msgspec

SERVERS_FIELDS = frozenset({"seq", "received_at"})
"""Fields the server adds to what it hands out; an entry that comes back with them is still the same."""


def own_bytes(doc: Mapping[str, Any]) -> bytes:
    """Write an entry anew without the fields the server adds."""
    return msgspec.json.encode({key: value for key, value in doc.items() if key not in SERVERS_FIELDS})


def same_content(body: bytes, doc: Any) -> bool:
    """Tell whether a stored body says the same as a parsed entry, however both are written."""
    return isinstance(doc, dict) and _same(_own(msgspec.json.decode(body)), _own(doc))


def _own(doc: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in doc.items() if key not in SERVERS_FIELDS}


def _same(one: Any, other: Any) -> bool:
    """Compare as JSON does: 1 is 1.0, but neither is true."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_same, one, other))
    return isinstance(one, bool) == isinstance(other, bool) and bool(one == other)
