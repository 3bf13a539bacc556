"""Servers that start in a moment: a process that has imported everything forks one as often as it is asked.

The child runs the real command line from its first line on, so that hundreds of deaths cost minutes.

    python -m tests.faults.nursery LOG      (asks come as lines of JSON: the words of a command)
"""

import json
import os
import signal
import subprocess
import sys
import tempfile
import threading
import time
from http.client import HTTPConnection
from pathlib import Path

from fallowside import cli, settings
from fallowside.api.app import build_app
from tests.ports import free_port

START_S = 60.0
PRELOADED = ("fallowside.api.serving", "uvloop", "uvicorn.protocols.http.auto", "psycopg")


class Nursery:
    """The process that bears servers."""

    def __init__(self, log: Path) -> None:
        self.log = log
        self._turn = threading.Lock()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.nursery", log],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=Path(__file__).parents[2],
            env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        )

    def bear(self, *words: str) -> int:
        """Run a command of ours in a child; give its process id."""
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        with self._turn:
            self.process.stdin.write(json.dumps(words) + "\n")
            self.process.stdin.flush()
            return int(self.process.stdout.readline())

    def close(self) -> None:
        """End, with every child."""
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.process.stdin.close()
        self.process.wait()
        self.process.stdout.close()


class BornServer:
    """A server on a port and a data folder of its own, to be killed and born again."""

    def __init__(self, nursery: Nursery, data: Path, database_url: str = "") -> None:
        self.nursery, self.data, self.database_url = nursery, data, database_url
        self.port = free_port()
        self.settings = settings.read(data=data, database_url=database_url)
        self.pid = 0

    def start(self) -> None:
        """Start serving, always on the same port, and wait for the first answer."""
        words = [self.database_url, "serve", "--port", str(self.port), "--data", str(self.data)]
        self.pid = self.nursery.bear(*words)
        until = time.monotonic() + START_S
        while time.monotonic() < until:
            link = HTTPConnection("127.0.0.1", self.port, timeout=5)
            try:
                link.request("GET", "/api/health")
                if link.getresponse().read():
                    return
            except OSError:
                time.sleep(0.005)
            finally:
                link.close()
        raise AssertionError(f"the server did not start: {self.nursery.log.read_text()}")

    def kill(self) -> None:
        """End the server with no warning, as a power cut would, and wait until it is gone."""
        if not self.pid:
            return
        os.kill(self.pid, signal.SIGKILL)
        while _lives(self.pid):
            time.sleep(0.001)
        self.pid = 0


def _lives(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


def main(log: str) -> None:
    """Bear children until nobody can ask any more, then end those that live."""
    for name in PRELOADED:
        __import__(name)
    with tempfile.TemporaryDirectory() as folder:
        # What an application makes once in a process, it has made before the first child.
        database = settings.read(data=Path(folder), database_url="").open_database()
        build_app(database)
        database.close()
    # So that the dead are buried by the system.
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    born = []
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            signal.signal(signal.SIGCHLD, signal.SIG_DFL)
            output = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
            os.dup2(output, 1)
            os.dup2(output, 2)
            os.environ["FALLOWSIDE_DATABASE_URL"], *words = json.loads(line)
            sys.argv = ["fallowside", *words]
            cli.main()
        born.append(child)
        print(child, flush=True)
    for child in filter(_lives, born):
        os.kill(child, signal.SIGKILL)


if __name__ == "__main__":
    main(sys.argv[1])
