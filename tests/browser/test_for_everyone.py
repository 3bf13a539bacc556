"""Every screen can be read and pressed by everyone: checked by axe-core, and by measuring what is pressed."""

from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests.browser.pictures import SCREENS
from tests.browser.server import LiveServer

FINGER_PX, THUMB_PX = 48.0, 60.0
"""What is pressed anywhere, and what is pressed at the bin: Parhi, Karlson, Bederson (MobileHCI 2006) found
no fewer errors above 9.6 mm, which is 60 px at 160 px an inch; WCAG 2.2, 2.5.5, asks for 44 px."""

SMALL = """(root, least) => [...root.querySelectorAll('button, a[href], input, select, summary, textarea')]
  .filter(one => one.checkVisibility() && !one.closest('p a'))
  .map(one => ({ box: one.getBoundingClientRect(), words: one.textContent.trim() || one.type }))
  .filter(({ box }) => box.width > 0 && Math.min(box.width, box.height) < least - 0.5)
  .map(({ box, words }) => `${words}: ${Math.round(box.width)} x ${Math.round(box.height)}`)"""
AT_THE_BIN = ("reading", "feed-filled", "scoops", "larvae", "signs", "weight", "catch", "castings")


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveServer]:
    server = LiveServer(tmp_path_factory.mktemp("demo"))
    server.data.mkdir(parents=True)
    server.run("demo", "--no-serve")
    server.start()
    yield server
    server.stop()


@pytest.fixture(params=["light", "dark"])
def shown(request: pytest.FixtureRequest, chromium: Browser, demo: LiveServer) -> Iterator[Page]:
    """Give the demo place on a phone that is light or dark."""
    context = chromium.new_context(
        viewport={"width": 360, "height": 740},
        is_mobile=True,
        has_touch=True,
        locale="en-GB",
        color_scheme=request.param,
        reduced_motion="reduce",
    )
    page = context.new_page()
    page.goto(demo.url)
    expect(page.get_by_text("All sent")).to_be_visible(timeout=30_000)
    expect(page.get_by_text("kg today").first).to_be_visible(timeout=30_000)
    yield page
    context.close()


def test_axe_finds_nothing_on_any_screen(shown: Page, demo: LiveServer) -> None:
    found: list[str] = []
    for name, (path, act) in SCREENS.items():
        open_screen(shown, f"{demo.url}/#/{path}")
        act(shown)
        report = Axe().run(shown)
        found += [
            f"{name}: {one['id']} {one['nodes'][0]['html'][:120]}" for one in report.response["violations"]
        ]
    assert not found, "\n".join(found)


def test_what_is_pressed_is_as_large_as_a_finger_and_at_the_bin_as_a_thumb(
    shown: Page, demo: LiveServer
) -> None:
    found: list[str] = []
    for name, (path, act) in SCREENS.items():
        open_screen(shown, f"{demo.url}/#/{path}")
        act(shown)
        least = THUMB_PX if name in AT_THE_BIN else FINGER_PX
        where = "main" if name in AT_THE_BIN else "body"
        small: list[str] = shown.locator(where).first.evaluate(SMALL, least)
        found += [f"{name}: {one}" for one in small]
    assert not found, "\n".join(found)


def open_screen(page: Page, address: str) -> None:
    page.goto("about:blank")
    page.goto(address)
    page.wait_for_selector("h1")
