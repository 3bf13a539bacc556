"""Copies of a store: made while it is in use, and put back with the old one kept aside."""

import os
import sqlite3
import uuid
from datetime import UTC, datetime
from pathlib import Path

from fallowside.store import errors, integrity, photo_files
from fallowside.store.database import FILE_NAME, Database, at_file
from fallowside.store.integrity import Report


def backup(database: Database, target: Path, photos: Path | None = None) -> None:
    """Copy the store as it is at one instant to a single new file, while others read and write.

    Args:
        database: What to copy.
        target: The new file.
        photos: A folder for the photos, shared with other backups; without, they are in the file too.

    Raises:
        Occupied: the target exists.
        Unreachable: it can't be written, or the database has its own way of backing up.
    """
    source = database.driver.file
    if source is None:
        raise errors.Unreachable("this store lives in PostgreSQL: back it up with pg_dump")
    if target.exists():
        raise errors.Occupied(f"{target} exists already; choose another name")
    unfinished = target.with_name(f".{target.name}.{os.getpid()}")
    try:
        copied = sqlite3.connect(unfinished)
        reading = sqlite3.connect(source)
        try:
            # All pages in one step: in WAL mode that reads one instant and holds nobody up.
            reading.backup(copied)
            copied.execute("PRAGMA journal_mode = DELETE")
            if photos is not None:
                photo_files.take_out(copied, photos)
        finally:
            reading.close()
            copied.close()
        _to_disk(unfinished)
        unfinished.rename(target)
        _to_disk(target.parent)
    except sqlite3.Error as error:
        raise errors.translated(error) from error
    except OSError as error:
        raise errors.Unreachable(f"{target} can't be written: {error.strerror}") from error
    finally:
        unfinished.unlink(missing_ok=True)


def restore(folder: Path, source: Path, *, without_photos: bool = False) -> tuple[Report, Path | None]:
    """Put a backup in the place of a folder's store, if it is sound; nobody may have it open.

    Photos that are not in the backup itself are taken from the folder of photos beside it; without one of
    them nothing is put back, unless that is wanted. The restored log gets a new name, so that phones which
    have seen more than it holds start over at its head and send again what it lacks; and no phone is paired
    with it.

    Returns:
        What the check of the backup found, and where the old store was put.

    Raises:
        Damaged: the backup is no store, or not sound.
        Unreachable: a file can't be read or written.
    """
    if not source.is_file():
        raise errors.Unreachable(f"{source} isn't there; give the file of a backup")
    folder.mkdir(parents=True, exist_ok=True)
    unfinished = folder / f".restoring.{os.getpid()}"
    try:
        _copy(source, unfinished)
        _with_photos(unfinished, source, without_photos)
        report = _checked(unfinished, source)
        _name_anew(unfinished)
        current = folder / FILE_NAME
        aside = _set_aside(current) if current.exists() else None
        unfinished.rename(current)
        _to_disk(folder)
    except OSError as error:
        raise errors.Unreachable(f"the backup can't be put back: {error.strerror}") from error
    finally:
        for tail in ("", "-wal", "-shm", "-journal"):
            unfinished.with_name(unfinished.name + tail).unlink(missing_ok=True)
    return report, aside


def _copy(source: Path, target: Path) -> None:
    """Copy through SQLite, so that a backup taken by copying files with their journal is whole."""
    try:
        reading = sqlite3.connect(f"{source.resolve().as_uri()}?mode=ro", uri=True)
        copied = sqlite3.connect(target)
        try:
            reading.backup(copied)
            copied.execute("PRAGMA journal_mode = DELETE")
            # An empty file is a database too, but no store.
            copied.execute("SELECT version_num FROM alembic_version")
        finally:
            copied.close()
            reading.close()
    except sqlite3.Error as error:
        raise errors.Damaged(f"{source} is no backup of a store ({error}); nothing was changed") from error


def _with_photos(file: Path, source: Path, without_photos: bool) -> None:
    folder = source.parent / photo_files.FOLDER
    connection = sqlite3.connect(file)
    try:
        migrated = connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'photo'").fetchone()
        missing = photo_files.put_in(connection, folder) if migrated else []
        if missing and not without_photos:
            raise errors.Damaged(
                f"{len(missing)} photos of this backup are not in {folder}, or hurt, such as {missing[0]}: "
                "put that folder beside it, or restore with --without-photos; nothing was changed"
            )
        if missing:
            photo_files.leave_out(connection)
    finally:
        connection.close()


def _checked(file: Path, source: Path) -> Report:
    database = at_file(file)
    try:
        report = integrity.check(database)
    finally:
        database.close()
    if not report.sound:
        raise errors.Damaged(f"{source} is hurt, nothing was changed: {report.findings[0]}")
    return report


def _name_anew(file: Path) -> None:
    now_us = round(datetime.now(UTC).timestamp() * 1e6)
    connection = sqlite3.connect(file)
    try:
        for (n,) in connection.execute("SELECT n FROM place").fetchall():
            connection.execute("UPDATE place SET log = ? WHERE n = ?", (str(uuid.uuid4()), n))
        # A phone that was shut out since the backup must not be let in again: all are paired anew.
        connection.execute("UPDATE session SET ended_us = ? WHERE ended_us IS NULL", (now_us,))
        connection.execute("UPDATE invitation SET used_us = ? WHERE used_us IS NULL", (now_us,))
        connection.commit()
        connection.execute("PRAGMA journal_mode = DELETE")
    finally:
        connection.close()
    _to_disk(file)


def _set_aside(current: Path) -> Path:
    """Fold the journal of the current store into its file, and give it another name."""
    aside = current.with_name(f"{current.stem}-before-{datetime.now(UTC):%Y%m%dT%H%M%S}{current.suffix}")
    try:
        connection = sqlite3.connect(current)
        try:
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            connection.execute("PRAGMA journal_mode = DELETE")
        finally:
            connection.close()
    except sqlite3.DatabaseError:
        # A hurt store is kept with its journal, for whoever wants to mend it.
        for tail in ("-wal", "-shm"):
            journal = current.with_name(current.name + tail)
            if journal.exists():
                journal.rename(aside.with_name(aside.name + tail))
    current.rename(aside)
    return aside


def _to_disk(path: Path) -> None:
    number = os.open(path, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)
