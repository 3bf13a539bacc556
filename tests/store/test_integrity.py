"""`check` finds what it promises to find; each case is a store hurt by hand."""

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from fallowside.store import integrity
from fallowside.store.database import FILE_NAME, Database
from fallowside.sync.intake import Intake
from tests.logs import setups
from tests.stores import feed, fresh, send


@pytest.fixture
def hurt(tmp_path: Path) -> Callable[[str], integrity.Report]:
    """Fill a store, run a statement no program of ours would run, and check."""

    def hurt_by(statement: str) -> integrity.Report:
        opened = fresh(tmp_path)
        send(Intake(opened), [*setups(), feed(1), feed(2), feed(3, amount="much")])
        opened.close()
        other = sqlite3.connect(tmp_path / FILE_NAME)
        other.execute("DROP TRIGGER entry_no_update")
        other.execute("DROP TRIGGER entry_no_delete")
        other.execute(statement)
        other.commit()
        other.close()
        opened = fresh(tmp_path)
        report = integrity.check(opened)
        opened.close()
        return report

    return hurt_by


def test_a_whole_store_is_found_whole(hurt: Callable[[str], integrity.Report]) -> None:
    report = hurt("SELECT 1")
    assert report.sound
    assert (report.entries, report.held) == (len(setups()) + 2, 1)


@pytest.mark.parametrize(
    ("statement", "finding"),
    [
        (
            "UPDATE entry SET body = CAST(replace(body, 'bread', 'steak') AS BLOB) WHERE id = 'feed-1'",
            "not those that were received",
        ),
        ("UPDATE entry SET body = 'bread' WHERE id = 'feed-1'", "not those that were received"),
        ("UPDATE entry SET kind = 'water' WHERE id = 'feed-1'", "kind is not that of its row"),
        ("UPDATE entry SET id = 'feed-9' WHERE id = 'feed-1'", "id or kind is not that"),
        ("DELETE FROM entry WHERE id = 'feed-1'", "seq jumps from"),
        ("DELETE FROM device", "points to a device that isn't there"),
        ("UPDATE held SET body = x'00'", "held entry 1: its bytes"),
    ],
)
def test_a_hurt_is_found(hurt: Callable[[str], integrity.Report], statement: str, finding: str) -> None:
    report = hurt(statement)
    assert not report.sound
    assert any(finding in one for one in report.findings), report.findings


def test_many_findings_are_counted_rather_than_told(hurt: Callable[[str], integrity.Report]) -> None:
    report = hurt("UPDATE entry SET crc = 0")
    assert len(report.findings) <= 21


def test_a_page_that_was_overwritten_is_found(database: Database, intake: Intake, tmp_path: Path) -> None:
    send(intake, [*setups(), *(feed(n, note="x" * 500) for n in range(200))])
    database.close()
    file = tmp_path / FILE_NAME
    content = bytearray(file.read_bytes())
    content[-4096:-2048] = bytes(2048)
    file.write_bytes(content)
    opened = fresh(tmp_path)
    assert not integrity.check(opened).sound
    opened.close()


def test_equal_logs_have_equal_content_and_others_do_not(tmp_path: Path) -> None:
    found = []
    for name, entries in (("one", [feed(1), feed(2)]), ("two", [feed(1), feed(2)]), ("three", [feed(1)])):
        opened = fresh(tmp_path / name)
        send(Intake(opened), [*setups(), *entries])
        found.append(integrity.check(opened).content)
        opened.close()
    assert found[0] == found[1] != found[2]
