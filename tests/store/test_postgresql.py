"""What only PostgreSQL does: writers of other places at once, a turn that is waited for, its own errors."""

import threading
from collections.abc import Iterator

import pytest

from fallowside.store import database as databases
from fallowside.store import drivers, errors, log
from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.logs import setups
from tests.postgres import Cluster
from tests.stores import NOW_US, feed, logged, send


@pytest.fixture
def url(cluster: Cluster) -> Iterator[str]:
    made = cluster.store()
    yield made
    cluster.drop(made)


@pytest.fixture
def database(url: str) -> Iterator[Database]:
    opened = databases.at_url(url)
    yield opened
    opened.close()


def test_a_commit_is_on_the_disk_before_it_is_told_also_where_the_server_is_set_otherwise(url: str) -> None:
    # Off, a commit is reported before it is flushed: "Asynchronous Commit" in PostgreSQL's manual.
    setting = drivers.driver(f"{url}&options=-c%20synchronous_commit%3Doff")
    connection = setting.connect()
    assert connection.execute("SHOW synchronous_commit").fetchone() == ("off",)
    connection.execute(setting.begin_write)
    assert connection.execute("SHOW synchronous_commit").fetchone() == ("on",)
    connection.close()


def test_a_stricter_server_is_left_as_strict(url: str) -> None:
    setting = drivers.driver(f"{url}&options=-c%20synchronous_commit%3Dremote_apply")
    connection = setting.connect()
    connection.execute(setting.begin_write)
    assert connection.execute("SHOW synchronous_commit").fetchone() == ("remote_apply",)
    connection.close()


def test_the_log_cannot_be_emptied_at_once(database: Database) -> None:
    send(Intake(database), setups())
    with pytest.raises(errors.StoreProblem, match="never changed or deleted"), database.write() as hand:
        hand.run("TRUNCATE entry")
    assert len(logged(database)) == len(setups())


def test_a_writer_that_waits_too_long_for_its_turn_says_so(
    url: str, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    send(Intake(database), setups())
    short = drivers._BEGIN_POSTGRES.replace(f"{round(1000 * drivers.BUSY_S)}", "20")
    monkeypatch.setattr(drivers, "_BEGIN_POSTGRES", short)
    hasty = databases.at_url(url)
    with database.write() as hand:
        log.open_place(hand, NOW_US)
        with pytest.raises(errors.Busy, match="try again"):
            send(Intake(hasty), [feed(1)])
    assert send(Intake(hasty), [feed(1)]).accepted == ["feed-1"]
    hasty.close()


def test_a_writer_of_one_place_does_not_wait_for_a_writer_of_another(database: Database) -> None:
    other = Intake(database.of_place("hillside"))
    send(other, setups())
    with database.write() as hand:
        log.open_place(hand, NOW_US)
        sending = threading.Thread(target=send, args=(other, [feed(1)]))
        sending.start()
        sending.join(5)
        assert not sending.is_alive()
    assert len(list(log.entries(database.of_place("hillside")))) == len(setups()) + 1


def test_the_place_of_two_first_calls_at_once_is_made_once(database: Database) -> None:
    calls = [
        threading.Thread(target=send, args=(Intake(database), [*setups(), feed(n)], f"phone-{n}"))
        for n in range(8)
    ]
    for one in calls:
        one.start()
    for one in calls:
        one.join()
    assert len(logged(database)) == len(setups()) + 8


def test_a_connection_that_was_cut_is_said_and_the_next_call_works(database: Database) -> None:
    intake = Intake(database)
    send(intake, setups())
    with pytest.raises(errors.Unreachable), database.write() as hand:
        hand.run("SELECT pg_terminate_backend(pg_backend_pid())")
    assert send(intake, [feed(1)]).accepted == ["feed-1"]


def test_connections_cut_while_nobody_used_them_cost_at_most_one_call_each(
    url: str, database: Database
) -> None:
    intake = Intake(database)
    send(intake, setups())
    other = drivers.driver(url).connect()
    other.execute("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE pid <> pg_backend_pid()")
    other.close()
    assert send(intake, [feed(1)]).accepted == ["feed-1"]


@pytest.mark.parametrize("url", ["postgresql://fallowside@/x?host=%2Fnowhere", "postgresql://127.0.0.1:1/x"])
def test_a_server_that_is_not_there_is_said_in_one_line(url: str) -> None:
    with pytest.raises(errors.Unreachable) as caught:
        databases.at_url(url)
    assert "\n" not in str(caught.value)
