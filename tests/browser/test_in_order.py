"""Every screen is in order for those who listen, who have a keyboard alone, or who bear little motion.

Headings step down one level at a time (WCAG 2.2, technique G141), what is read first lies first (1.3.2, C27),
a screen that opens and a sheet that closes leave the focus where one goes on from (2.4.3), all that can be
pressed is reached by Tab and left again (2.1.1, 2.1.2), and what is saved is said (4.1.3).
"""

from collections.abc import Iterator
from itertools import pairwise

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import at_rest
from tests.browser.pictures import SCREENS
from tests.browser.places import walk
from tests.browser.server import LiveServer

PATHS = tuple(dict.fromkeys(path for path, _ in SCREENS.values()))

HEADINGS = """root => [...document.querySelectorAll("h1, h2, h3, h4, h5, h6")]
  .filter(one => one.checkVisibility() && one.closest("dialog") === root)
  .map(one => Number(one.tagName[1]))"""
OUT_OF_ORDER = """() => {
  const seen = [...document.querySelectorAll("main h1, main h2, main h3, main .part, main li, main summary")]
    .filter(one => one.checkVisibility() && !one.closest("dialog, svg"));
  const tops = seen.map(one => one.getBoundingClientRect().top);
  const turned = [...document.querySelectorAll("body *")].filter(one => {
    const { order, flexDirection, display } = getComputedStyle(one);
    return order !== "0" || (display.includes("flex") && flexDirection.endsWith("reverse"));
  });
  return [
    ...seen.filter((_, index) => index > 0 && tops[index] < tops[index - 1] - 1),
    ...turned,
  ].map(one => `${one.tagName} ${one.className}: ${one.textContent.slice(0, 40)}`);
}"""
"""What lies above the thing before it, or is moved about by its style alone."""
MOVING = """() => [...document.querySelectorAll("*")]
  .filter(one => {
    const { animationName, transitionDuration } = getComputedStyle(one);
    return animationName !== "none" || transitionDuration.split(", ").some(one => one !== "0s");
  })
  .map(one => `${one.tagName} ${one.className}`)"""
PRESSED = """() => {
  const all = [...document.querySelectorAll("button, a[href], input, select, summary, textarea")]
    .filter(one => one.checkVisibility() && !one.disabled);
  all.forEach((one, index) => { one.dataset.nth = index; });
  document.activeElement.blur();
  return all.length;
}"""
FOCUSED = "() => document.activeElement.dataset.nth ?? null"
LEFT = """reached => [...document.querySelectorAll("[data-nth]")]
  .filter(one => !reached.includes(one.dataset.nth) && one.isConnected)
  .map(one => `${one.tagName} ${one.className}: ${one.textContent.slice(0, 40)}`)"""
ALL_LAID_OUT = """() => {
  const all = new CSSStyleSheet();
  all.replaceSync("* { content-visibility: visible !important }");
  document.adoptedStyleSheets = [all];
}"""
"""What is out of sight has a guessed height until it comes into sight; in order is what it is then."""
ON_HEADING = "() => document.activeElement === document.querySelector('main h1')"


@pytest.fixture(scope="module")
def quiet(chromium: Browser, demo: LiveServer) -> Iterator[Page]:
    """Give the demo place on a phone with little motion, for all tests that change nothing."""
    context = at_rest(chromium, "light")
    page = context.new_page()
    page.goto(demo.url)
    page.evaluate(ALL_LAID_OUT)
    expect(page.get_by_text("All sent")).to_be_visible(timeout=30_000)
    expect(page.get_by_text("g today").first).to_be_visible(timeout=30_000)
    yield page
    context.close()


def test_headings_step_down_one_level_at_a_time(quiet: Page) -> None:
    found = {}
    for path in PATHS:
        walk(quiet, path)
        levels = quiet.evaluate(HEADINGS, None)
        steps = all(below - one <= 1 for one, below in pairwise(levels))
        if levels[:1] != [1] or levels.count(1) != 1 or not steps:
            found[path] = levels
    assert found == {}


def test_what_is_read_first_lies_first(quiet: Page) -> None:
    found = {}
    for path in PATHS:
        walk(quiet, path)
        if out := quiet.evaluate(OUT_OF_ORDER):
            found[path] = out
    assert found == {}


def test_where_little_motion_is_wished_for_nothing_moves_on_any_screen(quiet: Page) -> None:
    found = {}
    for path in PATHS:
        walk(quiet, path)
        if moving := quiet.evaluate(MOVING):
            found[path] = moving
    assert found == {}


def test_a_screen_that_opens_has_the_focus_on_its_heading_and_gives_the_page_its_name(quiet: Page) -> None:
    for path in PATHS:
        walk(quiet, "round")
        walk(quiet, path)
        quiet.wait_for_function(ON_HEADING)
        expect(quiet).to_have_title(f"{quiet.locator('main h1').inner_text()} · Fallowside")


def test_all_that_can_be_pressed_is_reached_by_the_keyboard_and_left_again(quiet: Page) -> None:
    found = {}
    for path in PATHS:
        walk(quiet, path)
        there = quiet.evaluate(PRESSED)
        reached = set()
        for _ in range(there + 3):
            quiet.keyboard.press("Tab")
            reached.add(quiet.evaluate(FOCUSED))
        if left := quiet.evaluate(LEFT, [one for one in reached if one is not None]):
            found[path] = left
    assert found == {}


@pytest.mark.parametrize(
    ("path", "name"),
    [("station/trough", "Why?"), ("station/trough", "More"), ("round", "Hand over")],
)
def test_a_sheet_takes_the_focus_and_gives_it_back_where_it_was(quiet: Page, path: str, name: str) -> None:
    walk(quiet, "ahead")
    walk(quiet, path)
    if path == "round":
        quiet.locator(".today summary").click()
    opener = quiet.get_by_role("button", name=name).first
    opener.focus()
    quiet.keyboard.press("Enter")
    sheet = quiet.locator("dialog[open]")
    expect(sheet).to_be_visible()
    assert sheet.evaluate("one => one.contains(document.activeElement)")
    assert sheet.evaluate(HEADINGS)[:1] == [2]
    quiet.keyboard.press("Escape")
    expect(sheet).to_have_count(0)
    expect(opener).to_be_focused()


def test_what_was_saved_and_taken_back_is_said_to_those_who_listen(phone: Page, demo: LiveServer) -> None:
    phone.goto(demo.url)
    expect(phone.get_by_text("g today").first).to_be_visible(timeout=30_000)
    walk(phone, "station/trough")
    said = phone.locator(".said")
    expect(said).to_have_attribute("aria-live", "polite")
    said.evaluate("one => { one.dataset.same = 'yes' }")
    phone.get_by_role("button", name="More").click()
    phone.get_by_role("button", name="Looked: all well").click()
    expect(said).to_contain_text("Saved on this phone.")
    phone.get_by_role("button", name="Undo").click()
    expect(said).to_have_text("Taken back.")
    # A region that came with its words would not be read out.
    expect(said).to_have_attribute("data-same", "yes")
