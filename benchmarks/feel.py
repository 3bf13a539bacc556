"""Measure what a hand feels, in real Chromium with its page slowed to a quarter: shifts and answers.

    python -m benchmarks.feel [--look]

Layout shift is the browser's own sum of unexpected shifts (the Layout Instability measure) of each screen
opened anew, with the demo's year of entries on the phone. The answer to a tap is the browser's own time from
the touch to the next frame painted after it (the Event Timing measure, in steps of 8 ms; what is answered
within 16 ms isn't told one by one). The page's thread is slowed fourfold by the browser; its worker,
where plans are made, is not: that one is measured by `benchmarks.phone`.
"""

import argparse
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from tests.browser.conftest import FLAGS, SMALL_PHONE
from tests.browser.server import LiveServer

SLOWED = 4
MOST_SHIFT, MOST_ANSWER_MS = 0.02, 100.0
LEAST_TOLD_MS = 16.0
SETTLED_MS = 1500

WATCH = """() => {
  window.shifts = 0; window.answers = {};
  new PerformanceObserver(list => list.getEntries().forEach(one => {
    if (!one.hadRecentInput) window.shifts += one.value;
  })).observe({ type: 'layout-shift', buffered: true });
  new PerformanceObserver(list => list.getEntries().forEach(one => {
    if (one.interactionId) {
      const most = window.answers[one.interactionId] ?? 0;
      window.answers[one.interactionId] = Math.max(most, one.duration);
    }
  })).observe({ type: 'event', durationThreshold: 16, buffered: true });
}"""

SCREENS = ("round", "station/trough", "station/stair-bin", "station/pond", "station/hive", "ahead", "tally")


def reading(page: Page) -> None:
    """Record a reading and take it back."""
    page.locator('.dock-row a[href$="/record/reading"]').tap()
    page.locator(".dial-near button").nth(1).tap()
    page.get_by_role("button", name="Holds together").tap()
    page.get_by_role("button", name="Save", exact=True).tap()
    page.get_by_role("button", name="Undo").tap()


def feed(page: Page) -> None:
    """Feed by one press, and take it back."""
    page.locator('.dock-row a[href$="/record/feed"]').tap()
    page.locator('[data-ready="0.5"]').tap()
    page.get_by_role("button", name="Undo").tap()


def scoops(page: Page) -> None:
    """Count a few worms."""
    page.get_by_role("button", name="More").tap()
    page.locator('.sheet a[href$="/side_count"]').tap()
    for _ in range(5):
        page.get_by_role("button", name="One more worm").tap()


def about(page: Page) -> None:
    """Go from screen to screen, and into the sun and out."""
    for name in ("Ahead", "Tally", "Place", "Round"):
        page.locator(".foot a", has_text=name).tap()
        page.locator("h1").wait_for()
    for _ in range(2):
        page.get_by_role("button", name="Sun", exact=True).tap()


TAPS: tuple[tuple[str, Callable[[Page], None]], ...] = (
    ("reading, undo", reading),
    ("feed, undo", feed),
    ("counting worms", scoops),
    ("screens, sun", about),
)


def shift(page: Page, url: str, screen: str) -> float:
    """Open a screen anew and give the sum of its shifts."""
    page.goto("about:blank")
    page.add_init_script(f"({WATCH})()")
    page.goto(f"{url}/#/{screen}")
    page.locator("h1").first.wait_for()
    page.wait_for_timeout(SETTLED_MS)
    return float(page.evaluate("window.shifts"))


def slowest_answer(page: Page, url: str, act: Callable[[Page], None]) -> float:
    """Do something from the bed's screen and give the slowest answer. [ms]"""
    page.goto("about:blank")
    page.goto(f"{url}/#/station/trough")
    page.locator(".dock-row").wait_for()
    page.wait_for_timeout(SETTLED_MS)
    page.evaluate(WATCH)
    act(page)
    page.wait_for_timeout(SETTLED_MS)
    told = page.evaluate("Object.values(window.answers)")
    return max([float(one) for one in told], default=LEAST_TOLD_MS)


def main() -> None:
    """Run the benchmark, print its two tables, and fail where a bound is passed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--look", action="store_true", help="only show the tables, never fail")
    look = parser.parse_args().look
    chromium = next(found for name in ("chromium", "google-chrome") if (found := shutil.which(name)))
    over: list[str] = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        server = LiveServer(Path(folder))
        server.data.mkdir(parents=True)
        server.run("demo", "--no-serve")
        server.start()
        browser = driver.chromium.launch(executable_path=chromium, args=FLAGS)
        context = browser.new_context(viewport=SMALL_PHONE, is_mobile=True, has_touch=True, locale="en-GB")
        page = context.new_page()
        page.goto(server.url)
        page.get_by_text("All sent").wait_for()
        page.get_by_text("kg today").first.wait_for()
        context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
        print(f"{'screen':<22}{'shift':>8}   at most {MOST_SHIFT}")
        for screen in SCREENS:
            moved = shift(page, server.url, screen)
            over += [screen] if moved > MOST_SHIFT else []
            print(f"{screen:<22}{moved:>8.4f}")
        print(f"\n{'what is tapped':<22}{'ms':>8}   slowest answer, at most {MOST_ANSWER_MS:g}")
        for name, act in TAPS:
            answer = slowest_answer(page, server.url, act)
            over += [name] if answer > MOST_ANSWER_MS else []
            print(f"{name:<22}{answer:>8.0f}")
        browser.close()
        server.stop()
    if over and not look:
        raise SystemExit(f"past a bound: {', '.join(over)}")


if __name__ == "__main__":
    main()
