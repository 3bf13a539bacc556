"""Every error of the store, drawn as a tree. Each text is one line that says what to do.

StoreProblem
├── Unreachable   the database can't be opened or spoken to
├── Busy          another writer holds it for too long
├── NoRoom        the disk is full
├── NewerStore    written by a newer version
├── Damaged       the file isn't a store, or it is hurt
├── Taken         what must be there once is there already
└── Occupied      it holds what the command must not touch, or a server has it open
"""

import sqlite3

from fallowside.core.errors import FallowsideError


class StoreProblem(FallowsideError):
    """Base of all errors of the store."""

    code = "store"


class Unreachable(StoreProblem):
    """The database can't be opened or spoken to."""

    code = "store_unreachable"


class Busy(StoreProblem):
    """Another writer held the database longer than we wait."""

    code = "store_busy"


class NoRoom(StoreProblem):
    """The disk is full; nothing of the call was written."""

    code = "no_room"


class NewerStore(StoreProblem):
    """A newer version of the program wrote this store."""

    code = "newer_store"


class Damaged(StoreProblem):
    """The file is no store, or its content is hurt."""

    code = "damaged"


class Taken(StoreProblem):
    """What must be there once is there already; nothing of the transaction was kept."""

    code = "taken"


class Occupied(StoreProblem):
    """The store holds something the command must not touch, or a server has it open."""

    code = "occupied"


def translated(error: Exception) -> StoreProblem:
    """Turn a driver's error into one of ours."""
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if code == sqlite3.SQLITE_FULL:
        return NoRoom("the disk is full: nothing was saved; make room, then send again")
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return Busy("another program is writing to the store; try again in a moment")
    if code in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
        return Damaged(f"the store is hurt ({error}); restore a backup, or run `fallowside check`")
    if code == sqlite3.SQLITE_READONLY:
        return Unreachable("the store can't be written: its file or folder is read-only")
    state = getattr(error, "sqlstate", None)
    if state == "53100":
        return NoRoom("the database's disk is full: nothing was saved; make room, then send again")
    if state in ("55P03", "40P01", "53300"):
        # A lock waited for too long, two that wait for each other, no connection left.
        return Busy("the database is busy with others; try again in a moment")
    said = " ".join(str(error).split()) or type(error).__name__
    return Unreachable(f"the store can't be reached: {said}")
