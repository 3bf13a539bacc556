"""Photos beside daily backups: each once, as a file named by the SHA-256 of its bytes.

So thirty backups of a place with many photos take the room of its photos once, and not thirty times.
"""

import hashlib
import os
import sqlite3
from pathlib import Path

FOLDER = "photos"
"""Beside the backups of a folder."""


def take_out(copy: sqlite3.Connection, folder: Path) -> None:
    """Put the photos of a copied store into a folder, unless they are there, and leave only their names.

    Raises:
        OSError: a file can't be written.
    """
    folder.mkdir(exist_ok=True)
    for name, body in copy.execute("SELECT hash, body FROM photo"):
        file = folder / name
        if not file.exists() or file.stat().st_size != len(body):
            unfinished = folder / f".{name}.{os.getpid()}"
            with unfinished.open("wb") as out:
                out.write(body)
                out.flush()
                os.fsync(out.fileno())
            unfinished.rename(file)
    copy.execute("UPDATE photo SET body = x''")
    copy.commit()
    copy.execute("VACUUM")


def put_in(copy: sqlite3.Connection, folder: Path) -> list[str]:
    """Put photos back into a copied store; give the names of those that are not there, or hurt."""
    missing = []
    for (name,) in copy.execute("SELECT DISTINCT hash FROM photo WHERE length(body) = 0").fetchall():
        file = folder / name
        body = file.read_bytes() if file.is_file() else b""
        if hashlib.sha256(body).hexdigest() == name:
            copy.execute("UPDATE photo SET body = ? WHERE hash = ?", (body, name))
        else:
            missing.append(name)
    copy.commit()
    return missing


def leave_out(copy: sqlite3.Connection) -> None:
    """Forget the photos that are not there, so that phones which have them send them again."""
    copy.execute("DELETE FROM photo WHERE length(body) = 0")
    copy.commit()
