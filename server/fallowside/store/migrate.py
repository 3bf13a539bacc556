"""Brings a database's tables up to date; every open does so, and it costs one query if they are."""

from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from fallowside.store import errors

HEAD = "0001"
"""The newest revision in `migrations/versions`; a test compares."""
_LOCK = 0x_FA_110
"""PostgreSQL's advisory lock that two starting servers take in turn."""


def upgrade(engine: Engine) -> None:
    """Make or change the tables as this version wants them.

    Raises:
        NewerStore: a newer version made them.
        Damaged: it is a database of something else.
    """
    with engine.connect() as connection:
        if _revision(connection) == HEAD:
            return
    with engine.execution_options(writes=True).begin() as connection:
        if engine.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _LOCK})
        found = _revision(connection)
        if found == HEAD:
            return
        if found is None and inspect(connection).get_table_names():
            raise errors.Damaged("this database belongs to something else; give another")
        _alembic(connection, found)


def _revision(connection: Connection) -> str | None:
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def _alembic(connection: Connection, found: str | None) -> None:
    # Imported here: a command on an up-to-date store starts faster without it.
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
