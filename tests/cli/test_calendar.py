"""A calendar's address made at the machine itself, without a phone."""

from tests.cli.conftest import Run
from tests.cli.test_commands import jsonl
from tests.logs import entry, setups


def test_the_address_of_a_calendar_is_shown_once_and_ended_by_command(run: Run) -> None:
    run("load", "-", stdin=jsonl(setups()))
    first, second = run("calendar", "ana"), run("calendar", "ana")
    assert first.returncode == 0
    assert "/api/calendar/" in first.stdout
    assert first.stdout != second.stdout
    assert "can be fetched" in run("calendar", "ana", "--end").stdout


def test_nobody_gets_a_calendar_who_is_not_of_the_place(run: Run) -> None:
    run("load", "-", stdin=jsonl(setups()))
    refused = run("calendar", "zoe")
    assert refused.returncode == 2
    assert "Ana" in refused.stderr


def test_a_person_is_named_as_one_calls_them(run: Run) -> None:
    run("load", "-", stdin=jsonl(setups()))
    assert "/api/calendar/" in run("calendar", "Ana").stdout
    assert "No calendar of Ana" in run("calendar", " aNA ", "--end").stdout


def test_of_two_people_called_alike_the_id_decides(run: Run) -> None:
    other = {**entry("setup", 2, what="person", item="ana-2", set={"name": "Ana"}), "id": "other-ana"}
    run("load", "-", stdin=jsonl([*setups(), other]))
    refused = run("calendar", "Ana")
    assert (refused.returncode, refused.stdout) == (2, "")
    assert "2 people are called 'Ana'; say whom by their id: ana, ana-2" in refused.stderr
    assert "/api/calendar/" in run("calendar", "ana-2").stdout
