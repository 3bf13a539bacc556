import os
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.browser.server import FALLOWSIDE

Done = subprocess.CompletedProcess[str]
Run = Callable[..., Done]


@pytest.fixture
def data(tmp_path: Path) -> Path:
    return tmp_path / "data"


@pytest.fixture
def run(data: Path) -> Run:
    """Run the installed command on a data folder of its own."""

    def command(*words: str | Path, stdin: str = "", env: dict[str, str] | None = None) -> Done:
        clean = {name: value for name, value in os.environ.items() if not name.startswith("FALLOWSIDE_")}
        done = subprocess.run(
            [FALLOWSIDE, *words],
            input=stdin.encode(),
            capture_output=True,
            env={**clean, "FALLOWSIDE_DATA": str(data), "TZ": "UTC", **(env or {})},
            timeout=60,
            check=False,
        )
        return Done(done.args, done.returncode, done.stdout.decode(), done.stderr.decode())

    return command
