"""A database: one writer at a time, many readers. SQLite in a folder, or PostgreSQL by URL.

The SQL of this package is written once, with `?` for a parameter. What the two dialects don't share
is in `drivers.py` and in `Hand`.
"""

import threading
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import msgspec

from fallowside.store import drivers, errors, migrate
from fallowside.store.drivers import Driver

FILE_NAME = "fallowside.sqlite3"
_IDLE_CONNECTIONS = 8


class Hand:
    """What a transaction can do. Lives only as long as the transaction."""

    __slots__ = ("_cursor", "_integrity_error", "postgres")

    def __init__(self, cursor: Any, driver: Driver) -> None:
        self._cursor = cursor
        self._integrity_error = driver.integrity_error
        self.postgres = driver.postgres

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

    def insert_many_unless_taken(self, sql: str, rows: Sequence[Sequence[Any]]) -> bool:
        """Insert all rows, or none if one of them breaks a unique key: then say False."""
        self.run("SAVEPOINT rows_in")
        try:
            self.run_many(sql, rows)
        except self._integrity_error:
            self.run("ROLLBACK TO SAVEPOINT rows_in")
            self.run("RELEASE SAVEPOINT rows_in")
            return False
        self.run("RELEASE SAVEPOINT rows_in")
        return True


class Database:
    """An open database whose tables are up to date."""

    def __init__(self, driver: Driver) -> None:
        self.driver = driver
        self.postgres = driver.postgres
        self._turn = threading.Lock()
        self._writer: Any = None
        self._idle: list[Any] = []
        with self._ours():
            migrate.upgrade(driver)

    @contextmanager
    def read(self) -> Iterator[Hand]:
        """Open a transaction that sees one instant of the database and changes nothing."""
        with self._ours():
            connection, cursor = self._begun(self.driver.begin_read)
            try:
                yield Hand(cursor, self.driver)
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
        with self._ours():
            if self.postgres:
                connection, cursor = self._begun(self.driver.begin_write)
                with self._committing(connection, cursor) as hand:
                    yield hand
                self._give_back(connection)
                return
            with self._turn:
                connection = self._writer or self.driver.connect()
                # A writer whose transaction failed in any way is not used again.
                self._writer = None
                cursor = self._begin(connection, self.driver.begin_write)
                with self._committing(connection, cursor) as hand:
                    yield hand
                self._writer = connection

    def close(self) -> None:
        """Close every connection that isn't in use."""
        with self._turn:
            for connection in (*self._idle, *((self._writer,) if self._writer else ())):
                connection.close()
            self._idle, self._writer = [], None

    @contextmanager
    def _committing(self, connection: Any, cursor: Any) -> Iterator[Hand]:
        try:
            yield Hand(cursor, self.driver)
            cursor.execute("COMMIT")
            cursor.close()
        except BaseException:
            # Closing rolls back what was not committed.
            with suppress(self.driver.error):
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
