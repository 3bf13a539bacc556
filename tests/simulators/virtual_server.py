"""The real server's intake on a virtual disk: one that fails, dies at any statement, and is put back.

Everything from the bytes of a call to the bytes of its answer is the service's own code; only the file
is memory, and the clock a number.
"""

import sqlite3
import tempfile
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random
from typing import Any, TypeVar

from fallowside.store import held, integrity, log
from fallowside.store.database import Database, at_file
from fallowside.store.drivers import Driver
from fallowside.store.errors import StoreProblem
from fallowside.sync import call, reply
from fallowside.sync.intake import Intake

T = TypeVar("T")


class Killed(BaseException):
    """The process dies here; what was not committed is gone."""


@dataclass
class Trouble:
    """What is to go wrong: at which statement from now, and whether the process dies of it."""

    at: int = 0
    deadly: bool = False
    full: bool = False

    def step(self, sql: str) -> None:
        """Count a statement, and fail if its turn has come."""
        if self.full and not sql.startswith(("SELECT", "BEGIN", "ROLLBACK")):
            raise sqlite3.OperationalError("database or disk is full")
        if self.at:
            self.at -= 1
            if self.at == 0:
                if self.deadly:
                    raise Killed
                raise sqlite3.OperationalError("disk I/O error")


class _Cursor(sqlite3.Cursor):
    def execute(self, sql: str, *words: Any) -> "_Cursor":
        self.connection.trouble.step(sql)  # type: ignore[attr-defined]
        super().execute(sql, *words)
        return self

    def executemany(self, sql: str, rows: Any, /) -> "_Cursor":
        self.connection.trouble.step(sql)  # type: ignore[attr-defined]
        super().executemany(sql, rows)
        return self


class _Connection(sqlite3.Connection):
    """A connection whose closing only gives up what was begun: its memory is the disk."""

    trouble: Trouble

    def cursor(self, factory: Any = _Cursor) -> Any:
        return super().cursor(factory)

    def close(self) -> None:
        if self.in_transaction:
            super().cursor().execute("ROLLBACK")


@cache
def _empty() -> bytes:
    """Give the bytes of a store with its tables and nothing else."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "empty.sqlite3"
        at_file(file).close()
        connection = sqlite3.connect(file)
        connection.execute("PRAGMA journal_mode = DELETE")
        made = connection.serialize()
        connection.close()
    return made


class VirtualServer:
    """One server and its disk."""

    def __init__(self) -> None:
        self.trouble = Trouble()
        self.deaths = self.refusals = self.restores = 0
        self._take_disk(_empty())

    def _take_disk(self, content: bytes) -> None:
        """Start on a disk with this content: a used connection can't change its own."""
        made = self._connection = sqlite3.connect(":memory:", isolation_level=None, factory=_Connection)
        made.trouble = self.trouble
        made.deserialize(content)
        driver = Driver(
            url="sqlite://",
            file=None,
            postgres=False,
            connect=lambda: made,
            begin_read="BEGIN",
            begin_write="BEGIN IMMEDIATE",
            error=sqlite3.Error,
            integrity_error=sqlite3.IntegrityError,
        )
        self.database = Database(driver)
        self.start()

    def start(self) -> None:
        """Start the process anew; only the disk remembers."""
        self.intake = Intake(self.database)

    def take(self, body: bytes, now_us: int) -> bytes | None:
        """Answer a call of sync; None if the disk failed it, or the process died."""
        return self._tried(lambda: reply.written(self.intake.take(call.read(body), now_us)))

    def drop(self, name: str, now_us: int) -> bool:
        """Set a held entry aside for good, as its route does; True also where there is none."""

        def dropped() -> bool:
            with self.database.write() as hand:
                found = held.by_ref(hand, log.open_place(hand, now_us).n, name)
                held.settle(hand, [(one.n, None) for one in found], held.DROPPED, now_us)
            return True

        return self._tried(dropped) or False

    def _tried(self, work: Callable[[], T]) -> T | None:
        try:
            return work()
        except StoreProblem:
            self.refusals += 1
        except Killed:
            self.deaths += 1
            self.start()
        return None

    def backup(self) -> bytes:
        """Copy the disk."""
        return self._connection.serialize()

    def restore(self, copy: bytes, chance: Random) -> None:
        """Put a copy of the disk back, its log under a new name, as `restore` does."""
        self.restores += 1
        self.trouble.at, full, self.trouble.full = 0, self.trouble.full, False
        self._take_disk(copy)
        self._connection.execute("UPDATE place SET log = ?", (str(uuid.UUID(int=chance.getrandbits(128))),))
        self.trouble.full = full

    def newest(self) -> tuple[str, int]:
        """Give the name of the log and its newest `seq`."""
        with self.database.read() as hand:
            found = log.look_up(hand)
        return (found.log, found.last_seq) if found else ("", 0)

    def entries(self) -> list[Any]:
        """Give the log."""
        return list(log.entries(self.database))

    def held_bodies(self) -> list[bytes]:
        """Give every entry that was ever held, in whatever state it is now."""
        with self.database.read() as hand:
            return [body for (body,) in hand.rows("SELECT body FROM held")]

    def findings(self) -> tuple[str, ...]:
        """Check the store as `check` does."""
        return integrity.check(self.database).findings
