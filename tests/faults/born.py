"""A server on a port and a data folder of its own, to be killed and born again, hundreds of times."""

import os
import time
from http.client import HTTPConnection
from multiprocessing.process import BaseProcess
from pathlib import Path

from fallowside import settings
from tests import commands
from tests.ports import free_port

START_S = 60.0


class BornServer:
    """One such server."""

    def __init__(self, data: Path, database_url: str = "") -> None:
        self.data = data
        self.log = data.with_suffix(".log")
        self.environment = {**os.environ, "FALLOWSIDE_DATABASE_URL": database_url}
        self.port = free_port()
        self.settings = settings.read(data=data, database_url=database_url)
        self.process: BaseProcess | None = None

    def start(self) -> None:
        """Start serving, always on the same port, and wait for the first answer."""
        words = ["serve", "--port", str(self.port), "--data", str(self.data)]
        self.process = commands.begin(words, self.environment, self.log)
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
        raise AssertionError(f"the server did not start: {self.log.read_text()}")

    def kill(self) -> None:
        """End the server with no warning, as a power cut would, and wait until it is gone."""
        if self.process is not None:
            self.process.kill()
            self.process.join()
            self.process = None
