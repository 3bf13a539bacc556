"""A database: one writer at a time, many readers. SQLite in a folder, or PostgreSQL by URL.

The SQL of this package is written once, with `?` for a parameter. What the two dialects don't share
is in `drivers.py` and in `Hand`.
"""

import threading
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from copy import copy
from itertools import chain
from pathlib import Path
from typing import Any

import msgspec

from fallowside.store import drivers, errors, migrate
from fallowside.store.drivers import Driver
from fallowside.store.journal import Journal

FILE_NAME = "fallowside.sqlite3"
ONLY_PLACE = "home"
"""Name of the place of a database that has only one."""
_ROWS_AT_ONCE = 50
_IDLE_CONNECTIONS = 8
_MOST_CONNECTIONS = 32
"""To PostgreSQL, from one process; further calls wait for one to come free."""


class Hand:
    """What a transaction can do. Lives only as long as the transaction."""

    __slots__ = ("_cursor", "_integrity_error", "place", "postgres")

    def __init__(self, cursor: Any, driver: Driver, place: str) -> None:
        self._cursor = cursor
        self._integrity_error = driver.integrity_error
        self.postgres = driver.postgres
        self.place = place

    def rows(self, sql: str, *parameters: Any) -> list[tuple[Any, ...]]:
        """Give all rows of a query."""
        self.run(sql, *parameters)
        found: list[tuple[Any, ...]] = self._cursor.fetchall()
        return found

    def value(self, sql: str, *parameters: Any) -> Any:
        """Give the first column of the first row, or None."""
        self.run(sql, *parameters)
        row = self._cursor.fetchone()
        return row[0] if row else None

    def run(self, sql: str, *parameters: Any) -> None:
        """Run one statement."""
        self._cursor.execute(sql.replace("?", "%s") if self.postgres else sql, parameters)

    def run_many(self, sql: str, rows: Iterable[Sequence[Any]]) -> None:
        """Run one statement for each row."""
        self._cursor.executemany(sql.replace("?", "%s") if self.postgres else sql, rows)

    def listed(self, names: Sequence[str]) -> tuple[str, Any]:
        """Give a table `listed` with one column `value` that holds `names`, and its parameter.

        Followed by CROSS JOIN it is walked first, so that the other table is searched by its index.
        """
        if self.postgres:
            return "unnest(?::text[]) AS listed(value)", list(names)
        return "json_each(?) AS listed", msgspec.json.encode(names).decode()

    def insert(self, into: str, alike: Sequence[Any], rows: Sequence[Sequence[Any]]) -> None:
        """Insert rows into a table's columns, many to a statement: taken one by one they cost twice as much.

        Args:
            into: The table and its columns.
            alike: Values of the first columns, the same in every row; SQLite is handed them once a statement.
            rows: Values of the other columns.

        Raises:
            Taken: one breaks a unique key; the transaction is to be given up, for some may be in. A savepoint
                to go back to would cost a third of what inserting costs.
        """
        try:
            if self.postgres:
                rows, alike = [(*alike, *row) for row in rows], ()
            for start in range(0, len(rows), _ROWS_AT_ONCE):
                part = rows[start : start + _ROWS_AT_ONCE]
                marks = [*(f"?{n + 1}" for n in range(len(alike))), *("?" * len(part[0]))]
                row = f"({', '.join(marks)})"
                self.run(f"INSERT INTO {into} VALUES {', '.join([row] * len(part))}", *alike, *chain(*part))
        except self._integrity_error as error:
            raise errors.Taken("an entry of the call is in the store already; send it again") from error


class Database:
    """An open database whose tables are up to date, seen as one of its places."""

    def __init__(self, driver: Driver, place: str = ONLY_PLACE) -> None:
        self.driver = driver
        self.postgres = driver.postgres
        self.place = place
        self._turn = threading.Lock()
        self._writers: list[Any] = []
        self._idle: list[Any] = []
        self._slots = threading.BoundedSemaphore(_MOST_CONNECTIONS)
        self.journal = Journal(driver.connect)
        with self._ours():
            migrate.upgrade(driver)

    def of_place(self, name: str) -> "Database":
        """Give the same open database, seen as another of its places; both share their connections."""
        other = copy(self)
        other.place = name
        return other

    @contextmanager
    def read(self) -> Iterator[Hand]:
        """Open a transaction that sees one instant of the database and changes nothing."""
        with self._ours(), self._slot():
            connection, cursor = self._begun(self.driver.begin_read)
            try:
                yield Hand(cursor, self.driver, self.place)
                cursor.execute("ROLLBACK")
            except BaseException:
                connection.close()
                raise
            self._give_back(connection)

    @contextmanager
    def write(self) -> Iterator[Hand]:
        """Open a transaction that is committed, durably, when the block ends without an error.

        SQLite: one connection, one writer at a time. PostgreSQL: a connection of the pool; the
        writer takes its turn by locking the row of the place (`log.open_place`).
        """
        with self._ours(), self._slot():
            if self.postgres:
                connection, cursor = self._begun(self.driver.begin_write)
                with self._committing(connection, cursor) as hand:
                    yield hand
                self._give_back(connection)
                return
            with self._turn:
                # A writer whose transaction failed in any way is not put back.
                connection = self._writers.pop() if self._writers else self.driver.connect()
                before = connection.total_changes
                cursor = self._begin(connection, self.driver.begin_write)
                with self._committing(connection, cursor) as hand:
                    yield hand
                self._writers.append(connection)
                self.journal.grew(connection.total_changes - before)

    def close(self) -> None:
        """Close every connection that isn't in use."""
        self.journal.rest()
        with self._turn:
            for kept in (self._idle, self._writers):
                while kept:
                    kept.pop().close()

    @contextmanager
    def _committing(self, connection: Any, cursor: Any) -> Iterator[Hand]:
        try:
            yield Hand(cursor, self.driver, self.place)
            cursor.execute("COMMIT")
            cursor.close()
        except BaseException:
            # Closing rolls back what was not committed; the cursor first, for while a statement that failed
            # is held by it, and it by whoever looks at the error, SQLite keeps the writer's turn.
            with suppress(self.driver.error):
                cursor.close()
                connection.close()
            raise

    def _begun(self, begin: str) -> tuple[Any, Any]:
        """Take a connection and begin on it; pass over those that were cut while nobody used them."""
        while self._idle:
            with suppress(IndexError, self.driver.error):
                connection = self._idle.pop()
                return connection, self._begin(connection, begin)
        connection = self.driver.connect()
        return connection, self._begin(connection, begin)

    def _begin(self, connection: Any, begin: str) -> Any:
        try:
            cursor = connection.cursor()
            cursor.execute(begin)
            return cursor
        except BaseException:
            with suppress(self.driver.error):
                connection.close()
            raise

    def _give_back(self, connection: Any) -> None:
        if len(self._idle) < _IDLE_CONNECTIONS:
            self._idle.append(connection)
        else:
            connection.close()

    @contextmanager
    def _slot(self) -> Iterator[None]:
        """Wait until one more connection may be used."""
        if not self.postgres:
            yield
            return
        if not self._slots.acquire(timeout=drivers.BUSY_S):
            raise errors.Busy("the database is busy with others; try again in a moment")
        try:
            yield
        finally:
            self._slots.release()

    @contextmanager
    def _ours(self) -> Iterator[None]:
        """Let no driver's error out."""
        try:
            yield
        except self.driver.error as error:
            raise errors.translated(error) from error


def at_url(url: str) -> Database:
    """Open the database of a URL."""
    return Database(drivers.driver(url))


def at_file(file: Path) -> Database:
    """Open the SQLite database of a file, made if there is none."""
    return Database(drivers.sqlite(file))


def at_folder(folder: Path) -> Database:
    """Open the database of a data folder, made if there is none."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise errors.Unreachable(f"the data folder {folder} can't be made: {error.strerror}") from error
    return at_file(folder / FILE_NAME)
