"""Backups: taken while others write, put back only if sound, with the old store kept aside."""

import sqlite3
import threading
from pathlib import Path

import pytest

from fallowside.access import pairing, sessions
from fallowside.access.people import People
from fallowside.store import backup as backups
from fallowside.store import errors, log
from fallowside.store.database import FILE_NAME, Database
from fallowside.sync.intake import Intake
from tests.logs import setups
from tests.stores import NOW_US, feed, fresh, ids, send


def names(folder: Path) -> list[str]:
    opened = fresh(folder)
    found = ids(list(log.lines(opened)))
    opened.close()
    return found


def test_a_backup_taken_while_others_write_holds_one_instant(
    database: Database, intake: Intake, tmp_path: Path
) -> None:
    send(intake, setups())
    stop = threading.Event()

    def write_on() -> None:
        number = 0
        while not stop.is_set() and number < 3000:
            send(intake, [feed(number)])
            number += 1

    writer = threading.Thread(target=write_on)
    writer.start()
    for n in range(5):
        backups.backup(database, tmp_path / f"backup-{n}.sqlite3")
    stop.set()
    writer.join()
    written = ids(list(log.lines(database)))
    for n in range(5):
        restored = tmp_path / f"restored-{n}"
        report, aside = backups.restore(restored, tmp_path / f"backup-{n}.sqlite3")
        assert report.sound
        assert aside is None
        found = names(restored)
        assert found == written[: len(found)]
        assert len(found) >= len(setups())


def test_a_backup_is_one_file(database: Database, intake: Intake, tmp_path: Path) -> None:
    send(intake, setups())
    folder = tmp_path / "safe"
    folder.mkdir()
    backups.backup(database, folder / "copy.sqlite3")
    assert [one.name for one in folder.iterdir()] == ["copy.sqlite3"]


def test_a_backup_overwrites_nothing(database: Database, tmp_path: Path) -> None:
    there = tmp_path / "there"
    there.write_text("letters")
    with pytest.raises(errors.Occupied, match="exists already"):
        backups.backup(database, there)
    assert there.read_text() == "letters"


def test_a_backup_to_nowhere_is_said_in_one_line(database: Database, tmp_path: Path) -> None:
    with pytest.raises(errors.StoreProblem):
        backups.backup(database, tmp_path / "no" / "such" / "folder")


def test_restoring_keeps_the_old_store_aside(database: Database, intake: Intake, tmp_path: Path) -> None:
    send(intake, setups())
    backups.backup(database, tmp_path / "copy")
    send(intake, [feed(1)])
    database.close()
    report, aside = backups.restore(tmp_path, tmp_path / "copy")
    assert report.entries == len(setups())
    assert names(tmp_path) == [one["id"] for one in setups()]
    assert aside is not None
    old = sqlite3.connect(aside)
    assert old.execute("SELECT count(*) FROM entry").fetchone()[0] == len(setups()) + 1
    old.close()


@pytest.mark.parametrize("content", [b"Dear Maro, " * 1000, b""], ids=["letters", "nothing"])
def test_what_is_no_backup_is_not_put_back(
    database: Database, intake: Intake, tmp_path: Path, content: bytes
) -> None:
    send(intake, setups())
    database.close()
    (tmp_path / "copy").write_bytes(content)
    with pytest.raises(errors.Damaged, match="nothing was changed"):
        backups.restore(tmp_path, tmp_path / "copy")
    assert len(names(tmp_path)) == len(setups())


def test_a_hurt_backup_is_not_put_back(database: Database, intake: Intake, tmp_path: Path) -> None:
    send(intake, [*setups(), feed(1)])
    backups.backup(database, tmp_path / "copy")
    database.close()
    other = sqlite3.connect(tmp_path / "copy")
    other.execute("DROP TRIGGER entry_no_update")
    other.execute("UPDATE entry SET crc = crc + 1 WHERE id = 'feed-1'")
    other.commit()
    other.close()
    with pytest.raises(errors.Damaged, match="nothing was changed"):
        backups.restore(tmp_path, tmp_path / "copy")
    assert "feed-1" in names(tmp_path)
    assert [one.name for one in tmp_path.iterdir() if "restoring" in one.name] == []


def test_a_hurt_store_can_be_replaced_by_a_backup(database: Database, intake: Intake, tmp_path: Path) -> None:
    send(intake, setups())
    backups.backup(database, tmp_path / "copy")
    database.close()
    (tmp_path / FILE_NAME).write_bytes(b"Dear Maro, " * 1000)
    report, aside = backups.restore(tmp_path, tmp_path / "copy")
    assert report.entries == len(setups())
    assert aside is not None
    assert aside.read_bytes().startswith(b"Dear Maro")


def test_phones_that_saw_more_than_the_backup_start_over(
    database: Database, intake: Intake, tmp_path: Path
) -> None:
    send(intake, setups())
    backups.backup(database, tmp_path / "copy")
    before = send(intake, [feed(1), feed(2)])
    database.close()
    backups.restore(tmp_path, tmp_path / "copy")
    opened = fresh(tmp_path)
    again = Intake(opened)
    send(again, [feed(n) for n in range(3, 9)], device="other")
    after = send(again, cursor=before.cursor, log=before.log_name)
    assert after.log_name != before.log_name
    assert ids(after.lines) == ids(list(log.lines(opened)))
    opened.close()


def test_after_a_restore_every_phone_is_paired_anew(tmp_path: Path) -> None:
    # One shut out since the backup was made must not come back with it.
    opened = fresh(tmp_path / "data")
    with opened.write() as hand:
        place_n = log.open_place(hand, NOW_US).n
        token, _ = sessions.start(hand, place_n, "", "host", "lost", "Android", NOW_US)
        code = pairing.invite(hand, place_n, "", "host", NOW_US).code
    backups.backup(opened, tmp_path / "copy")
    opened.close()
    backups.restore(tmp_path / "data", tmp_path / "copy")
    again = fresh(tmp_path / "data")
    assert sessions.find(again, People(), token, NOW_US) is None
    assert pairing.redeem(again, code, "found", "Android", NOW_US) is None
    again.close()
