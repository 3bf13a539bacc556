"""What only SQLite does: one file, forced to the disk, one writer who waits, a disk that is full."""

import shutil
import sqlite3
import threading
from pathlib import Path

import pytest

from fallowside.store import database as databases
from fallowside.store import errors, journal, log
from fallowside.store.database import Database
from fallowside.store.journal import MOVED_AFTER_ROWS
from fallowside.sync.intake import Intake
from tests.logs import setups
from tests.stores import feed, fresh, send


def test_a_commit_survives_a_power_cut_and_pointers_are_kept(database: Database) -> None:
    # FULL (2) with WAL: the log of commits is on the disk before a commit returns.
    # https://www.sqlite.org/pragma.html#pragma_synchronous
    with database.write() as hand:
        assert hand.value("PRAGMA synchronous") == 2
        assert hand.value("PRAGMA journal_mode") == "wal"
        assert hand.value("PRAGMA foreign_keys") == 1


def test_the_journal_is_moved_into_the_file_beside_the_calls(
    database: Database, intake: Intake, tmp_path: Path
) -> None:
    send(intake, setups())
    for start in range(0, MOVED_AFTER_ROWS, 1000):
        send(intake, map(feed, range(start, start + 1000)))
    database.journal.rest()
    # The file alone, as if its journal had been lost.
    shutil.copyfile(tmp_path / databases.FILE_NAME, tmp_path / "alone")
    with sqlite3.connect(tmp_path / "alone") as alone:
        assert alone.execute("SELECT count(*) FROM entry").fetchone()[0] >= MOVED_AFTER_ROWS
    alone.close()


def test_the_journal_is_moved_at_last_even_while_calls_follow_each_other(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(journal, "_QUIET_S", 3600.0)
    moved = threading.Event()

    def connect() -> sqlite3.Connection:
        moved.set()
        return sqlite3.connect(tmp_path / "x.sqlite3")

    one = journal.Journal(connect)
    one.grew(MOVED_AFTER_ROWS)
    one.grew(journal.MOVED_AT_LAST_ROWS)
    assert moved.wait(60)
    one.rest()


def test_somebody_elses_database_is_left_alone(tmp_path: Path) -> None:
    with sqlite3.connect(tmp_path / databases.FILE_NAME) as other:
        other.execute("CREATE TABLE letters (n INTEGER)")
    other.close()
    with pytest.raises(errors.Damaged, match="something else"):
        fresh(tmp_path)


def test_a_file_that_is_no_database_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / databases.FILE_NAME).write_bytes(b"Dear Maro, " * 1000)
    with pytest.raises(errors.Damaged):
        fresh(tmp_path)


def test_a_folder_that_cannot_be_made_is_said_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(errors.Unreachable, match="can't be made"):
        fresh(tmp_path / "file" / "data")


@pytest.mark.parametrize("url", ["nonsense", "mysql://localhost/x", "sqlite:////nowhere/at/all.db"])
def test_a_url_that_is_no_store_is_said_in_one_line(url: str) -> None:
    with pytest.raises(errors.StoreProblem) as caught:
        databases.at_url(url)
    assert "\n" not in str(caught.value)


def test_a_writer_that_waits_too_long_says_so(
    database: Database, intake: Intake, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    send(intake, setups())
    with database.write() as hand:
        hand.run("PRAGMA busy_timeout = 10")
    other = sqlite3.connect(tmp_path / databases.FILE_NAME, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(errors.Busy, match="try again"):
        send(intake, [feed(1)])
    other.execute("ROLLBACK")
    other.close()
    assert send(intake, [feed(1)]).accepted == ["feed-1"]


def test_a_full_disk_is_said_and_nothing_is_half_written(database: Database, intake: Intake) -> None:
    send(intake, setups())
    with database.write() as hand:
        pages = hand.value("PRAGMA page_count")
        hand.value(f"PRAGMA max_page_count = {pages + 2}")
    with pytest.raises(errors.NoRoom, match="disk is full"):
        send(intake, [feed(n, note="x" * 3000) for n in range(100)])
    assert len(list(log.lines(database))) == len(setups())
    # The writer was given up together with its limit; what comes next is saved.
    assert send(intake, [feed(1)]).accepted == ["feed-1"]
