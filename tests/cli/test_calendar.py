"""A calendar's address made at the machine itself, without a phone."""

from tests.cli.conftest import Run
from tests.cli.test_commands import jsonl
from tests.logs import setups


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
    assert "ana" in refused.stderr
