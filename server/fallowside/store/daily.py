"""A backup a day while a server runs, in a folder of the person's choice; old ones go, the newest stays."""

import logging
import re
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path

from fallowside.store import backup, errors, photo_files
from fallowside.store.database import Database

_EVERY_S = 600.0
_STOP_S = 30.0
_NAME = re.compile(r"fallowside-(\d{4}-\d\d-\d\d)\.sqlite3")
_log = logging.getLogger("fallowside")


def keep(database: Database, folder: Path, today: date, keep_days: int) -> Path | None:
    """Make the backup of a day unless it is there, then take away those that are too old.

    Only files named as ours are touched; the newest stays however old it is. Photos stand beside them in
    a folder, each once, and stay as the log does.

    Args:
        database: What to back up.
        folder: Where to, made if there is none; best on another disk.
        today: The day.
        keep_days: How many days a backup is kept.

    Returns:
        The backup, if one was made.

    Raises:
        StoreProblem: it can't be written, or the database has its own way of backing up.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise errors.Unreachable(f"the folder {folder} can't be made: {error.strerror}") from error
    target = folder / f"fallowside-{today}.sqlite3"
    made = None
    if not target.exists():
        backup.backup(database, target, folder / photo_files.FOLDER)
        made = target
    oldest = today - timedelta(days=keep_days)
    for day, file in there(folder)[:-1]:
        if day < oldest:
            file.unlink(missing_ok=True)
    return made


def there(folder: Path) -> list[tuple[date, Path]]:
    """Give the backups of a folder by their days, oldest first."""
    found = ((_NAME.fullmatch(file.name), file) for file in folder.iterdir())
    return sorted((date.fromisoformat(match[1]), file) for match, file in found if match)


@contextmanager
def kept(database: Database, folder: Path, keep_days: int, today: Callable[[], date]) -> Iterator[None]:
    """Keep a backup a day until the block ends; one that fails is tried again, and the server goes on.

    Raises:
        StoreProblem: not even the first can be made; whoever asked for backups should know at once.
    """
    keep(database, folder, today(), keep_days)
    stop = threading.Event()

    def go_on() -> None:
        while not stop.wait(_EVERY_S):
            try:
                keep(database, folder, today(), keep_days)
            except (errors.StoreProblem, OSError) as error:
                _log.warning("today's backup failed: %s", error)

    running = threading.Thread(target=go_on, name="backups", daemon=True)
    running.start()
    try:
        yield
    finally:
        stop.set()
        running.join(_STOP_S)
