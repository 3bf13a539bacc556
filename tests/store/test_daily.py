"""A backup a day: made once, thinned by age, the newest never taken away, and it can be put back."""

from datetime import date, timedelta
from pathlib import Path

import pytest

from fallowside.store import backup as backups
from fallowside.store import daily, errors
from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.logs import setups
from tests.stores import feed, fresh, logged, send

FIRST = date(2026, 3, 1)


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
