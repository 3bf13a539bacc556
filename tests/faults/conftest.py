from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.faults.nursery import Nursery


@pytest.fixture
def nursery(tmp_path: Path) -> Iterator[Nursery]:
    """Give a process that bears servers."""
    made = Nursery(tmp_path / "serve.log")
    yield made
    made.close()
