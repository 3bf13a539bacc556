"""A server that dies at any one statement of a sync leaves all of the call in the log, or nothing of it."""

import os
import signal
from collections.abc import Callable
from typing import Any

import pytest

from fallowside.store import integrity
from fallowside.store.database import Database, Hand
from fallowside.sync.intake import Intake
from tests.conftest import Opener
from tests.logs import kg, setups
from tests.stores import feed, logged, send

pytestmark = pytest.mark.both_databases

BEFORE = [*setups()[:-3], feed(1, station="hive-2"), feed(2, amount=kg(-1))]
STATION = {"kind": "setup", "what": "station", "item": "hive-2", "set": {"type": "bed"}}
CALL: list[Any] = [
    {**setups()[0], "id": "setup-hive-2", **STATION},
    feed(2, amount=kg(1)),
    *map(feed, range(10, 40)),
    feed(50, amount=kg(float("nan"))),
]
"""Sets up a station that lets a held entry in, mends another, adds new ones and holds one."""
MOST_STATEMENTS = 200


def dies_at(opening: Opener, statement: int) -> bool:
    """Sync in a child process that is killed just before a statement; False if it lived to the end."""
    child = os.fork()
    if child == 0:
        left = [statement]

        def counted(run: Any) -> Any:
            def counting(self: Hand, *words: Any) -> None:
                left[0] -= 1
                if left[0] == 0:
                    os.kill(os.getpid(), signal.SIGKILL)
                run(self, *words)

            return counting

        Hand.run = counted(Hand.run)  # type: ignore[method-assign]
        Hand.run_many = counted(Hand.run_many)  # type: ignore[method-assign]
        database = opening()
        send(Intake(database), CALL)
        os._exit(0)
    _, status = os.waitpid(child, 0)
    return os.WIFSIGNALED(status)


def state(database: Database) -> tuple[list[Any], list[Any]]:
    with database.read() as hand:
        return logged(database), hand.rows("SELECT id, code, state FROM held ORDER BY n")


def test_a_death_at_any_statement_leaves_all_or_nothing(new_store: Callable[[], Opener]) -> None:
    whole = new_store()()
    send(Intake(whole), BEFORE)
    before = state(whole)
    send(Intake(whole), CALL)
    after = state(whole)
    whole.close()
    assert before != after

    statements = 0
    for statement in range(1, MOST_STATEMENTS):
        opening = new_store()
        database = opening()
        send(Intake(database), BEFORE)
        database.close()
        died = dies_at(opening, statement)
        database = opening()
        assert state(database) == (before if died else after)
        assert integrity.check(database).sound
        send(Intake(database), CALL)
        assert state(database) == after
        database.close()
        if not died:
            break
        statements += 1
    assert 15 < statements < MOST_STATEMENTS - 1
