"""What tests of several rooms share. No test is timed: slow on a busy machine is not wrong."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.stores import fresh

settings.register_profile("untimed", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("untimed")


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    """Give an empty store."""
    opened = fresh(tmp_path)
    yield opened
    opened.close()


@pytest.fixture
def intake(database: Database) -> Intake:
    """Give the door of its one place."""
    return Intake(database)
