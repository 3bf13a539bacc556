"""The database, whichever it is: append-only, readers that see one instant, tables that migrate."""

import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import text

from fallowside.store import errors, log, migrate
from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.conftest import Opener
from tests.logs import setups
from tests.stores import feed, ids, send

pytestmark = pytest.mark.both_databases

MIGRATIONS = Path(migrate.__file__).with_name("migrations")


def config(connection: object) -> Config:
    made = Config()
    made.set_main_option("script_location", str(MIGRATIONS))
    made.attributes["connection"] = connection
    return made


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
    with database.of_place("other").read() as hand:
        assert log.place_number(hand) is None
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


def test_opening_again_finds_what_was_written(new_store: Callable[[], Opener]) -> None:
    opening = new_store()
    first = opening()
    send(Intake(first), setups())
    first.close()
    again = opening()
    assert len(list(log.lines(again))) == len(setups())
    again.close()


def test_migrations_give_the_tables_that_the_models_describe(database: Database) -> None:
    engine = migrate.engine(database.driver)
    with engine.connect() as connection:
        command.check(config(connection))
    engine.dispose()


def test_the_newest_migration_is_the_one_the_code_expects() -> None:
    scripts = ScriptDirectory(str(MIGRATIONS))
    assert scripts.get_current_head() == migrate.HEAD


def test_a_store_of_a_newer_version_is_left_alone(new_store: Callable[[], Opener]) -> None:
    opening = new_store()
    opened = opening()
    engine = migrate.engine(opened.driver)
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    engine.dispose()
    opened.close()
    with pytest.raises(errors.NewerStore, match="newer fallowside"):
        opening()
