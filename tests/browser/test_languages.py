"""A phone speaks the language of whoever holds it: by itself, when told to, and with no signal."""

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from fallowside import words
from fallowside.words import translations
from tests.browser.conftest import SMALL_PHONE
from tests.browser.languages import STAND_IN, exchange, lengthened, speak
from tests.browser.pictures import SCREENS
from tests.browser.places import fill, walk
from tests.browser.server import LiveServer

OUTSIDE = """() => {
  const wide = document.documentElement.scrollWidth > innerWidth;
  const out = [...document.querySelectorAll("body *")]
    .filter(one => one.checkVisibility() && !one.closest("svg, .heard, [aria-hidden=true]"))
    .map(one => ({ one, box: one.getBoundingClientRect() }))
    .filter(({ one, box }) => box.width > 0 && (box.right > innerWidth + 1 || box.left < -1
      || (one.matches(".why") && one.scrollWidth > one.clientWidth + 1)))
    .map(({ one }) => `${one.tagName} ${one.className}: ${one.textContent.trim().slice(0, 60)}`);
  return wide ? ["the page is wider than the phone", ...out] : out;
}"""
"""What reaches beyond the sides of the phone; a 'Why?' that is wider than its own press may too."""
LONGER = 1.3
"""The language of long words is at least so much longer than English; no spoken one is."""


@pytest.fixture
def open_phone(chromium: Browser, demo: LiveServer) -> Iterator[Callable[[], Page]]:
    """Give a way to open the demo place on an English phone that takes all files from the network."""
    opened: list[BrowserContext] = []

    def open_one() -> Page:
        context = chromium.new_context(
            viewport=SMALL_PHONE,
            is_mobile=True,
            has_touch=True,
            locale="en-GB",
            reduced_motion="reduce",
            service_workers="block",
        )
        opened.append(context)
        exchange(context)
        page = context.new_page()
        page.goto(demo.url)
        expect(page.get_by_text("g today").first).to_be_visible(timeout=30_000)
        return page

    yield open_one
    for context in opened:
        context.close()


def test_the_language_of_long_words_is_longer_than_any_that_is_spoken() -> None:
    english = words.catalogue()
    assert sum(map(len, map(lengthened, english.values()))) > LONGER * sum(map(len, english.values()))
    for language in translations.LANGUAGES:
        spoken = words.catalogue(language)
        assert sum(map(len, spoken.values())) < LONGER * sum(len(english[key]) for key in spoken)


def test_no_screen_is_wider_than_the_phone_in_a_language_of_long_words(
    open_phone: Callable[[], Page],
) -> None:
    page = open_phone()
    found: list[str] = []
    for name, (path, act) in SCREENS.items():
        walk(page, path)
        speak(page, "en")
        act(page)
        speak(page, STAND_IN)
        found += [f"{name}: {one}" for one in page.evaluate(OUTSIDE)]
    assert not found, "\n".join(found)


def test_a_phone_starts_in_its_owners_language_and_speaks_another_when_told_even_without_signal(
    chromium: Browser, live_server: LiveServer
) -> None:
    fill(live_server)
    context = chromium.new_context(viewport=SMALL_PHONE, is_mobile=True, has_touch=True, locale="pt-BR")
    page = context.new_page()
    page.goto(live_server.url)
    expect(page.get_by_role("heading", name="Ronda")).to_be_visible()
    assert page.evaluate("document.documentElement.lang") == "pt-BR"
    page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    live_server.stop()
    page.goto(f"{live_server.url}/#/place/language")
    page.get_by_role("button", name="日本語").click()
    expect(page.get_by_role("heading", name="言語")).to_be_visible()
    assert page.evaluate("document.documentElement.lang") == "ja"
    page.reload()
    expect(page.get_by_role("heading", name="言語")).to_be_visible()
    expect(page).to_have_title("言語 · Fallowside")
    context.close()
