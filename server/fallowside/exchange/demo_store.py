"""Puts the demo into a store, without ever touching a real place's entries."""

import io
import json
from collections.abc import Callable
from datetime import date

from fallowside.exchange import demo, entry_lines
from fallowside.store import log
from fallowside.store.database import Database
from fallowside.store.errors import Occupied

DEVICE = "demo"
"""Under this name the store's book has the demo's own entries."""


def put(
    database: Database, today: date, now_us: Callable[[], int], progress: Callable[[int, int | None], None]
) -> str:
    """Load the demo that ends today into an empty store, or keep the demo that is there.

    Returns:
        One sentence on what was done.

    Raises:
        Occupied: the store holds another place.
    """
    ours, others = _present(database)
    if others and not ours:
        raise Occupied("this store holds a place of its own; give the demo another folder with --data")
    if ours:
        yours = f" and {others:,} of yours" if others else ""
        return f"The demo is loaded already: {ours:,} entries of its own{yours}."
    lines = [json.dumps(entry, ensure_ascii=False).encode() + b"\n" for entry in demo.entries(today)]
    size = sum(map(len, lines))
    done = entry_lines.load(
        database, io.BytesIO(b"".join(lines)), now_us, device=DEVICE, progress=lambda at: progress(at, size)
    )
    held = f", {len(done.held)} held" if done.held else ""
    return f"The demo is loaded: {done.accepted:,} entries of an invented place{held}."


def _present(database: Database) -> tuple[int, int]:
    """Count the demo's own entries and all others."""
    with database.read() as hand:
        place_n = log.place_number(hand)
        if place_n is None:
            return 0, 0
        ours = hand.value(
            "SELECT count(*) FROM entry JOIN device ON device.n = device_n "
            "WHERE entry.place_n = ? AND name = ?",
            place_n,
            DEVICE,
        )
        return ours, log.last_seq(hand, place_n) - ours
