"""axe-core finds nothing on any screen or in any state, in light, dark and sun, in all six languages.

Each screen is met in every theme and in every language at least once: two languages in each theme, others
for the next screen.
"""

from collections.abc import Mapping

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from fallowside.words import translations
from tests.browser.conftest import at_rest
from tests.browser.folds import write_rows
from tests.browser.languages import speak
from tests.browser.pictures import SCREENS, THEMES, Act, light, nothing, press
from tests.browser.places import Raw, celsius, walk
from tests.browser.server import LiveServer
from tests.browser.test_for_everyone import opened

LANGUAGES = ("en", *translations.LANGUAGES)
EACH = len(LANGUAGES) // len(THEMES)
"""So many languages a theme meet every screen with all of them."""


def held(page: Page) -> None:
    """Send something the service holds."""
    page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    entry = {"kind": "reading", "station": "trough", "side": "a", "at": "2026-01-02T03:04:05Z"}
    write_rows(page, [{**entry, "id": "held-by-range", "temperature": celsius(900)}])
    page.get_by_role("button", name="Send now").click()
    page.locator(".held").first.wait_for()


def mending(page: Page) -> None:
    """Begin to mend it."""
    page.get_by_role("button", name="Mend").click()
    page.get_by_role("button", name="Save the mended one").wait_for()


def cut_off(page: Page) -> None:
    """Lose the signal, save something, and try to send it."""
    page.context.set_offline(True)
    write_rows(page, [{"id": "cut-off", "kind": "signs", "station": "trough", "at": "2026-01-02T03:04:05Z"}])
    page.get_by_role("button", name="Send now").click()
    page.get_by_text("1 not sent yet").first.wait_for()


def saved(page: Page) -> None:
    """Save by one press; the way back lies under the thumb."""
    page.get_by_role("button", name="More").click()
    page.get_by_role("button", name="Looked: all well").click()
    page.get_by_role("button", name="Undo").wait_for()


STATES: Mapping[str, tuple[str, Act]] = {
    "nowhere": ("station/none", nothing),
    "empty-reading": ("station/trough/record/reading", press("Save")),
    "held": ("place/sync", held),
    "held-mend": ("place/sync", mending),
    "offline": ("place/sync", cut_off),
    "offline-round": ("round", nothing),
    "offline-saved": ("station/trough", saved),
    "offline-tally": ("tally", nothing),
    "offline-phones": ("place/phones", nothing),
}
"""What else may be the case on a phone of the demo, in this order."""


def chosen(page: Page) -> None:
    """Choose all there is."""
    for name in ("Worm bed", "Larvae bin", "Pond", "Hive"):
        page.get_by_role("button", name=name).click()


def refused(page: Page) -> None:
    """Answer what can't be."""
    page.get_by_role("button", name="Worm bed").click()
    page.locator(".dial input").first.fill("90000")
    page.get_by_role("button", name="Set").last.click()
    page.get_by_role("alert").first.wait_for()


EMPTY: Mapping[str, tuple[str, Act]] = {
    "begin": ("round", nothing),
    "begin-chosen": ("round", chosen),
    "begin-refused": ("round", refused),
    "empty-place": ("place", nothing),
    "empty-sync": ("place/sync", nothing),
}
LOCKED: Mapping[str, tuple[str, Act]] = {"pair": ("round", nothing), "pair-code": ("pair/AAAA", nothing)}


@pytest.mark.parametrize("theme", THEMES)
def test_axe_finds_nothing_on_any_screen(chromium: Browser, demo: LiveServer, theme: str) -> None:
    with opened(chromium, demo, theme) as page:
        found = looked_at(page, theme, {**SCREENS, **STATES})
    assert not found, "\n".join(found)


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("locked", [False, True], ids=["empty", "locked"])
def test_axe_finds_nothing_where_nothing_is_set_up_or_nobody_is_let_in(
    chromium: Browser, live_server: LiveServer, theme: str, locked: bool
) -> None:
    if locked:
        live_server.stop()
        live_server.environment["FALLOWSIDE_SIGN_IN"] = "true"
        live_server.start()
    context = at_rest(chromium, theme)
    page = context.new_page()
    page.goto(live_server.url)
    expect(page.get_by_role("heading").first).to_be_visible()
    light(page, theme)
    found = looked_at(page, theme, LOCKED if locked else EMPTY)
    context.close()
    assert not found, "\n".join(found)


def looked_at(page: Page, theme: str, screens: Mapping[str, tuple[str, Act]]) -> list[str]:
    """Give what axe finds on screens, each in the languages that are this theme's turn."""
    found: list[str] = []
    first = EACH * THEMES.index(theme)
    for turn, (name, (path, act)) in enumerate(screens.items()):
        walk(page, path)
        act(page)
        for step in range(first, first + EACH):
            language = LANGUAGES[(turn + step) % len(LANGUAGES)]
            speak(page, language)
            found += [
                f"{name}, {language}: {one['id']} {one['nodes'][0]['html'][:120]}" for one in violations(page)
            ]
        speak(page, "en")
    return found


def violations(page: Page) -> list[Raw]:
    """Ask axe, brought to each page once, and fetch nothing but what it minds."""
    if not page.evaluate("'axe' in globalThis"):
        page.evaluate(Axe().axe_script)
    asked: list[Raw] = page.evaluate("axe.run({ resultTypes: ['violations'] }).then(one => one.violations)")
    return asked
