"""The interpreter of the phone, run in Node: what it computes is what it computes in a browser."""

import json
import shutil
import subprocess
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]


class PhoneHost:
    """The phone's interpreter as a process that answers one line with one line."""

    def __init__(self) -> None:
        built = list((ROOT / "web" / "dist" / "assets" / "fold").glob("standard-*.zip"))
        node = shutil.which("node")
        assert built, "the web app isn't built; type `make setup`"
        assert node, "no Node on the path"
        self.process = subprocess.Popen(
            [node, Path(__file__).with_name("phone_host.mjs"), ROOT / "web", ROOT / "server", built[0]],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            encoding="utf-8",
        )

    def ask(self, **request: Any) -> dict[str, Any]:
        """Put a question and give the answer."""
        assert self.process.stdin
        assert self.process.stdout
        self.process.stdin.write(json.dumps(request) + "\n")
        self.process.stdin.flush()
        answer: dict[str, Any] = json.loads(self.process.stdout.readline())
        return answer

    def plan(self, texts: Sequence[str], at: str, *, kept: bool = False, rewritten: bool = False) -> str:
        """Plan a log that is given in so many texts of JSON, or comes to the log kept from before."""
        answer = self.ask(entries=list(texts), at=at, kept=kept, rewritten=rewritten)
        assert "plan" in answer, answer
        return str(answer["plan"])

    def run(self, code: str) -> Any:
        """Run Python there and give its last value."""
        answer = self.ask(python=code)
        assert "value" in answer, answer
        return answer["value"]

    def end(self) -> None:
        """Let the process go."""
        with self.process:
            self.process.terminate()


@pytest.fixture(scope="session")
def phone_host() -> Iterator[PhoneHost]:
    """Give the phone's interpreter, started once for the whole run."""
    host = PhoneHost()
    yield host
    host.end()
