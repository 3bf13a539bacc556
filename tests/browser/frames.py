"""How a press goes on where Chromium draws a page no more.

Playwright presses a control once it has stood in one place for two frames. Once, a press waited half a minute
for them, on a page that was there and whose scripts answered; it could not be made to happen again. So a
press that ends this way asks whether timers run and frames don't come. Such a page, and no other, is made to
draw and pressed once more, and that is printed. Whatever else keeps a press waiting is a fault of the page (a
script that doesn't end, a control that moves or lies under another), and stays one.
"""

import sys
from typing import Any

from playwright.sync_api import Locator, Page, TimeoutError

PATIENCE_MS = 15_000
ANY_FRAME = """() => new Promise(done => {
  let frames = 0, turns = 0;
  requestAnimationFrame(() => { frames += 1; });
  const turn = () => {
    turns += 1;
    if (turns < 40) setTimeout(turn, 50);
    else done(frames > 0 ? "drawn" : "undrawn");
  };
  turn();
})"""
"""Two seconds in which the page's timers run: was there a frame among them?"""

_click = Locator.click


def stands_still(page: Page) -> bool:
    """Tell whether a page runs and isn't drawn."""
    try:
        said = page.wait_for_function(ANY_FRAME, timeout=PATIENCE_MS, polling=100)
    except TimeoutError:
        return False
    return bool(said.json_value() == "undrawn")


def click(self: Locator, **words: Any) -> None:
    """Press, and once more if the page got no frames to be pressed in."""
    try:
        _click(self, **words)
    except TimeoutError:
        if not stands_still(self.page):
            raise
        self.page.screenshot()
        still = "still not" if stands_still(self.page) else "again"
        print(f"no frames at {self.page.url}; after a picture it is {still} drawn", file=sys.stderr)
        _click(self, **words)


def watch_presses() -> None:
    """Let every press of a test go on so."""
    Locator.click = click  # type: ignore[method-assign]
