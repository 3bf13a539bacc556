"""A phone and a server for the browser tests: real Chromium, and the real service as its own process."""

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from urllib.error import HTTPError, URLError
from urllib.request import urlopen

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, ViewportSize, sync_playwright

FALLOWSIDE = Path(sys.executable).with_name("fallowside")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
SMALL_PHONE: ViewportSize = {"width": 360, "height": 740}
START_S = 30.0
"""How long a server may take to answer for the first time, on a busy machine."""


class LiveServer:
    """The real service on a loopback port of its own, with a data folder of its own."""

    def __init__(self, folder: Path) -> None:
        self.data = folder / "data"
        self.log = folder / "serve.log"
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = int(free.getsockname()[1])
        self.url = f"http://127.0.0.1:{self.port}"
        self.environment = {**os.environ, "FALLOWSIDE_DATA": str(self.data)}
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start serving, always on the same port, and wait for the first answer."""
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                [FALLOWSIDE, "serve", "--port", str(self.port)],
                env=self.environment,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=subprocess.STDOUT,
            )
        deadline = time.monotonic() + START_S
        while self.process.poll() is None and time.monotonic() < deadline:
            try:
                with urlopen(self.url, timeout=5.0):
                    return
            except HTTPError:
                return
            except (URLError, ConnectionError, TimeoutError):
                time.sleep(0.05)
        self.kill()
        pytest.fail(f"the server did not start: {self.log.read_text(encoding='utf-8')}")

    def stop(self) -> None:
        """Ask the server to end, and wait until it has."""
        self._end(signal.SIGTERM)

    def kill(self) -> None:
        """End the server with no warning, as a power cut would."""
        self._end(signal.SIGKILL)

    def run(self, *words: str, given: str | None = None) -> str:
        """Run another command on the same data; give what it prints."""
        done = subprocess.run(
            [FALLOWSIDE, *words],
            env=self.environment,
            input=given,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    def _end(self, how: signal.Signals) -> None:
        if self.process is not None:
            self.process.send_signal(how)
            self.process.wait(timeout=START_S)
            self.process = None


@pytest.fixture
def live_server(tmp_path: Path) -> Iterator[LiveServer]:
    """Give a running server with an empty store; the test may stop, kill and start it again."""
    server = LiveServer(tmp_path)
    server.start()
    yield server
    server.stop()


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """Give the path of the Chromium on this machine."""
    for name in ("chromium", "chromium-browser", "google-chrome"):
        if path := shutil.which(name):
            return path
    pytest.fail("no Chromium on the path; on Debian, type: apt-get install chromium")


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    """Give the driver of browsers, for the whole run."""
    with sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="session")
def chromium(playwright: Playwright, chromium_path: str) -> Iterator[Browser]:
    """Give one running Chromium for the whole run; each test opens a context of its own in it."""
    browser = playwright.chromium.launch(executable_path=chromium_path, args=FLAGS)
    yield browser
    browser.close()


@pytest.fixture
def phone(chromium: Browser) -> Iterator[Page]:
    """Give a page of the size of a small phone, with nothing stored, and check that no script failed."""
    context = chromium.new_context(viewport=SMALL_PHONE, is_mobile=True, has_touch=True, locale="en-GB")
    page = context.new_page()
    failures: list[str] = []
    page.on("pageerror", lambda error: failures.append(str(error)))
    yield page
    context.close()
    assert failures == []


@pytest.fixture
def kept_phone(
    playwright: Playwright, chromium_path: str, tmp_path: Path
) -> Iterator[Callable[[], BrowserContext]]:
    """Give a way to open a browser whose storage outlives it, as a phone's does.

    Each call starts a browser process of its own on the same profile; close one before the next.
    """
    with ExitStack() as opened:

        def open_again() -> BrowserContext:
            context = playwright.chromium.launch_persistent_context(
                tmp_path / "profile",
                executable_path=chromium_path,
                args=FLAGS,
                viewport=SMALL_PHONE,
                is_mobile=True,
                has_touch=True,
                locale="en-GB",
            )
            opened.callback(context.close)
            return context

        yield open_again
