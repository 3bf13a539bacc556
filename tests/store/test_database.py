"""The database: durable, append-only, one writer, readers that see one instant, tables that migrate."""

import sqlite3
import threading
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import text

from fallowside.store import database as databases
from fallowside.store import errors, log, migrate
from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.logs import setups
from tests.stores import feed, fresh, ids, send

MIGRATIONS = Path(migrate.__file__).with_name("migrations")


def config(connection: object) -> Config:
    made = Config()
    made.set_main_option("script_location", str(MIGRATIONS))
    made.attributes["connection"] = connection
    return made


def test_a_commit_survives_a_power_cut_and_pointers_are_kept(database: Database) -> None:
    # FULL (2) with WAL: the log of commits is on the disk before a commit returns.
    # https://www.sqlite.org/pragma.html#pragma_synchronous
    with database.write() as hand:
        assert hand.value("PRAGMA synchronous") == 2
        assert hand.value("PRAGMA journal_mode") == "wal"
        assert hand.value("PRAGMA foreign_keys") == 1


@pytest.mark.parametrize("change", ["UPDATE entry SET kind = 'feed'", "DELETE FROM entry"])
def test_the_database_itself_refuses_to_change_an_entry(
    database: Database, intake: Intake, change: str
) -> None:
    send(intake, setups())
    with pytest.raises(errors.StoreProblem, match="never changed or deleted"), database.write() as hand:
        hand.run(change)
    assert len(list(log.lines(database))) == len(setups())


def test_a_transaction_that_fails_leaves_nothing_and_the_next_one_works(
    database: Database, intake: Intake
) -> None:
    send(intake, setups())

    def fail_halfway() -> None:
        with database.write() as hand:
            hand.run("INSERT INTO place (name, log, made_us) VALUES ('other', 'x', 0)")
            raise KeyError

    with pytest.raises(KeyError):
        fail_halfway()
    with database.read() as hand:
        assert log.place_number(hand, "other") is None
    assert send(intake, [feed(1)]).accepted == ["feed-1"]


def test_a_reader_sees_one_instant_while_others_write(database: Database, intake: Intake) -> None:
    send(intake, setups())
    with database.read() as hand:
        before = log.last_seq(hand, 1)
        writer = threading.Thread(target=send, args=(intake, [feed(1)]))
        writer.start()
        writer.join()
        assert log.last_seq(hand, 1) == before
    with database.read() as hand:
        assert log.last_seq(hand, 1) == before + 1


def test_a_log_is_walked_to_its_end_page_by_page(
    database: Database, intake: Intake, monkeypatch: pytest.MonkeyPatch
) -> None:
    send(intake, [*setups(), *map(feed, range(20))])
    monkeypatch.setattr(log, "PAGE", 3)
    walked = list(log.lines(database))
    assert [line.seq for line in walked] == list(range(1, len(setups()) + 21))
    assert ids(walked)[-1] == "feed-19"


def test_opening_again_finds_what_was_written(tmp_path: Path) -> None:
    first = fresh(tmp_path)
    send(Intake(first), setups())
    first.close()
    again = fresh(tmp_path)
    assert len(list(log.lines(again))) == len(setups())
    again.close()


def test_migrations_give_the_tables_that_the_models_describe(database: Database) -> None:
    with migrate.engine(database.driver).connect() as connection:
        command.check(config(connection))


def test_the_newest_migration_is_the_one_the_code_expects() -> None:
    scripts = ScriptDirectory(str(MIGRATIONS))
    assert scripts.get_current_head() == migrate.HEAD


def test_a_store_of_a_newer_version_is_left_alone(tmp_path: Path) -> None:
    opened = fresh(tmp_path)
    with migrate.engine(opened.driver).begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    opened.close()
    with pytest.raises(errors.NewerStore, match="newer fallowside"):
        fresh(tmp_path)


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
