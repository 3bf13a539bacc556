"""Set an empty place up as a newcomer does, in real Chromium on a small phone's screen, and count.

    python -m benchmarks.set_up [--look]

Twice: one worm bed with no signal, answering as little as one may; and a bed, a bin, a pond and a hive with
every question asked at once answered. The app's own time is measured. A person's is estimated, not measured:
1.5 s a tap and 3 s a typed field (assumed), and the words shown read once at 238 words a minute (Brysbaert
2019, J. Mem. Lang. 109:104047, from memory). It also looks whether
every question says what its answer changes.
"""

import argparse
import shutil
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Locator, Page, sync_playwright

from tests.browser.conftest import FLAGS, SMALL_PHONE
from tests.browser.server import LiveServer

TAP_S, TYPED_S, WORDS_A_MINUTE = 1.5, 3.0, 238.0
MOST_S = 300.0
"""Five minutes."""


@dataclass
class Newcomer:
    """Somebody with the app open for the first time, and what they have done so far."""

    page: Page
    taps: int = 0
    typed: int = 0
    words: int = 0
    silent: int = 0

    def tap(self, what: Locator) -> None:
        what.tap()
        self.taps += 1

    def press(self, name: str) -> None:
        self.tap(self.page.get_by_role("button", name=name, exact=True))

    def type(self, where: Locator, text: str) -> None:
        where.fill(text)
        self.typed += 1

    def read(self) -> None:
        """Read the whole screen, and count the questions that say nothing of what they change."""
        self.words += len(self.page.locator("main").inner_text().split())
        self.silent += self.page.locator(".asked:not(:has(.changes))").count()

    def estimate_s(self) -> float:
        """Give how long somebody may take. [s]"""
        return self.taps * TAP_S + self.typed * TYPED_S + self.words / WORDS_A_MINUTE * 60.0


def least(hand: Newcomer) -> None:
    """One bed, nothing else said."""
    hand.press("Worm bed")
    hand.read()
    hand.tap(hand.page.locator(".end .main"))


def all_there_is(hand: Newcomer) -> None:
    """Each kind of station, and every question that is not folded away."""
    for name in ("Worm bed", "Larvae bin", "Fish pond", "Hive"):
        hand.press(name)
    hand.read()
    for name in ("Trough", "Grubs", "Pool", "Bees"):
        hand.type(hand.page.locator(".asked .typed input:visible").nth(hand.typed), name)
    for where in hand.page.locator(".asked .dial-value input:visible").all():
        hand.type(where, "2")
    for where in hand.page.get_by_role("button", name="Months", exact=True).all():
        hand.tap(where)
    hand.read()
    hand.type(hand.page.get_by_role("textbox", name="What is this place called?"), "Upper garden")
    hand.type(hand.page.get_by_role("textbox", name="And what are you called?"), "Ida")
    hand.tap(hand.page.locator(".end .main"))


WALKS: tuple[tuple[str, bool, Callable[[Newcomer], None]], ...] = (
    ("a bed, no signal", False, least),
    ("bed, bin, pond, hive", True, all_there_is),
)


def walked(
    page: Page, server: LiveServer, signal: bool, act: Callable[[Newcomer], None]
) -> tuple[Newcomer, float]:
    """Walk one set-up from an empty place to its round; give who walked, and the app's own time. [s]"""
    page.goto(server.url)
    page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    if not signal:
        server.stop()
        page.reload()
    hand = Newcomer(page)
    page.get_by_role("button", name="Worm bed", exact=True).wait_for()
    started = time.perf_counter()
    act(hand)
    page.locator(".path .stop").first.wait_for()
    return hand, time.perf_counter() - started


def main() -> None:
    """Run both walks, print what they took, and fail where it is more than five minutes."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--look", action="store_true", help="only show the table, never fail")
    look = parser.parse_args().look
    chromium = next(found for name in ("chromium", "google-chrome") if (found := shutil.which(name)))
    slow: list[str] = []
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium, args=FLAGS)
        print(f"{'set up':<22}{'taps':>6}{'typed':>7}{'words':>7}{'silent':>8}{'app, s':>8}{'person, s':>22}")
        for name, signal, act in WALKS:
            with tempfile.TemporaryDirectory() as folder:
                server = LiveServer(Path(folder))
                server.start()
                context = browser.new_context(
                    viewport=SMALL_PHONE, is_mobile=True, has_touch=True, locale="en-GB"
                )
                hand, app_s = walked(context.new_page(), server, signal, act)
                context.close()
                server.stop()
            person_s = hand.estimate_s()
            slow += [name] if person_s > MOST_S or hand.silent > 0 else []
            print(
                f"{name:<22}{hand.taps:>6}{hand.typed:>7}{hand.words:>7}{hand.silent:>8}{app_s:>8.1f}{person_s:>22.0f}"
            )
        browser.close()
    if slow and not look:
        raise SystemExit(f"longer than five minutes, or a question says nothing: {', '.join(slow)}")


if __name__ == "__main__":
    main()
