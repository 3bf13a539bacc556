"""What tests of several rooms share. No test is timed: slow on a busy machine is not wrong.

A module with `pytestmark = pytest.mark.both_databases` has each of its tests that asks for a store run
twice: on SQLite, and on a real PostgreSQL.
"""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from itertools import count
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from fallowside.store import database as databases
from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests import postgres
from tests.stores import fresh

settings.register_profile("untimed", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("untimed")

Opener = Callable[[], Database]


def pytest_configure(config: pytest.Config) -> None:
    """Make the marker known."""
    config.addinivalue_line("markers", "both_databases: on SQLite and on a real PostgreSQL")


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Run what is marked so on both databases."""
    if "new_store" in metafunc.fixturenames and metafunc.definition.get_closest_marker("both_databases"):
        metafunc.parametrize("new_store", ["sqlite", "postgresql"], indirect=True)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Name the interpreters the core was tried on: a machine without an old or a new one proves less."""
    if any("test_every_python" in one.nodeid for one in terminalreporter.getreports("passed")):
        # Looked for only here: each is started to be asked its version.
        from tests.architecture.pythons import FOUND

        terminalreporter.write_line(f"the core's plan was compared on Python {', '.join(FOUND)}")


@pytest.fixture(scope="session")
def cluster() -> Iterator[postgres.Cluster]:
    """Give a running PostgreSQL; where several processes run the tests, each has its own."""
    with postgres.running() as made:
        yield made


@pytest.fixture
def new_store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Callable[[], Opener]]:
    """Give a way to make empty stores, each as a way to open it again and again."""
    numbers = count()
    if getattr(request, "param", "sqlite") == "sqlite":

        def of_a_folder() -> Opener:
            n = next(numbers)
            folder = tmp_path / str(n) if n else tmp_path
            return lambda: fresh(folder)

        yield of_a_folder
        return
    cluster: postgres.Cluster = request.getfixturevalue("cluster")
    with ExitStack() as later:

        def of_a_url() -> Opener:
            url = cluster.store()
            later.callback(cluster.drop, url)
            return lambda: databases.at_url(url)

        yield of_a_url


@pytest.fixture
def database(new_store: Callable[[], Opener]) -> Iterator[Database]:
    """Give an empty store."""
    opened = new_store()()
    yield opened
    opened.close()


@pytest.fixture
def intake(database: Database) -> Intake:
    """Give the door of its one place."""
    return Intake(database)
