"""What the phone shows as saved is on the server in the end, once, whatever dies meanwhile."""

import os
import random
import signal
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from playwright.sync_api import BrowserContext, Error, Page, expect

from tests.browser.places import BIN, dumped, fill, visit
from tests.browser.server import LiveServer

RECORDINGS = 50
LONGEST_MS = 250
"""A recording is cut off at a random point within this time of the press on 'Save'."""
FIRST_COUNT = 1000
SHOWN = """new MutationObserver(() => {
  if (document.querySelector('.said')?.textContent.includes('Saved on this phone')) window.told();
}).observe(document, { subtree: true, childList: true, characterData: true });"""


class Phone:
    """A browser on a kept profile that can be ended with no warning, and notes what it says was saved."""

    def __init__(self, open_again: Callable[[], BrowserContext], profile: Path) -> None:
        self.open_again, self.profile = open_again, profile
        self.context = open_again()
        self.told = 0

    def page(self) -> Page:
        """Open a page that tells when it shows that something was saved."""
        page = self.context.new_page()
        page.expose_function("told", self._tell)
        page.add_init_script(SHOWN)
        return page

    def _tell(self) -> None:
        self.told += 1

    def kill(self) -> None:
        """End the whole browser as a flat battery would, and open it again."""
        for process in Path("/proc").glob("[0-9]*"):
            try:
                words = (process / "cmdline").read_text(errors="replace")
            except OSError:
                continue
            if f"--user-data-dir={self.profile}" in words and "--type=" not in words:
                os.kill(int(process.name), signal.SIGKILL)
        (self.profile / "SingletonLock").unlink(missing_ok=True)
        self.context = self.open_again()


def crash(page: Page) -> None:
    """End the page's process at once."""
    with suppress(Error):
        page.goto("chrome://crash", timeout=250.0)
    page.close()


def test_every_entry_shown_as_saved_is_on_the_server_once(
    live_server: LiveServer, kept_phone: Callable[[], BrowserContext], tmp_path: Path
) -> None:
    mortal_phone = Phone(kept_phone, tmp_path / "profile")
    chance = random.Random(20261125)
    fill(live_server)
    page = mortal_phone.page()
    visit(page, live_server)
    running = True
    shown: set[int] = set()
    for number in range(RECORDINGS):
        if chance.random() < 0.3:
            if running:
                live_server.kill()
            else:
                live_server.start()
            running = not running
        page.goto("about:blank")
        page.goto(f"{live_server.url}/#/station/{BIN}/record/self_harvest")
        page.get_by_role("textbox", name="How many").fill(str(FIRST_COUNT + number))
        mortal_phone.told = 0
        page.get_by_role("button", name="Save", exact=True).click(no_wait_after=True)
        page.wait_for_timeout(chance.random() * LONGEST_MS)
        if mortal_phone.told:
            shown.add(FIRST_COUNT + number)
        if number % 10 == 9:
            mortal_phone.kill()
        else:
            crash(page)
        page = mortal_phone.page()
    if not running:
        live_server.start()
    page.goto("about:blank")
    page.goto(f"{live_server.url}/#/place/sync")
    page.get_by_role("button", name="Send now").click()
    expect(page.get_by_text("All sent")).to_be_visible(timeout=30_000)

    counts = Counter(
        entry.get("count") for entry in dumped(live_server) if entry.get("count", 0) >= FIRST_COUNT
    )
    assert shown, "no recording was shown as saved: the test saw nothing"
    assert shown <= counts.keys()
    assert set(counts.values()) == {1}
