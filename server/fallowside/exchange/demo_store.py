"""Puts the demo into a store, without ever touching what people wrote."""

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


def is_outdated(database: Database, today: date) -> bool:
    """Tell whether a store holds the demo of another day and nothing else: then it may be made anew."""
    ours, others = _present(database)
    return ours > 0 and others == 0 and not _holds(database, today)


def put(
    database: Database,
    today: date,
    now_us: Callable[[], int],
    progress: Callable[[int, int | None], None] = lambda done, of: None,
) -> str:
    """Load the demo that ends today into an empty store, or keep the demo that people have written into.

    Returns:
        One sentence on what was done.

    Raises:
        Occupied: the store holds another place.
    """
    ours, others = _present(database)
    if others and not ours:
        raise Occupied("this store holds a place of its own; give the demo another folder with --data")
    if ours and not _holds(database, today):
        return (
            f"This demo ended on an earlier day and holds {others:,} entries of yours, so it stays as it is; "
            "for one that ends today give another folder with --data."
        )
    lines = [json.dumps(entry, ensure_ascii=False).encode() + b"\n" for entry in demo.entries(today)]
    size = sum(map(len, lines))
    done = entry_lines.load(
        database, io.BytesIO(b"".join(lines)), now_us, device=DEVICE, progress=lambda at: progress(at, size)
    )
    what = "is loaded already" if done.already == done.accepted else "is loaded"
    held = f", {len(done.held)} held" if done.held else ""
    return f"The demo {what}: {done.accepted:,} entries of an invented place{held}."


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


def _holds(database: Database, today: date) -> bool:
    """Tell whether the demo that ends today was begun to be loaded."""
    first = demo.entries(today)[0]["id"]
    with database.read() as hand:
        place_n = log.place_number(hand)
        return place_n is not None and log.has(hand, place_n, first)
