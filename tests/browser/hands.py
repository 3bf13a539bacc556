"""A thumb on the screen that counts its taps, and how it does the commonest records."""

from collections.abc import Callable
from dataclasses import dataclass

from playwright.sync_api import Locator, Page

from tests.browser.conftest import SMALL_PHONE
from tests.browser.places import BED, BIN


@dataclass
class Hand:
    """A thumb on the screen, and what it has done so far."""

    page: Page
    taps: int = 0
    scrolled: int = 0

    def tap(self, what: Locator) -> None:
        """Touch a thing where it lies; note if it had to be scrolled to."""
        what.wait_for()
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
    """Move feeding to the other side, which isn't due here: the press says so and takes no more taps."""
    hand.button("More")
    hand.tap(hand.page.get_by_role("button", name="Switch anyway"))


def all_well(hand: Hand) -> None:
    """Looked, and there is nothing to note."""
    hand.button("More")
    hand.button("Looked: all well")


def leftover(hand: Hand) -> None:
    """Note how much of the last feed lies there."""
    hand.record("leftover")
    hand.button("Some")
    hand.button("Save")


@dataclass(frozen=True)
class Record:
    """Something recorded often: where, how, and the most taps it may take."""

    name: str
    station: str
    act: Callable[[Hand], None]
    most: int


RECORDS: tuple[Record, ...] = (
    Record("temperature and squeeze", BED, temperature_and_squeeze, 4),
    Record("feed, a quarter caddy", BED, feed, 2),
    Record("feed, more than today's", BED, feed_too_much, 3),
    Record("feed, as weighed before", BED, feed_weighed, 3),
    Record("self-harvest, counted", BIN, self_harvest, 3),
    Record("switch sides", BED, switch, 2),
    Record("looked, all well", BED, all_well, 2),
    Record("left over", BED, leftover, 3),
)
