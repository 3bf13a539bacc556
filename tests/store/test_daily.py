"""A backup a day: made once, thinned by age, the newest never taken away, and it can be put back."""

import hashlib
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest

from fallowside.store import backup as backups
from fallowside.store import daily, errors, log, photos
from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.api.test_photos import JPEG
from tests.logs import setups
from tests.stores import feed, fresh, logged, send

FIRST = date(2026, 3, 1)


def put_photo(database: Database, n: int) -> str:
    """Store a photo as large as they may be; give its name."""
    body = JPEG + bytes((n,)) * (photos.MOST_BYTES - len(JPEG))
    name = hashlib.sha256(body).hexdigest()
    with database.write() as hand:
        assert photos.put(hand, log.open_place(hand, n).n, name, body, n) is None
    return name


def days(folder: Path) -> list[date]:
    return [day for day, _ in daily.there(folder)]


def test_one_is_made_a_day_and_old_ones_go(database: Database, intake: Intake, tmp_path: Path) -> None:
    send(intake, setups())
    folder = tmp_path / "safe" / "here"
    for n in range(40):
        assert daily.keep(database, folder, FIRST + timedelta(days=n), 30) is not None
        assert daily.keep(database, folder, FIRST + timedelta(days=n), 30) is None
    assert days(folder) == [FIRST + timedelta(days=n) for n in range(9, 40)]


def test_the_newest_stays_however_old_it_is_and_other_files_are_left_alone(
    database: Database, tmp_path: Path
) -> None:
    folder = tmp_path / "safe"
    daily.keep(database, folder, FIRST, 1)
    (folder / "fallowside-2001-01-01.sqlite3.mine").write_text("mine")
    # A clock that ran ahead has made one of the far future; those of today come after it.
    daily.keep(database, folder, FIRST - timedelta(days=900), 1)
    assert days(folder) == [FIRST - timedelta(days=900), FIRST]
    daily.keep(database, folder, FIRST + timedelta(days=900), 1)
    assert days(folder) == [FIRST + timedelta(days=900)]
    assert (folder / "fallowside-2001-01-01.sqlite3.mine").exists()


def test_a_daily_backup_is_put_back_whole(database: Database, intake: Intake, tmp_path: Path) -> None:
    send(intake, [*setups(), feed(1)])
    made = daily.keep(database, tmp_path / "safe", FIRST, 30)
    assert made is not None
    backups.restore(tmp_path / "new", made)
    restored = fresh(tmp_path / "new")
    assert logged(restored) == logged(database)
    restored.close()


def test_photos_are_kept_once_and_every_backup_that_is_left_can_be_put_back_with_them(
    database: Database, intake: Intake, tmp_path: Path
) -> None:
    send(intake, setups())
    folder, kept = tmp_path / "safe", []
    for n in range(12):
        if n % 4 == 0:
            kept.append(put_photo(database, n))
        daily.keep(database, folder, FIRST + timedelta(days=n), 5)
    assert days(folder) == [FIRST + timedelta(days=n) for n in range(6, 12)]
    assert sorted(one.name for one in (folder / "photos").iterdir()) == sorted(kept)
    # No backup holds a photo itself: together they take the room of the photos once.
    assert sum(one.stat().st_size for _, one in daily.there(folder)) < 6 * photos.MOST_BYTES
    for day, file in daily.there(folder):
        report, _ = backups.restore(tmp_path / str(day), file)
        assert report.sound
        restored = fresh(tmp_path / str(day))
        with restored.read() as hand:
            names = [name for (name,) in hand.rows("SELECT hash FROM photo ORDER BY received_us")]
            assert names == kept[: 2 + ((day - FIRST).days >= 8)]
            found = photos.get(hand, 1, names[0])
        assert found is not None
        assert hashlib.sha256(found.body).hexdigest() == names[0]
        restored.close()


@pytest.mark.parametrize("hurt", [Path.unlink, lambda file: file.write_bytes(b"another")])
def test_a_backup_whose_photos_are_missing_or_hurt_is_put_back_only_if_that_is_wanted(
    database: Database, intake: Intake, tmp_path: Path, hurt: Callable[[Path], object]
) -> None:
    send(intake, setups())
    lost, other = put_photo(database, 1), put_photo(database, 2)
    made = daily.keep(database, tmp_path / "safe", FIRST, 30)
    assert made is not None
    hurt(tmp_path / "safe" / "photos" / lost)
    with pytest.raises(errors.Damaged, match="nothing was changed"):
        backups.restore(tmp_path / "new", made)
    assert list((tmp_path / "new").iterdir()) == []
    backups.restore(tmp_path / "new", made, without_photos=True)
    restored = fresh(tmp_path / "new")
    with restored.read() as hand:
        # A phone that still has it can send it again: it must not look as if it were there.
        assert (photos.has(hand, 1, lost), photos.has(hand, 1, other)) == (False, True)
    restored.close()


def test_while_serving_the_day_changes_and_a_failure_is_survived(
    database: Database, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(daily, "_EVERY_S", 0.005)
    folder = tmp_path / "safe"
    clock = iter(FIRST + timedelta(days=n) for n in range(1000))
    tried: list[date] = []
    keep = daily.keep

    def failing_at_times(opened: Database, where: Path, today: date, keep_days: int) -> Path | None:
        tried.append(today)
        if len(tried) % 2 == 0:
            raise errors.NoRoom("the disk is full")
        return keep(opened, where, today, keep_days)

    monkeypatch.setattr(daily, "keep", failing_at_times)
    with daily.kept(database, folder, 2, lambda: next(clock)):
        while len(tried) < 8:
            pass
    assert len(days(folder)) >= 2


def test_what_cannot_be_backed_up_so_is_said_at_once(tmp_path: Path, database: Database) -> None:
    (tmp_path / "file").touch()
    with (
        pytest.raises(errors.Unreachable, match="can't be made"),
        daily.kept(database, tmp_path / "file" / "safe", 2, lambda: FIRST),
    ):
        pass
