"""How the app sits under a hand: nothing moves by itself, few taps, a small first load in every language.

Layout shift is the browser's own sum of unexpected shifts (W3C Layout Instability); what moves within half a
second of a touch isn't counted by it. Web Vitals calls 0.1 good; here it is a fifth of that.
"""

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from fallowside import words
from tests.browser.conftest import SMALL_PHONE
from tests.browser.folds import LISTEN, PATIENCE_MS, started
from tests.browser.hands import RECORDS, Hand, Record
from tests.browser.pictures import SCREENS
from tests.browser.places import BED, fill, visit
from tests.browser.server import LiveServer
from tests.browser.weighing import weigh

MOST_SHIFT = 0.02
MOST_FIRST_BYTES = 120_000
CATALOGUE = re.compile(r"/assets/[a-z]{2}-[^/]*\.js$")
SETTLED_MS = 700
"""After this long nothing more comes to a screen whose log and plan are on the phone."""
LATE_MS = 1500
"""As late as a slow phone's plan: later than the half second in which a touch excuses what moves."""

SHIFTS = """
globalThis.shifts = [];
new PerformanceObserver(list => list.getEntries().forEach(one => {
  const moved = one.sources.map(({ node }) => node?.className);
  if (!one.hadRecentInput) shifts.push([one.startTime, one.value, moved]);
})).observe({ type: "layout-shift", buffered: true });
"""
MOVED = """() => {
  let [most, sum, first, last] = [0, 0, 0, 0];
  for (const [at, value] of shifts) {
    if (at - last > 1000 || at - first > 5000) [sum, first] = [0, at];
    [sum, last] = [sum + value, at];
    most = Math.max(most, sum);
  }
  return [most, JSON.stringify(shifts.filter(([, value]) => value > 0.001))];
}"""
"""The largest sum of five seconds with no pause of one between, as Web Vitals counts it; and what moved."""
SLOW_PLANS = """
globalThis.Worker = class extends Worker {
  set onmessage(hear) {
    super.onmessage = event =>
      event.data.type === "planned" ? setTimeout(() => hear(event), LATE) : hear(event);
  }
};
""".replace("LATE", str(LATE_MS))
"""Run before the page: the phone's own plans come late."""


def test_nothing_moves_on_a_first_visit_nor_on_any_screen_opened_anew(demo: LiveServer, phone: Page) -> None:
    phone.add_init_script(SHIFTS)
    phone.goto(demo.url)
    expect(phone.get_by_text("All sent")).to_be_visible(timeout=30_000)
    expect(phone.get_by_text("g today").first).to_be_visible(timeout=30_000)
    moved = {"first visit": phone.evaluate(MOVED)}
    for path in dict.fromkeys(path for path, _ in SCREENS.values()):
        phone.goto("about:blank")
        phone.goto(f"{demo.url}/#/{path}")
        phone.wait_for_selector("main:not([aria-busy]) h1")
        phone.wait_for_timeout(SETTLED_MS)
        moved[path] = phone.evaluate(MOVED)
    assert {path: one for path, one in moved.items() if one[0] > MOST_SHIFT} == {}


def test_nothing_moves_when_the_phones_own_plan_takes_the_place_of_the_one_shown(
    live_server: LiveServer, phone: Page
) -> None:
    fill(live_server)
    phone.add_init_script(LISTEN + SLOW_PLANS + SHIFTS)
    visit(phone, live_server)
    started(phone)
    phone.goto(f"{live_server.url}/#/station/{BED}")
    phone.wait_for_selector("main:not([aria-busy]) .dial, main:not([aria-busy]) .cut")
    live_server.kill()
    phone.locator('.dock-row a[href$="/record/reading"]').tap()
    phone.locator(".dial-near button").nth(1).tap()
    phone.get_by_role("button", name="Save", exact=True).tap()
    missing = phone.get_by_text("not in them yet")
    expect(missing).to_be_visible()
    expect(missing).to_be_hidden(timeout=PATIENCE_MS)
    phone.wait_for_timeout(SETTLED_MS)
    moved, by = phone.evaluate(MOVED)
    assert moved <= MOST_SHIFT, by


@pytest.mark.parametrize("record", RECORDS, ids=[one.name for one in RECORDS])
def test_the_common_records_take_few_taps_and_none_of_them_is_out_of_sight(
    live_server: LiveServer, phone: Page, record: Record
) -> None:
    fill(live_server)
    visit(phone, live_server)
    phone.goto(f"{live_server.url}/#/station/{record.station}")
    phone.locator(".dock-row").wait_for()
    hand = Hand(phone)
    record.act(hand)
    expect(phone.get_by_role("button", name="Undo")).to_be_visible()
    assert (hand.taps <= record.most, hand.scrolled) == (True, 0), f"{hand.taps} taps"


@pytest.mark.parametrize("language", words.LANGUAGES)
def test_the_first_load_is_small_in_every_language(
    live_server: LiveServer, chromium: Browser, language: str
) -> None:
    context = chromium.new_context(viewport=SMALL_PHONE, locale=language)
    sizes = weigh(context, live_server.url)
    context.close()
    catalogues = [name for name in sizes if CATALOGUE.match(name)]
    assert [name[:11] for name in catalogues] == [f"/assets/{language}-"], "one language, and the right one"
    assert sum(packed for _, packed in sizes.values()) <= MOST_FIRST_BYTES
