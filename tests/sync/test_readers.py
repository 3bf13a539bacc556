"""A reader that follows its cursor sees every entry exactly once, whatever commits meanwhile."""

import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress

import pytest

from fallowside.store import integrity
from fallowside.store.database import Database
from fallowside.store.errors import Busy
from fallowside.sync.intake import Intake, Outcome
from tests.logs import Raw, setups
from tests.stores import feed, ids, send

pytestmark = pytest.mark.both_databases

WRITERS, CALLS, ENTRIES = 50, 8, 5


def sent(door: Intake, entries: list[Raw], device: str) -> Outcome:
    """Send until there is an answer, as phones do: a busy machine may tell some of fifty to wait."""
    while True:
        with suppress(Busy):
            return send(door, entries, device=device)


def test_a_reader_sees_each_entry_once_while_fifty_write(database: Database) -> None:
    send(Intake(database), setups())
    doors = [Intake(database) for _ in range(WRITERS)]
    done = threading.Event()
    seen: list[str] = []
    cursors: list[int] = []

    def write(writer: int) -> None:
        for call in range(CALLS):
            first = (writer * CALLS + call) * ENTRIES
            made = [feed(number) for number in range(first, first + ENTRIES)]
            assert sent(doors[writer], made, f"writer-{writer}").new == ENTRIES

    def read() -> None:
        reader, cursor = Intake(database), 0
        while True:
            last = done.is_set()
            try:
                outcome = send(reader, device="reader", cursor=cursor)
            except Busy:
                continue
            seen.extend(ids(outcome.lines))
            cursor = outcome.cursor
            cursors.append(cursor)
            if last and not outcome.more and not outcome.lines:
                return

    reader = threading.Thread(target=read)
    reader.start()
    try:
        with ThreadPoolExecutor(WRITERS) as pool:
            list(pool.map(write, range(WRITERS)))
    finally:
        done.set()
        reader.join()
    expected = {one["id"] for one in setups()} | {f"feed-{n}" for n in range(WRITERS * CALLS * ENTRIES)}
    assert len(seen) == len(set(seen))
    assert set(seen) == expected
    assert cursors == sorted(cursors)
    assert integrity.check(database).sound
