"""The real service as a process of its own, to be stopped, killed and started again by a test."""

import os
import ssl
import sys
import time
from multiprocessing.process import BaseProcess
from pathlib import Path
from urllib.error import HTTPError, URLError
from urllib.request import urlopen

import pytest

from tests import commands
from tests.ports import free_port

FALLOWSIDE = Path(sys.executable).with_name("fallowside")
START_S = 90.0
"""How long a server may take to answer for the first time, on a busy machine."""


class LiveServer:
    """The real service on a loopback port of its own, with a data folder of its own."""

    def __init__(self, folder: Path, *words: str, **settings: str) -> None:
        self.words = words
        self.data = folder / "data"
        self.log = folder / "serve.log"
        self.port = free_port()
        scheme = "https" if "--home" in words else "http"
        self.url = f"{scheme}://127.0.0.1:{self.port}"
        self.environment = {**os.environ, "FALLOWSIDE_DATA": str(self.data), **settings}
        self.process: BaseProcess | None = None

    def start(self) -> None:
        """Start serving, always on the same port, and wait for the first answer."""
        words = ["serve", "--host", "127.0.0.1", "--port", str(self.port), *self.words]
        self.process = commands.begin(words, self.environment, self.log)
        deadline = time.monotonic() + START_S
        while self.process.is_alive() and time.monotonic() < deadline:
            try:
                with urlopen(self.url, timeout=5.0, context=self._trusting()):
                    return
            except HTTPError:
                return
            except (OSError, URLError):
                time.sleep(0.05)
        self.kill()
        pytest.fail(f"the server did not start: {self.log.read_text(encoding='utf-8')}")

    @property
    def authority(self) -> Path:
        """The certificate of the authority of a server at home."""
        return self.data / "certificates" / "authority.pem"

    def _trusting(self) -> ssl.SSLContext | None:
        return ssl.create_default_context(cafile=self.authority) if "--home" in self.words else None

    def stop(self) -> None:
        """Ask the server to end, and wait until it has."""
        if self.process is not None:
            self.process.terminate()
            self._wait()

    def kill(self) -> None:
        """End the server with no warning, as a power cut would."""
        if self.process is not None:
            self.process.kill()
            self._wait()

    def run(self, *words: str, given: str = "") -> str:
        """Run another command on the same data; give what it prints."""
        return commands.run(words, self.environment, given)

    def _wait(self) -> None:
        assert self.process is not None
        self.process.join(START_S)
        assert not self.process.is_alive(), "the server did not end"
        self.process = None
