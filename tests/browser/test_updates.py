"""A newer version of the app waits until a person takes it, and never comes over something half typed."""

import shutil
from collections.abc import Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread

import pytest
from playwright.sync_api import Page, expect

from tests.browser.folds import FILES, LISTEN, rows, started
from tests.browser.places import until

BUILT = Path(__file__).parents[2] / "web" / "dist"
READY = "A newer version of the app is ready."


class Quiet(SimpleHTTPRequestHandler):
    """Serves files, remembers nothing, says nothing."""

    def log_message(self, format: str, *args: object) -> None:
        """Say nothing."""

    def end_headers(self) -> None:
        self.send_header("Cache-Control", "no-cache")
        super().end_headers()


@pytest.fixture
def site(tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """Give the address of the built app, served from a copy that can be changed; there is no service."""
    copy = tmp_path / "site"
    shutil.copytree(BUILT, copy)
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Quiet, directory=str(copy)))
    thread = Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_address[1]}", copy
    server.shutdown()
    thread.join()
    server.server_close()


def settle(page: Page, address: str) -> None:
    """Open the app, set up a bed, and wait until the service worker serves the page."""
    page.goto(address)
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    page.get_by_role("button", name="Worm bed").click()
    page.get_by_role("button", name="Set it up").click()
    expect(page.get_by_role("link", name="Worm bed")).to_be_visible()


def publish(folder: Path) -> None:
    """Put a newer version of the app in place."""
    worker = folder / "sw.js"
    worker.write_text(worker.read_text(encoding="utf-8") + "\n// newer\n", encoding="utf-8")


def look_for_it(page: Page) -> None:
    page.evaluate("() => navigator.serviceWorker.getRegistration().then(one => one.update())")


def test_a_newer_version_waits_and_is_taken_when_a_person_says_so(
    site: tuple[str, Path], phone: Page
) -> None:
    address, folder = site
    settle(phone, address)
    expect(phone.get_by_text(READY)).to_have_count(0)
    publish(folder)
    look_for_it(phone)
    expect(phone.get_by_text(READY)).to_be_visible()
    phone.evaluate("() => { window.old = true }")
    phone.get_by_role("button", name="Change over now").click()
    phone.wait_for_function("() => window.old === undefined && document.querySelector('h1') !== null")
    expect(phone.get_by_text(READY)).to_have_count(0)
    expect(phone.get_by_role("link", name="Worm bed")).to_be_visible()


def test_what_waits_to_be_sent_waits_in_the_newer_version_too(site: tuple[str, Path], phone: Page) -> None:
    address, folder = site
    settle(phone, address)
    for celsius in (19, 20):
        phone.goto(f"{address}/#/station/bed/record/reading")
        phone.get_by_role("textbox", name="Temperature", exact=True).fill(str(celsius))
        phone.get_by_role("button", name="Save", exact=True).click()
        expect(phone.get_by_text("Saved on this phone.")).to_be_visible()
    before = rows(phone)
    assert [one["temperature"]["value"] for one in before[-2:]] == [19, 20]
    publish(folder)
    look_for_it(phone)
    phone.evaluate("() => { window.old = true }")
    phone.get_by_role("button", name="Change over now").click()
    phone.wait_for_function("() => window.old === undefined && document.querySelector('h1') !== null")
    expect(phone.get_by_text(f"{len(before)} not sent yet")).to_be_visible()
    assert rows(phone) == before


def test_a_newer_version_says_nothing_while_something_is_half_typed(
    site: tuple[str, Path], phone: Page
) -> None:
    address, folder = site
    settle(phone, address)
    phone.goto(f"{address}/#/station/bed/record/reading")
    phone.get_by_role("textbox", name="Temperature", exact=True).fill("21")
    publish(folder)
    look_for_it(phone)
    until(phone, "() => navigator.serviceWorker.getRegistration().then(one => one.waiting !== null)")
    expect(phone.get_by_text(READY)).to_have_count(0)
    expect(phone.get_by_role("textbox", name="Temperature", exact=True)).to_have_value("21")
    phone.get_by_role("button", name="Save", exact=True).click()
    expect(phone.get_by_text(READY)).to_be_visible()


def test_a_newer_version_brings_its_own_fold_and_lets_the_old_one_go(
    site: tuple[str, Path], phone: Page
) -> None:
    address, folder = site
    phone.add_init_script(LISTEN)
    settle(phone, address)
    started(phone)
    (old,) = (folder / "assets" / "fold").glob("core-*.zip")
    new = old.rename(old.with_name("core-newer.zip"))
    worker = folder / "sw.js"
    worker.write_text(worker.read_text(encoding="utf-8").replace(old.name, new.name), encoding="utf-8")
    look_for_it(phone)
    expect(phone.get_by_text(READY)).to_be_visible()
    assert {old.name, new.name} <= fold_files(phone)
    phone.evaluate("() => { window.old = true }")
    phone.get_by_role("button", name="Change over now").click()
    phone.wait_for_function("() => window.old === undefined && document.querySelector('h1') !== null")
    phone.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    left = fold_files(phone)
    assert new.name in left
    assert old.name not in left
    assert len(left) == 4


def fold_files(page: Page) -> set[str]:
    """Name the files of the fold that are on the phone."""
    urls = page.evaluate("async name => (await (await caches.open(name)).keys()).map(one => one.url)", FILES)
    return {url.rsplit("/", 1)[-1] for url in urls}
