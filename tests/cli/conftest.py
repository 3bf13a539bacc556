import io
import os
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from fallowside import cli


@dataclass(frozen=True)
class Done:
    """What became of a command."""

    returncode: int
    stdout: str
    stderr: str


Run = Callable[..., Done]


@pytest.fixture
def data(tmp_path: Path) -> Path:
    return tmp_path / "data"


@pytest.fixture
def run(data: Path, capfd: pytest.CaptureFixture[str]) -> Run:
    """Run a command as its own process would, on a data folder of its own, but without the wait for one."""

    def command(*words: str | Path, stdin: str = "", env: dict[str, str] | None = None) -> Done:
        with pytest.MonkeyPatch.context() as patch:
            for name in [one for one in os.environ if one.startswith("FALLOWSIDE_")]:
                patch.delenv(name)
            for name, value in {"FALLOWSIDE_DATA": str(data), **(env or {})}.items():
                patch.setenv(name, value)
            patch.setattr(sys, "argv", ["fallowside", *map(str, words)])
            patch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin.encode())))
            capfd.readouterr()
            with pytest.raises(SystemExit) as ended:
                cli.main()
        return Done(int(ended.value.code or 0), *capfd.readouterr())

    return command
