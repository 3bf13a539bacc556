"""The app opens with its server, and without it once it has been opened before."""

from playwright.sync_api import Page

from tests.browser.server import LiveServer

CONTROLLED = "() => navigator.serviceWorker.controller !== null"


def test_the_app_opens_again_with_its_server_dead(live_server: LiveServer, phone: Page) -> None:
    phone.goto(live_server.url)
    phone.wait_for_selector("h1")
    phone.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    phone.reload()
    phone.wait_for_function(CONTROLLED)
    live_server.kill()
    phone.reload()
    assert phone.wait_for_selector("h1")


def test_a_link_into_the_app_opens_with_its_server_dead(live_server: LiveServer, phone: Page) -> None:
    phone.goto(live_server.url)
    phone.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    phone.reload()
    phone.wait_for_function(CONTROLLED)
    live_server.kill()
    phone.goto(f"{live_server.url}/tally")
    assert phone.wait_for_selector("h1")
