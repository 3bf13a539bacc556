"""Brings a database's tables up to date; every open does so, and it costs one query if they are."""

from pathlib import Path
from typing import TYPE_CHECKING

from fallowside.store import errors
from fallowside.store.drivers import Driver

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

HEAD = "0007"
"""The newest revision in `migrations/versions`; a test compares."""
_LOCK = 0x_FA_110
"""PostgreSQL's advisory lock that two starting servers take in turn."""


def upgrade(driver: Driver) -> None:
    """Make or change the tables as this version wants them.

    Raises:
        NewerStore: a newer version made them.
        Damaged: it is a database of something else.
    """
    if _is_at_head(driver):
        return
    # Imported here: a command on a store that is up to date starts much faster without them.
    from sqlalchemy import inspect, text
    from sqlalchemy.exc import DBAPIError

    made = engine(driver)
    try:
        with made.begin() as connection:
            if driver.postgres:
                connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _LOCK})
            if inspect(connection).has_table("alembic_version"):
                found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
            elif inspect(connection).get_table_names():
                raise errors.Damaged("this database belongs to something else; give another")
            else:
                found = None
            if found != HEAD:
                _alembic(connection, found)
    except DBAPIError as error:
        raise errors.translated(error.orig if isinstance(error.orig, Exception) else error) from error
    finally:
        made.dispose()


def engine(driver: Driver) -> "Engine":
    """Give SQLAlchemy's way to a database, for the migrations only."""
    from sqlalchemy import create_engine, event

    made = create_engine(driver.url, creator=driver.connect)
    begin = driver.begin_write
    event.listen(made, "begin", lambda connection: connection.exec_driver_sql(begin))
    return made


def _is_at_head(driver: Driver) -> bool:
    connection = driver.connect()
    try:
        found = connection.execute("SELECT version_num FROM alembic_version").fetchone()
        return found is not None and found[0] == HEAD
    except driver.error:
        # No such table, or not readable at all: the longer way will tell.
        return False
    finally:
        connection.close()


def _alembic(connection: "Connection", found: str | None) -> None:
    from alembic import command
    from alembic.config import Config
    from alembic.script import ScriptDirectory

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).with_name("migrations")))
    config.attributes["connection"] = connection
    known = {script.revision for script in ScriptDirectory.from_config(config).walk_revisions()}
    if found is not None and found not in known:
        raise errors.NewerStore("a newer fallowside wrote this store; install that version or a later one")
    command.upgrade(config, "head")
