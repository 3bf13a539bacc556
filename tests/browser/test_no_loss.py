"""What the phone shows as saved is on the server in the end, once, whatever dies meanwhile."""

import os
import random
import signal
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from playwright.sync_api import BrowserContext, Error, Page, Request, expect

from tests.browser.folds import write_rows
from tests.browser.link import BadLink
from tests.browser.places import BIN, Raw, dumped, fill, visit, without_figures
from tests.browser.server import LiveServer

RECORDINGS = 100
LONGEST_MS = 150
"""A recording is cut off at a random point within this time of the press on 'Save'."""
CUTS = 100
MOST_A_TURN = 40
LONGEST_CALL_MS = 250
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
    without_figures(page, live_server)
    running = True
    shown: set[int] = set()
    for number in range(RECORDINGS):
        if chance.random() < 0.08:
            if running:
                live_server.kill()
            else:
                live_server.start()
            running = not running
        page.goto(f"{live_server.url}/#/station/{BIN}/record/self_harvest")
        page.get_by_role("textbox", name="How many").fill(str(FIRST_COUNT + number))
        mortal_phone.told = 0
        page.get_by_role("button", name="Save", exact=True).click(no_wait_after=True)
        page.wait_for_timeout(chance.random() * LONGEST_MS)
        if mortal_phone.told:
            shown.add(FIRST_COUNT + number)
        if number % 20 == 19:
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
    assert 0 < len(shown) < RECORDINGS, "no recording was cut off, or every one: the test saw nothing"
    assert shown <= counts.keys()
    assert set(counts.values()) == {1}


def test_a_signal_lost_in_the_middle_of_a_sync_loses_and_doubles_nothing(
    live_server: LiveServer, phone: Page
) -> None:
    chance = random.Random(20261130)
    fill(live_server)
    link = BadLink(live_server.port)
    live_server.url = link.url
    visit(phone, live_server)
    without_figures(phone, live_server)
    phone.goto(f"{link.url}/#/place/sync")
    calls = Calls(phone)
    cut, made = 0, 0
    while cut < CUTS:
        link.mend()
        count = chance.randint(1, MOST_A_TURN)
        write_rows(phone, [harvest(made + n) for n in range(count)])
        made += count
        with phone.expect_request("**/api/sync"):
            phone.evaluate("() => { dispatchEvent(new Event('online')) }")
        phone.wait_for_timeout(chance.random() * LONGEST_CALL_MS)
        failed, under_way = calls.failed, calls.under_way
        link.cut()
        calls.wait(phone)
        cut += under_way and calls.failed > failed
    link.mend()
    phone.get_by_role("button", name="Send now").click()
    expect(phone.get_by_text("All sent")).to_be_visible(timeout=30_000)
    link.close()
    counts = Counter(entry["id"] for entry in dumped(live_server) if entry.get("count", 0) >= FIRST_COUNT)
    assert counts == {f"made-{n}": 1 for n in range(made)}


def harvest(number: int) -> Raw:
    """Give one of the entries that are made."""
    return {
        "id": f"made-{number}",
        "kind": "self_harvest",
        "station": BIN,
        "by": "ana",
        "at": "2026-03-01T07:30:00+01:00",
        "count": FIRST_COUNT + number,
    }


class Calls:
    """How the calls of sync of a page go."""

    def __init__(self, page: Page) -> None:
        self.begun = self.failed = self.answered = 0
        page.on("request", lambda request: self._note(request, "begun"))
        page.on("requestfailed", lambda request: self._note(request, "failed"))
        page.on("requestfinished", lambda request: self._note(request, "answered"))

    def _note(self, request: Request, what: str) -> None:
        if request.url.endswith("/api/sync"):
            setattr(self, what, getattr(self, what) + 1)

    @property
    def under_way(self) -> bool:
        """Tell whether a call has been begun and not ended."""
        return self.begun > self.failed + self.answered

    def wait(self, page: Page) -> None:
        """Wait until no call is under way."""
        while self.under_way:
            page.wait_for_timeout(5)
