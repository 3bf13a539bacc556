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
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from playwright.sync_api import Locator, Page, sync_playwright

from tests.browser.conftest import FLAGS, SMALL_PHONE
from tests.browser.places import BED, BIN, fill, visit
from tests.browser.server import LiveServer

DECIDE_S, POINT_S, PRESS_S = 1.35, 1.1, 0.2
"""To decide, to move to a key, to press it: desk and mouse values, from memory. [s]"""


@dataclass
class Hand:
    """A thumb on the screen, and what it has done so far."""

    page: Page
    taps: int = 0
    scrolled: int = 0
    ended: float = 0.0
    started: float = field(default_factory=time.perf_counter)

    def tap(self, what: Locator) -> None:
        """Touch a thing where it lies; note if it had to be scrolled to."""
        box = what.bounding_box()
        height = SMALL_PHONE["height"]
        if box is None or box["y"] < 0 or box["y"] + box["height"] > height:
            self.scrolled += 1
        what.tap()
        self.taps += 1

    def button(self, name: str) -> None:
        """Touch the button of that name."""
        self.tap(self.page.get_by_role("button", name=name, exact=True).first)

    def record(self, kind: str) -> None:
        """Open a record from the row under the thumb."""
        self.tap(self.page.locator(f'.dock-row a[href$="/record/{kind}"]'))


def temperature_and_squeeze(hand: Hand) -> None:
    """Note the temperature, a degree up, and what the hand felt."""
    hand.record("reading")
    hand.button("20 °C")
    hand.button("Holds together")
    hand.button("Save")


def feed(hand: Hand) -> None:
    """Note a quarter of the usual caddy, which is what may still go in."""
    hand.record("feed")
    hand.tap(hand.page.locator('[data-ready="0.25"]'))


def feed_too_much(hand: Hand) -> None:
    """Note half of it, and that it is in already."""
    hand.record("feed")
    hand.tap(hand.page.locator('[data-ready="0.5"]'))
    hand.button("It is right, save")


def feed_weighed(hand: Hand) -> None:
    """Note what was weighed before, once more."""
    hand.record("feed")
    hand.tap(hand.page.locator(".ready > .pick", has_text="0.5 kg"))


def self_harvest(hand: Hand) -> None:
    """Note how many larvae climbed out, near to the last count."""
    hand.record("self_harvest")
    hand.button("65")
    hand.button("Save")


def switch(hand: Hand) -> None:
    """Move feeding to the other side."""
    hand.button("More")
    hand.button("Switch to tree side")


def all_well(hand: Hand) -> None:
    """Looked, and there is nothing to note."""
    hand.button("More")
    hand.button("Looked: all well")


def leftover(hand: Hand) -> None:
    """Note how much of the last feed lies there."""
    hand.record("leftover")
    hand.button("Some")
    hand.button("Save")


RECORDS: tuple[tuple[str, str, Callable[[Hand], None], int | None], ...] = (
    ("temperature and squeeze", BED, temperature_and_squeeze, 4),
    ("feed, a quarter caddy", BED, feed, 2),
    ("feed, more than today's", BED, feed_too_much, 3),
    ("feed, as weighed before", BED, feed_weighed, 3),
    ("self-harvest, counted", BIN, self_harvest, 3),
    ("switch sides", BED, switch, 2),
    ("looked, all well", BED, all_well, None),
    ("left over", BED, leftover, None),
)
"""What is recorded, where, how, and the most taps it may take."""


def measure(page: Page, server: LiveServer, station: str, act: Callable[[Hand], None]) -> Hand:
    """Do one record from a station's screen; give the hand that did it."""
    page.goto("about:blank")
    page.goto(f"{server.url}/#/station/{station}")
    page.locator(".dock-row").wait_for()
    before = page.evaluate("performance.timeOrigin")
    hand = Hand(page)
    act(hand)
    page.get_by_role("button", name="Undo").wait_for()
    hand.ended = time.perf_counter()
    assert before == page.evaluate("performance.timeOrigin"), "the page was loaded again meanwhile"
    return hand


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
        for name, station, act, most in RECORDS:
            hand = measure(page, server, station, act)
            over = most is not None and (hand.taps > most or hand.scrolled > 0)
            slow += [name] if over else []
            app_s = hand.ended - hand.started
            print(
                f"{name:<26}{hand.taps:>5}{'' if most is None else most:>6}{hand.scrolled:>9}"
                f"{app_s:>8.2f}{least_s(hand.taps):>20.1f}"
            )
        print("from the round, one tap more opens the station")
        browser.close()
        server.stop()
    if slow and not look:
        raise SystemExit(f"too many taps, or a scroll: {', '.join(slow)}")


if __name__ == "__main__":
    main()
