"""Every screen can be read and pressed by everyone: large, by keyboard, with little motion."""

import re
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from playwright.sync_api import Browser, Page, Playwright, expect

from tests.browser.conftest import FLAGS, at_rest
from tests.browser.languages import speak
from tests.browser.pictures import SCREENS, THEMES, light
from tests.browser.places import walk
from tests.browser.server import LiveServer

FINGER_PX, THUMB_PX = 48.0, 60.0
"""What is pressed anywhere, and what is pressed at the bin: Parhi, Karlson, Bederson (MobileHCI 2006) found
no fewer errors above 9.6 mm, which is 60 px at 160 px an inch; WCAG 2.2, 2.5.5, asks for 44 px."""

SMALL = """(root, least) => [...root.querySelectorAll('button, a[href], input, select, summary, textarea')]
  .filter(one => one.checkVisibility() && !one.closest('p a'))
  .map(one => ({ box: one.getBoundingClientRect(), words: one.textContent.trim() || one.type }))
  .filter(({ box }) => box.width > 0 && Math.min(box.width, box.height) < least - 0.5)
  .map(({ box, words }) => `${words}: ${Math.round(box.width)} x ${Math.round(box.height)}`)"""
OUTSIDE = """() => [...document.querySelectorAll('body *')]
  .filter(one => one.checkVisibility() && one.getBoundingClientRect().width > 0)
  .filter(one => !one.closest('.heard, svg, .u-wrap'))
  .filter(one => {
    const { left, right } = one.getBoundingClientRect();
    return left < -1 || right > screen.width + 1;
  })
  .map(one => `${one.tagName} ${one.className}: ${one.textContent.slice(0, 40)}`)"""
"""What reaches beyond the screen's sides; `innerWidth` grows with what does."""
TWICE = "--blink-settings=defaultFontSize=32"
"""A browser whose owner reads text at twice the usual 16 px (WCAG 2.2, 1.4.4)."""
LONG = ("en", "de", "pt")
"""That of the rest, the one with the longest words, and the one with the longest days."""
MOST_TABS = 60
AT_THE_BIN = ("reading", "feed-filled", "scoops", "larvae", "signs", "weight", "catch", "castings")


@pytest.fixture(params=THEMES)
def shown(request: pytest.FixtureRequest, chromium: Browser, demo: LiveServer) -> Iterator[Page]:
    """Give the demo place on a phone that is light, dark or in sun mode."""
    with opened(chromium, demo, request.param) as page:
        yield page


@pytest.fixture
def light_phone(chromium: Browser, demo: LiveServer) -> Iterator[Page]:
    """Give the demo place on a light phone."""
    with opened(chromium, demo, "light") as page:
        yield page


@contextmanager
def opened(chromium: Browser, demo: LiveServer, theme: str) -> Iterator[Page]:
    """Open the demo place on a phone with little motion.

    Its figures are the service's: a fold started with every screen takes longer than looking at it.
    """
    context = at_rest(chromium, theme)
    page = context.new_page()
    page.goto(demo.url)
    expect(page.get_by_text("All sent")).to_be_visible(timeout=30_000)
    walk(page, "place/fold")
    page.get_by_role("button", name="No figures").press("Enter")
    expect(page.get_by_role("button", name="No figures", pressed=True)).to_be_visible()
    walk(page, "round")
    expect(page.get_by_text("g today").first).to_be_visible(timeout=30_000)
    light(page, theme)
    yield page
    context.close()


def test_what_is_pressed_is_as_large_as_a_finger_and_at_the_bin_as_a_thumb(
    shown: Page,
) -> None:
    found: list[str] = []
    for name, (path, act) in SCREENS.items():
        walk(shown, path)
        act(shown)
        least = THUMB_PX if name in AT_THE_BIN else FINGER_PX
        where = "main" if name in AT_THE_BIN else "body"
        small: list[str] = shown.locator(where).first.evaluate(SMALL, least)
        found += [f"{name}: {one}" for one in small]
    assert not found, "\n".join(found)


def test_at_twice_the_size_of_text_nothing_leaves_the_screen_and_saving_stays_in_sight(
    playwright: Playwright, chromium_path: str, demo: LiveServer
) -> None:
    found: list[str] = []
    browser = playwright.chromium.launch(executable_path=chromium_path, args=[*FLAGS, TWICE])
    with opened(browser, demo, "light") as page:
        for path in dict.fromkeys(path for path, _ in SCREENS.values()):
            walk(page, path)
            for language in LONG:
                speak(page, language)
                found += [f"{path} {language}: {one}" for one in page.evaluate(OUTSIDE)]
                if page.locator(".save-bar").count() > 0:
                    expect(page.locator(".save-bar .main")).to_be_in_viewport()
    browser.close()
    assert not found, "\n".join(found)


def test_a_reading_is_recorded_and_taken_back_by_the_keyboard_alone(light_phone: Page) -> None:
    walk(light_phone, "station/trough")
    for name, key in (
        ("Reading", "Enter"),
        (".*last", "Space"),
        ("Holds together", "Space"),
        ("Save", "Enter"),
    ):
        press_by_keyboard(light_phone, name, key)
    expect(light_phone.get_by_text("Saved on this phone.")).to_be_visible()
    light_phone.keyboard.press("Control+z")
    expect(light_phone.get_by_text("Taken back.")).to_be_visible()


def test_where_little_motion_is_wished_for_nothing_moves(light_phone: Page) -> None:
    moves = "getComputedStyle(document.querySelector('main > *')).animationName"
    assert light_phone.evaluate(moves) == "none"
    light_phone.emulate_media(reduced_motion="no-preference")
    assert light_phone.evaluate(moves) == "settle"


def press_by_keyboard(page: Page, name: str, key: str) -> None:
    """Go from control to control until the one with such words, and press it."""
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        words = page.evaluate("document.activeElement.textContent")
        if re.fullmatch(name, words):
            ring = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
            assert ring != "none", f"nobody sees that {name} has the focus"
            page.keyboard.press(key)
            return
    raise AssertionError(f"the keyboard never reached {name}")
