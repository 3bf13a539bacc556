"""Takes a picture of every screen of the app, at two sizes, in three lights and languages, into /pictures.

Run it with `python -m tests.browser.pictures`; words on the command line choose screens by name, themes,
languages, and sizes by their width (`reading sun ja 360`). It serves the demo place (and, for the first
set-up, an empty one) from folders of its own.
"""

import shutil
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Browser, BrowserContext, Page, ViewportSize, sync_playwright

from tests.browser.conftest import FLAGS
from tests.browser.languages import speak
from tests.browser.places import walk
from tests.browser.server import LiveServer

FOLDER = Path(__file__).parents[2] / "pictures"
SIZES: tuple[ViewportSize, ...] = ({"width": 360, "height": 740}, {"width": 412, "height": 915})
THEMES = ("light", "dark", "sun")
LANGUAGES = ("en", "de", "ja")
"""That of the rest, the one with the longest words, and one of another script."""
WIDTHS = tuple(str(size["width"]) for size in SIZES)
SETTLED_MS = 400
"""After this long nothing moves on a screen any more."""

Act = Callable[[Page], None]


def nothing(page: Page) -> None:
    """Take the screen as it opens."""


def press(name: str) -> Act:
    """Press what is called so."""
    return lambda page: page.get_by_role("button", name=name).first.click()


def hand_over(page: Page) -> None:
    """Unfold who walks, and ask to whom the round goes."""
    page.locator(".today summary").click()
    page.get_by_role("button", name="Hand over").click()


def hot_bed(page: Page) -> None:
    """Type a temperature no bed bears."""
    page.get_by_role("textbox", name="Temperature", exact=True).fill("34")


def misread(page: Page) -> None:
    """Type what may have been read in the other scale, and try to save it."""
    page.get_by_role("textbox", name="Temperature", exact=True).fill("140")
    page.get_by_role("button", name="Save").click()


def fed(page: Page) -> None:
    """Choose a feed and half a pail of it."""
    page.get_by_role("group", name="What", exact=True).get_by_role("button").first.click()
    page.locator('[data-value="grey-pail"]').click()
    page.locator('[data-value="0.5"]').click()


def too_much(page: Page) -> None:
    """Press more than may still go in today."""
    page.locator('[data-ready="1"]').click()
    page.get_by_role("alert").wait_for()


def half_a_pail(page: Page) -> None:
    """Put half a pail of vegetables into the bucket."""
    page.get_by_role("button", name="Vegetable scraps").first.click()
    page.locator('[data-value="grey-pail"]').click()
    page.locator('[data-value="0.5"]').click()
    page.get_by_role("heading", name="It goes").wait_for()


def with_fish(page: Page) -> None:
    """Add a quarter of fish heads to it."""
    half_a_pail(page)
    page.get_by_role("button", name="Something else in it").click()
    page.get_by_role("button", name="Fish heads").first.click()
    page.locator('[data-value="grey-pail"]').click()
    page.locator('[data-value="0.25"]').click()
    page.get_by_role("alert").or_(page.locator(".warning")).first.wait_for()


def last_month(page: Page) -> None:
    """Look at the last whole month, with all that is folded away."""
    page.get_by_label("Period").select_option(index=2)
    page.get_by_text("Adding up").wait_for(state="hidden")
    page.locator(".huge").wait_for()
    for folded in page.locator("details.more").all():
        folded.locator("summary").click()


def counted(page: Page) -> None:
    """Count two scoops."""
    for scoop in (7, 4):
        for _ in range(scoop):
            page.get_by_role("button", name="One more worm").click()
        page.get_by_role("button", name="Next scoop").click()


def walking(page: Page) -> None:
    """Start a round, and look in at the first station."""
    page.get_by_role("button", name="Start the round").click()
    page.locator(".stop a").first.click()
    page.get_by_role("button", name="More").click()
    page.get_by_role("button", name="Looked: all well").click()
    page.locator(".foot a").first.click()


def asked(page: Page) -> None:
    """Ask the host something at the bed, and look at the question."""
    page.get_by_role("textbox").first.fill("The pail smells of vinegar. Feed it all the same?")
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Saved on this phone.").wait_for()
    walk(page, "station/trough")
    page.locator('main a[href*="/ask/"]').first.click()
    page.get_by_role("textbox", name="Answer").wait_for()


SCREENS: dict[str, tuple[str, Act]] = {
    "round": ("round", nothing),
    "walking": ("round", walking),
    "bed": ("station/trough", nothing),
    "bed-more": ("station/trough", press("More")),
    "bed-why": ("station/trough", press("Why?")),
    "bin": ("station/stair-bin", nothing),
    "entry": ("station/trough", lambda page: page.locator('main a[href*="/entry/"]').first.click()),
    "pond": ("station/pond", nothing),
    "hive": ("station/hive", nothing),
    "pond-day": ("pond_day/pond", nothing),
    "circle": ("circle", nothing),
    "circle-year": ("circle", press("A year")),
    "reading": ("station/trough/record/reading", nothing),
    "reading-hot": ("station/trough/record/reading", hot_bed),
    "reading-misread": ("station/trough/record/reading", misread),
    "feed": ("station/trough/record/feed", nothing),
    "feed-filled": ("station/trough/record/feed", fed),
    "feed-too-much": ("station/trough/record/feed", too_much),
    "scoops": ("station/trough/record/side_count", counted),
    "castings": ("station/trough/record/castings", nothing),
    "larvae": ("station/stair-bin/record/self_harvest", nothing),
    "signs": ("station/stair-bin/record/signs", nothing),
    "catch": ("station/pond/record/catch", nothing),
    "catch-plan": ("station/pond/record/catch_plan", nothing),
    "preserve": ("station/pond/record/preserve", nothing),
    "honey": ("station/hive/record/hive_harvest", nothing),
    "box": ("station/hive/record/hive_box", nothing),
    "weight": ("station/hive/record/hive_check", nothing),
    "bucket": ("bucket", nothing),
    "bucket-half": ("bucket", half_a_pail),
    "bucket-fish": ("bucket", with_fish),
    "day": ("day", lambda page: page.locator(".day, .rows").first.wait_for()),
    "ask": ("station/trough/record/question", asked),
    "ahead": ("ahead", nothing),
    "reminders": ("reminders", nothing),
    "put-off": ("reminders", press("Put off")),
    "hand-over": ("round", hand_over),
    "roster": ("place/roster", nothing),
    "calendar": ("place/reminders", nothing),
    "tally": ("tally", nothing),
    "tally-month": ("tally", last_month),
    "place": ("place", nothing),
    "who": ("place/who", nothing),
    "sync": ("place/sync", nothing),
    "fold": ("place/fold", nothing),
    "stations": ("place/stations", nothing),
    "station-form": ("place/stations", lambda page: page.locator("button.row").first.click()),
    "container-form": ("place/containers", lambda page: page.locator("button.main").first.click()),
    "feedstock-form": ("place/feedstocks", lambda page: page.locator("button.main").first.click()),
    "cautions": ("place/cautions", nothing),
    "about": ("place/about", nothing),
}


NAMES = (*SCREENS, "begin")


def light(page: Page, theme: str) -> None:
    """Turn the sun mode on, if that is the theme; light and dark follow the phone."""
    if theme == "sun":
        page.get_by_role("button", name="Sun", exact=True).click()
        page.wait_for_selector(":root[data-theme=sun]")


def main(wanted: list[str]) -> None:
    """Take the pictures asked for, or all of them."""
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        demo, empty = LiveServer(Path(folder) / "demo"), LiveServer(Path(folder) / "empty")
        for server in (demo, empty):
            server.data.mkdir(parents=True)
        demo.run("demo", "--no-serve")
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        try:
            demo.start()
            empty.start()
            for size in SIZES:
                for theme in THEMES:
                    if chosen(str(size["width"]), WIDTHS, wanted) and chosen(theme, THEMES, wanted):
                        take_all(browser, demo, empty, size, theme, wanted)
        finally:
            browser.close()
            for server in (demo, empty):
                server.stop()


def chosen(one: str, among: tuple[str, ...], wanted: list[str]) -> bool:
    """Tell whether one of several is asked for; all are, where none is named."""
    return one in wanted or not any(name in wanted for name in among)


def take_all(
    browser: Browser, demo: LiveServer, empty: LiveServer, size: ViewportSize, theme: str, wanted: list[str]
) -> None:
    """Take every picture of one size and theme."""
    at = f"{size['width']}-{theme}"
    spoken = [one for one in LANGUAGES if chosen(one, LANGUAGES, wanted)]
    context = phone(browser, size, theme)
    page = context.new_page()
    page.goto(demo.url)
    page.get_by_text("All sent").wait_for()
    page.wait_for_selector(".stop-due")
    light(page, theme)
    for name, (path, act) in SCREENS.items():
        if not chosen(name, NAMES, wanted):
            continue
        page.goto("about:blank")
        page.goto(f"{demo.url}/#/{path}")
        page.wait_for_selector("main:not([aria-busy]) h1")
        act(page)
        for language in spoken:
            speak(page, language)
            shoot(page, f"{name}-{at}-{language}")
        speak(page, "en")
    context.close()
    if chosen("begin", NAMES, wanted):
        context = phone(browser, size, theme)
        page = context.new_page()
        page.goto(empty.url)
        page.get_by_role("button", name="Worm bed").click()
        light(page, theme)
        for language in spoken:
            speak(page, language)
            shoot(page, f"begin-{at}-{language}")
        context.close()


def phone(browser: Browser, size: ViewportSize, theme: str) -> BrowserContext:
    """Open a phone of that size and theme, with nothing stored."""
    return browser.new_context(
        viewport=size,
        is_mobile=True,
        has_touch=True,
        device_scale_factor=2,
        locale="en-GB",
        color_scheme="dark" if theme == "dark" else "light",
    )


def shoot(page: Page, name: str) -> None:
    """Take what is in view, and the whole length of the screen as if the phone were that long."""
    page.wait_for_timeout(SETTLED_MS)
    page.screenshot(path=FOLDER / f"{name}.png")
    size = page.viewport_size
    height = page.evaluate("document.documentElement.scrollHeight")
    if size is not None and height > size["height"]:
        page.set_viewport_size({"width": size["width"], "height": height})
        page.wait_for_timeout(SETTLED_MS)
        page.screenshot(path=FOLDER / f"{name}-whole.png")
        page.set_viewport_size(size)


if __name__ == "__main__":
    main(sys.argv[1:])
