"""Time one more entry on a phone that has very many, in real Chromium with no server.

    python -m benchmarks.many_on_phone [--entries 20000] [--runs 7]

The phone has the small place of the browser tests, then that many readings more, all unsent. Timed are the
opening, until today's stations are on the screen, and the press on 'Save' until the page says that it is
saved, which it says when the store has it on the disk. The fold is at work beside it, as it would be.
"""

import argparse
import shutil
import statistics
import tempfile
import time
from datetime import datetime, timedelta
from pathlib import Path

from playwright.sync_api import Page, expect, sync_playwright

from tests.browser.conftest import FLAGS, SMALL_PHONE
from tests.browser.folds import rows, write_rows
from tests.browser.places import BIN, Raw, celsius, fill, visit
from tests.browser.server import LiveServer

LONG_MS = 240_000
WATCH = """
addEventListener("click", () => { globalThis.pressed = performance.now(); globalThis.shown = 0; }, true);
new MutationObserver(() => {
  const said = document.querySelector(".said")?.textContent ?? "";
  if (said.includes("Saved on this phone")) globalThis.shown ||= performance.now();
}).observe(document, { subtree: true, childList: true, characterData: true });
"""


def readings(count: int) -> list[Raw]:
    """Give readings of the bin, a minute apart until now."""
    now = datetime.now().astimezone()
    times = [(now - timedelta(minutes=count - n)).isoformat(timespec="seconds") for n in range(count)]
    common = {"kind": "reading", "station": BIN, "by": "ana", "temperature": celsius(27.0)}
    return [{"id": f"many-{n}", "at": at, "noted_at": at, **common} for n, at in enumerate(times)]


def opened_ms(page: Page, url: str) -> float:
    """Open the app anew; give how long it took until the stations of today were there."""
    page.goto("about:blank")
    start = time.perf_counter()
    page.goto(url)
    expect(page.get_by_text("g today").first).to_be_visible(timeout=LONG_MS)
    return (time.perf_counter() - start) * 1_000


def saved_ms(page: Page, url: str, count: int) -> float:
    """Record one more; give the time from the press to the word that it is saved."""
    # A new page each time: the word of the entry before would be taken for this one's.
    page.goto("about:blank")
    page.goto(f"{url}/#/station/{BIN}/record/self_harvest")
    expect(page.locator(".said")).not_to_contain_text("Saved")
    page.get_by_role("textbox", name="How many").fill(str(count))
    page.get_by_role("button", name="Save", exact=True).click()
    page.wait_for_function("() => globalThis.shown > 0", timeout=LONG_MS)
    return float(page.evaluate("() => shown - pressed"))


def report(page: Page, url: str, runs: int) -> None:
    """Measure and print one line for as many entries as the phone has now."""
    here = len(rows(page))
    opening = opened_ms(page, url)
    saves = [saved_ms(page, url, 60 + run) for run in range(runs)]
    print(
        f"{here:6d} entries made here   opening {opening:6.0f} ms   "
        f"press to saved: median {statistics.median(saves):5.0f} ms, slowest {max(saves):5.0f} ms"
    )


def main() -> None:
    """Measure a phone with few entries and with many."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--entries", type=int, default=20_000)
    asked.add_argument("--runs", type=int, default=7)
    settings = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        server = LiveServer(Path(folder))
        server.start()
        try:
            fill(server)
            browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
            page = browser.new_page(viewport=SMALL_PHONE, is_mobile=True, has_touch=True, locale="en-GB")
            page.add_init_script(WATCH)
            visit(page, server)
            server.stop()
            report(page, server.url, settings.runs)
            write_rows(page, readings(settings.entries))
            report(page, server.url, settings.runs)
            browser.close()
        finally:
            server.stop()


if __name__ == "__main__":
    main()
