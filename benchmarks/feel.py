"""Measure what a hand feels, in real Chromium: how screens shift, and how soon each kind of tap is answered.

    python -m benchmarks.feel [--part shift|work|seen ...] [--runs 7] [--look]

Layout shift is the browser's own sum of unexpected shifts (the Layout Instability measure) of each screen
opened anew, with the demo's year of entries on the phone.

A tap is measured twice, on a phone that has been in use for a moment:

- *work*: the processor time of the page's own thread from the tap until the frame that shows what was asked
  for (for a screen: its heading) has been handed over, times four, which is what slowing the page down
  fourfold does to it. It counts no waiting, so that neighbours on the machine matter little. Beside it
  stands how many bare taps that is: a press in the same page that changes one word.
- *seen*: with the page slowed down fourfold by the browser, its own time from the touch to the next frame
  painted after it (the Event Timing measure, in steps of 8 ms; what is answered within 16 ms isn't told
  one by one). True on a quiet machine only.

The worker, where plans are made, is not slowed: that one is measured by `benchmarks.phone`.
"""

import argparse
import math
import shutil
import statistics
import tempfile
from collections.abc import Sequence
from pathlib import Path

from playwright.sync_api import CDPSession, Page, sync_playwright

from benchmarks.feel_taps import BARE, TAPS, WATCH, Tap
from tests.browser.conftest import FLAGS, SMALL_PHONE
from tests.browser.server import LiveServer

SLOWED = 4
MOST_SHIFT, MOST_ANSWER_MS = 0.02, 100.0
LEAST_TOLD_MS = 16.0
SETTLED_MS = 1500
WARM_MS = 4000
"""So long after its start a page has fetched, planned and kept what it does once."""
PAUSE_MS = 300
PATIENCE_MS = 10_000

SHIFTS = """() => {
  window.shifts = 0;
  new PerformanceObserver(list => list.getEntries().forEach(one => {
    if (!one.hadRecentInput) window.shifts += one.value;
  })).observe({ type: 'layout-shift', buffered: true });
}"""

SCREENS = (
    *("round", "station/trough", "station/stair-bin", "station/pond", "station/hive"),
    *("station/trough/record/reading", "station/trough/record/feed", "bucket", "day"),
    *("ahead", "tally", "circle", "place", "place/about"),
)


def shift(page: Page, url: str, screen: str) -> float:
    """Open a screen anew and give the sum of its shifts."""
    page.goto("about:blank")
    page.add_init_script(f"({SHIFTS})()")
    page.goto(f"{url}/#/{screen}")
    page.locator("h1").first.wait_for()
    page.wait_for_timeout(SETTLED_MS)
    return float(page.evaluate("window.shifts"))


def answer(page: Page, tap: Tap) -> float | None:
    """Do one tap and wait until it is answered; give the browser's own time of it, if it tells one. [ms]"""
    tap.before(page)
    page.locator("main:not([aria-busy])").wait_for()
    page.wait_for_timeout(PAUSE_MS)
    page.evaluate("name => watchFor(name)", tap.name)
    tap.act(page)
    waited = 0
    while not page.evaluate("window.answered"):
        page.wait_for_timeout(20)
        waited += 20
        if waited > PATIENCE_MS:
            raise SystemExit(f"{tap.name} was never answered")
    page.wait_for_timeout(PAUSE_MS / 2)
    told = page.evaluate("Object.values(window.told)")
    return max((float(one) for one in told), default=LEAST_TOLD_MS) if tap.timed else None


def seen(page: Page, cdp: CDPSession, runs: int) -> dict[str, list[float]]:
    """Do each tap so often on a page slowed down; give the browser's own times. [ms]"""
    cdp.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
    found: dict[str, list[float]] = {tap.name: [] for tap in TAPS}
    for _ in range(runs):
        for tap in TAPS:
            took = answer(page, tap)
            found[tap.name] += [] if took is None else [took]
    cdp.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    return found


def work(page: Page, cdp: CDPSession, runs: int) -> dict[str, list[float]]:
    """Do each tap so often while the browser notes what its threads do; give the page's, slowed down. [ms]"""
    events: list[dict] = []  # type: ignore[type-arg]
    ended: list[object] = []
    cdp.on("Tracing.dataCollected", lambda told: events.extend(told["value"]))
    cdp.on("Tracing.tracingComplete", lambda told: ended.append(told))
    cdp.send("Tracing.start", {"categories": "blink.user_timing", "transferMode": "ReportEvents"})
    names = [tap.name for _ in range(runs) for tap in (BARE, *TAPS) if answer(page, tap) or True]
    cdp.send("Tracing.end")
    while not ended:
        page.wait_for_timeout(50)
    at = {
        mark: [one["tts"] for one in sorted(events, key=lambda one: one["ts"]) if one["name"] == mark]
        for mark in ("tap-begins", "tap-ends")
    }
    found: dict[str, list[float]] = {}
    for name, begins, ends in zip(names, at["tap-begins"], at["tap-ends"], strict=True):
        found.setdefault(name, []).append((ends - begins) / 1000.0 * SLOWED)
    return found


def _p95(values: Sequence[float]) -> float:
    return sorted(values)[math.ceil(0.95 * len(values)) - 1]


def table(of: str, found: dict[str, list[float]], bare: float | None) -> list[str]:
    """Print times of taps; give the names of those past the bound."""
    print(f"\n{of:<24}{'median':>8}{'p95':>6}{'slowest':>9}{'' if bare is None else 'bare taps':>11}")
    for name, values in found.items():
        if values:
            middle = statistics.median(values)
            ratio = "" if bare is None else f"{middle / bare:.1f}"
            print(f"{name:<24}{middle:>8.0f}{_p95(values):>6.0f}{max(values):>9.0f}{ratio:>11}")
    return [name for name, values in found.items() if values and _p95(values) > MOST_ANSWER_MS]


def in_use(page: Page, url: str) -> None:
    """Open the demo place and wait until the page has done what it does once."""
    page.goto(url)
    page.get_by_text("All sent").wait_for()
    page.get_by_text("g today").first.wait_for()
    page.wait_for_timeout(WARM_MS)
    page.evaluate(WATCH)


def main() -> None:
    """Run the benchmark, print its tables, and fail where a bound is passed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--part", action="append", choices=("shift", "work", "seen"))
    parser.add_argument("--runs", type=int, default=7)
    parser.add_argument("--look", action="store_true", help="only show the tables, never fail")
    asked = parser.parse_args()
    parts = asked.part or ["shift", "work", "seen"]
    chromium = next(found for name in ("chromium", "google-chrome") if (found := shutil.which(name)))
    over: list[str] = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        server = LiveServer(Path(folder))
        server.data.mkdir(parents=True)
        server.run("demo", "--no-serve")
        server.start()
        browser = driver.chromium.launch(executable_path=chromium, args=FLAGS)
        context = browser.new_context(
            viewport=SMALL_PHONE, is_mobile=True, has_touch=True, locale="en-GB", bypass_csp=True
        )
        page = context.new_page()
        cdp = context.new_cdp_session(page)
        in_use(page, server.url)
        if "work" in parts:
            worked = work(page, cdp, asked.runs)
            over += table("work of a tap x 4, ms", worked, statistics.median(worked[BARE.name]))
        if "seen" in parts:
            over += table("seen at 4 x, ms", seen(page, cdp, asked.runs), None)
        if "shift" in parts:
            cdp.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
            print(f"\n{'screen':<32}{'shift':>8}   at most {MOST_SHIFT}")
            for screen in SCREENS:
                moved = shift(page, server.url, screen)
                over += [screen] if moved > MOST_SHIFT else []
                print(f"{screen:<32}{moved:>8.4f}")
        browser.close()
        server.stop()
    if over and not asked.look:
        raise SystemExit(f"past a bound: {', '.join(over)}")


if __name__ == "__main__":
    main()
