"""On no screen does the app ask anybody but its server, or do what its content policy forbids."""

from pathlib import Path

from playwright.sync_api import Browser, Page

from tests.browser.conftest import SMALL_PHONE
from tests.browser.pictures import SCREENS
from tests.browser.server import LiveServer

WATCH = """
globalThis.broken = [];
document.addEventListener("securitypolicyviolation", (event) =>
  broken.push(`${event.violatedDirective} ${event.blockedURI} ${event.sourceFile}`));
"""
PATHS = sorted({path for path, _ in SCREENS.values()})


def test_every_screen_asks_its_own_server_only_and_keeps_its_policy(
    chromium: Browser, demo: LiveServer, tmp_path: Path
) -> None:
    context = chromium.new_context(viewport=SMALL_PHONE, is_mobile=True, has_touch=True, locale="en-GB")
    asked: list[str] = []
    said: list[str] = []
    # Those of the service worker and of the worker that plans are among them.
    context.on("request", lambda request: asked.append(request.url))
    context.add_init_script(WATCH)
    page = context.new_page()
    page.on("console", lambda message: said.append(message.text))
    page.goto(demo.url)
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    for path in PATHS:
        show(page, path)
    # What the server prints asks for nothing else either.
    for path in ("/api/report.html", "/api/sheets/stickers.html", "/api/sheets/handover.html"):
        page.goto(demo.url + path)
        assert page.evaluate("broken") == [], path
    # The test can fail: this is how a stranger's picture would be noticed.
    page.goto(demo.url)
    page.evaluate("document.body.append(Object.assign(new Image(), {src: 'https://other.example/x.png'}))")
    page.wait_for_function("broken.length === 1")
    context.close()
    mine = (demo.url, "data:", "blob:")
    assert [url for url in asked if not url.startswith(mine) and "other.example" not in url] == []
    assert len(asked) > len(PATHS)
    refused = [text for text in said if "Content Security Policy" in text and "other.example" not in text]
    assert refused == []


def show(page: Page, path: str) -> None:
    """Open a screen, and see to it that it drew and broke no rule."""
    page.evaluate("path => { location.hash = `#/${path}`; }", path)
    page.locator("main h1, main h2").first.wait_for()
    page.wait_for_timeout(100)
    assert page.evaluate("broken") == [], path
