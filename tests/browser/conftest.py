"""A phone and a server for the browser tests: real Chromium, and the real service as its own process."""

import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from playwright.sync_api import (
    Browser,
    BrowserContext,
    Page,
    Playwright,
    ViewportSize,
    expect,
    sync_playwright,
)

from tests.browser.frames import watch_presses
from tests.browser.server import LiveServer

NOT_NEEDED = (
    # Two pages of the browser's own beside each of ours, for an address bar nobody sees; each takes a
    # second of a processor, as much as the app.
    "WebUIOmniboxPopup",
    "WebUIOmniboxAimPopup",
    # Chromium heeds the last such list only, so that those of Playwright's are said again.
    "AvoidUnnecessaryBeforeUnloadCheckSync",
    "DestroyProfileOnBrowserClose",
    "HttpsFirstBalancedModeAutoEnable",
    "HttpsUpgrades",
    "LensOverlay",
    "MediaRouter",
    "NetworkTimeServiceQuerying",
    "OptimizationHints",
    "PaintHolding",
    "PreconnectToSearch",
    "ThirdPartyStoragePartitioning",
)
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    f"--disable-features={','.join(NOT_NEEDED)}",
]
watch_presses()
# Whoever waits for what comes needs no shorter time: on a busy machine it comes late.
expect.set_options(timeout=60_000)
SMALL_PHONE: ViewportSize = {"width": 360, "height": 740}


@pytest.fixture
def live_server(tmp_path: Path) -> Iterator[LiveServer]:
    """Give a running server with an empty store; the test may stop, kill and start it again."""
    server = LiveServer(tmp_path)
    server.start()
    yield server
    server.stop()


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveServer]:
    """Give the demo place, served; for tests that change nothing others look at."""
    server = LiveServer(tmp_path_factory.mktemp("demo"))
    server.data.mkdir(parents=True)
    server.run("demo", "--no-serve")
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


def at_rest(chromium: Browser, theme: str) -> BrowserContext:
    """Open a small phone on which little moves; in sun mode it is a light one until that is pressed."""
    return chromium.new_context(
        viewport=SMALL_PHONE,
        is_mobile=True,
        has_touch=True,
        locale="en-GB",
        color_scheme="dark" if theme == "dark" else "light",
        reduced_motion="reduce",
    )


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
