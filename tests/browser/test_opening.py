"""The app opens with its server, and without it once it has been opened before."""

from playwright.sync_api import Browser, Page, expect

from tests.browser.places import fill
from tests.browser.server import LiveServer

HAS_SCREENS = """() => {
  const there = performance.getEntriesByType("resource").map(({ name }) => name);
  return there.some(name => name.includes("/assets/ask-"));
}"""
"""They come one after another; this is the last."""
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


def test_where_nothing_is_kept_a_page_that_came_to_rest_has_all_its_screens(
    live_server: LiveServer, chromium: Browser
) -> None:
    fill(live_server)
    context = chromium.new_context(service_workers="block")
    page = context.new_page()
    page.goto(live_server.url)
    page.wait_for_function(HAS_SCREENS)
    live_server.kill()
    for screen in ("tally", "ahead", "place", "day", "bucket", "circle"):
        page.goto(f"{live_server.url}/#/{screen}")
        expect(page.locator("main:not([aria-busy]) h1")).to_be_visible()
    context.close()


def test_a_first_visit_asks_once_for_the_plan_and_shows_it_with_the_whole_log(
    live_server: LiveServer, phone: Page
) -> None:
    fill(live_server)
    asked: list[str] = []
    phone.on("request", lambda request: asked.append(request.url))
    phone.goto(live_server.url)
    expect(phone.get_by_text("All sent")).to_be_visible()
    expect(phone.get_by_text("g today").first).to_be_visible()
    assert asked.count(f"{live_server.url}/api/plan") == 1
