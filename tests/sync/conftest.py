from collections.abc import Iterator
from pathlib import Path

import pytest

from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.stores import fresh


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    opened = fresh(tmp_path)
    yield opened
    opened.close()


@pytest.fixture
def intake(database: Database) -> Intake:
    return Intake(database)
