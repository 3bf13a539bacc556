"""Count the taps of the commonest records, in real Chromium on a small phone's screen.

    python -m benchmarks.taps [--look]

Counted from the station's own screen, where a person on a round stands, to the line that says it is
saved; each tap is a real touch, and none may scroll first unless it is said. Beside the count stands how
long the app itself took over all of them, from the first touch to that line. The time of a person is not
measured here. As a floor for it the keystroke-level model is shown, one decision and so many presses:
Card, Moran and Newell 1980, CACM 23:396-410, its four times from memory.
"""

import argparse
import shutil
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from tests.browser.conftest import FLAGS, SMALL_PHONE
from tests.browser.hands import RECORDS, Hand, Record
from tests.browser.places import fill, visit
from tests.browser.server import LiveServer

DECIDE_S, POINT_S, PRESS_S = 1.35, 1.1, 0.2
"""To decide, to move to a key, to press it: desk and mouse values, from memory. [s]"""


def measure(page: Page, server: LiveServer, record: Record) -> tuple[Hand, float]:
    """Do one record from a station's screen; give the hand that did it, and how long the app took. [s]"""
    page.goto("about:blank")
    page.goto(f"{server.url}/#/station/{record.station}")
    page.locator(".dock-row").wait_for()
    before = page.evaluate("performance.timeOrigin")
    hand = Hand(page)
    started = time.perf_counter()
    record.act(hand)
    undo = page.get_by_role("button", name="Undo")
    undo.wait_for()
    took_s = time.perf_counter() - started
    # What a bed was fed counts against what may go in still: the next record finds the day as this one did.
    undo.tap()
    undo.wait_for(state="hidden")
    assert before == page.evaluate("performance.timeOrigin"), "the page was loaded again meanwhile"
    return hand, took_s


def least_s(taps: int) -> float:
    """Give the least a person takes by the keystroke-level model. [s]"""
    return DECIDE_S + taps * (POINT_S + PRESS_S)


def main() -> None:
    """Run the benchmark, print its table, and fail where it takes too many taps."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--look", action="store_true", help="only show the table, never fail")
    look = parser.parse_args().look
    chromium = next(found for name in ("chromium", "google-chrome") if (found := shutil.which(name)))
    slow: list[str] = []
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as driver:
        server = LiveServer(Path(folder))
        server.start()
        fill(server)
        browser = driver.chromium.launch(executable_path=chromium, args=FLAGS)
        context = browser.new_context(viewport=SMALL_PHONE, is_mobile=True, has_touch=True, locale="en-GB")
        page = context.new_page()
        visit(page, server)
        print(f"{'record':<26}{'taps':>5}{'most':>6}{'scrolls':>9}{'app, s':>8}{'person, s at least':>20}")
        for record in RECORDS:
            hand, took_s = measure(page, server, record)
            slow += [record.name] if hand.taps > record.most or hand.scrolled > 0 else []
            print(
                f"{record.name:<26}{hand.taps:>5}{record.most:>6}{hand.scrolled:>9}"
                f"{took_s:>8.2f}{least_s(hand.taps):>20.1f}"
            )
        print("from the round, one tap more opens the station")
        browser.close()
        server.stop()
    if slow and not look:
        raise SystemExit(f"too many taps, or a scroll: {', '.join(slow)}")


if __name__ == "__main__":
    main()
