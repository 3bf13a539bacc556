"""SQLite's journal (WAL), moved into its file by a thread of its own, so that no call waits for that.

A commit appends to the journal and forces it to the disk: then it is safe. Left alone, SQLite moves the
journal's pages into the file inside the commit that made it long. Here a thread does so before it is
that long, without holding up anybody; where it can't keep up, SQLite still does
(https://www.sqlite.org/wal.html, "Avoiding Excessively Large WAL Files").
"""

import sqlite3
import threading
from collections.abc import Callable
from contextlib import closing, suppress

MOVED_AFTER_ROWS = 4000
"""About a megabyte and a half."""
MOVED_AT_LAST_ROWS = 20_000
"""Of so many it is moved even while more come."""
LONG_PAGES = 4000
"""Of such a length SQLite itself moves it, inside a commit: 16 MiB."""
_QUIET_S = 0.25
"""Between two commits, when one phone's calls are over."""


class Journal:
    """The journal of one database; told of every commit."""

    def __init__(self, connect: Callable[[], sqlite3.Connection]) -> None:
        self._connect = connect
        self._rows = 0
        self._moving: threading.Thread | None = None
        self._grew = threading.Event()
        self._resting = False

    def grew(self, rows: int) -> None:
        """Note that a commit changed so many rows; called by one writer at a time."""
        self._rows += rows
        self._grew.set()
        if self._rows >= MOVED_AFTER_ROWS and not (self._moving and self._moving.is_alive()):
            self._moving = threading.Thread(target=self._move, name="journal", daemon=True)
            self._moving.start()

    def rest(self) -> None:
        """Wait until nothing is being moved."""
        if self._moving:
            self._resting = True
            self._grew.set()
            self._moving.join()
            self._resting = False

    def _move(self) -> None:
        self._wait_for_quiet()
        self._rows = 0
        # Whatever goes wrong, nothing is lost: the pages stay in the journal, and the next one tries again.
        with suppress(sqlite3.Error), closing(self._connect()) as connection:
            connection.execute("PRAGMA wal_checkpoint(PASSIVE)")

    def _wait_for_quiet(self) -> None:
        """Wait until calls no longer follow each other: they would wait for the disk that this needs too."""
        while self._rows < MOVED_AT_LAST_ROWS and not self._resting:
            self._grew.clear()
            if not self._grew.wait(_QUIET_S):
                return
