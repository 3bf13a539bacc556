"""A message to a phone: off until turned on, shown by the service worker, and it opens the list.

Chromium under test has no push service behind it. So the browser's own part of subscribing, which
calls that service, is stood in for; and the message is handed to the worker by the browser's own
development protocol.
"""

import json
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.places import fill, visit
from tests.browser.server import LiveServer
from tests.remind.browsers import OtherBrowser

ENDPOINT = "https://push.example/send/abc"
STAND_IN = """keys => {
  let made = null;
  const there = {
    endpoint: "https://push.example/send/abc",
    toJSON: () => ({ endpoint: there.endpoint, keys }),
    unsubscribe: async () => { made = null; return true; },
  };
  PushManager.prototype.getSubscription = async () => made;
  PushManager.prototype.subscribe = async (asked) => { globalThis.asked = asked; made = there; return made; };
}"""


@pytest.fixture
def sending(tmp_path: Path) -> Iterator[LiveServer]:
    """Give a server that may send messages."""
    server = LiveServer(tmp_path)
    server.environment["FALLOWSIDE_PUSH_CONTACT"] = "mailto:keeper@garden.example"
    server.start()
    fill(server)
    yield server
    server.stop()


def subscriptions(server: LiveServer) -> list[tuple[str, str]]:
    from fallowside.store import database

    opened = database.at_folder(server.data)
    with opened.read() as hand:
        found = hand.rows("SELECT person, endpoint FROM subscription")
    opened.close()
    return [(person, endpoint) for person, endpoint in found]


def test_messages_are_off_until_turned_on_and_are_turned_off_again(phone: Page, sending: LiveServer) -> None:
    phone.context.grant_permissions(["notifications"])
    visit(phone, sending)
    phone.goto(f"{sending.url}/#/place/who")
    phone.get_by_role("button", name="Ana").click()
    phone.evaluate(STAND_IN, OtherBrowser().keys())
    assert subscriptions(sending) == []
    phone.evaluate("location.hash = '#/place/reminders'")
    phone.get_by_role("button", name="Turn on").click()
    expect(phone.get_by_role("button", name="Turn off")).to_be_visible()
    assert subscriptions(sending) == [("ana", ENDPOINT)]
    assert phone.evaluate("asked.userVisibleOnly") is True
    assert len(phone.evaluate("asked.applicationServerKey")) == 87
    phone.get_by_role("button", name="Turn off").click()
    expect(phone.get_by_role("button", name="Turn on")).to_be_visible()
    assert subscriptions(sending) == []


def test_a_service_that_sends_none_says_so(phone: Page, live_server: LiveServer) -> None:
    phone.context.grant_permissions(["notifications"])
    fill(live_server)
    visit(phone, live_server)
    phone.goto(f"{live_server.url}/#/place/reminders")
    expect(phone.get_by_text("The service sends no messages.")).to_be_visible()


def test_a_message_is_shown_once_for_a_tag_with_the_screen_it_opens(phone: Page, sending: LiveServer) -> None:
    phone.context.grant_permissions(["notifications"])
    visit(phone, sending)
    protocol = phone.context.new_cdp_session(phone)
    registrations: list[str] = []
    protocol.on(
        "ServiceWorker.workerRegistrationUpdated",
        lambda event: registrations.extend(one["registrationId"] for one in event["registrations"]),
    )
    protocol.send("ServiceWorker.enable")
    phone.wait_for_function("() => navigator.serviceWorker.controller !== null")
    phone.wait_for_timeout(200)
    for body in ("Hive: Look in", "Trough: Feed"):
        content = {"title": "Test place", "body": body, "count": 1, "path": "#/reminders"}
        told = {"origin": sending.url, "registrationId": registrations[-1], "data": json.dumps(content)}
        protocol.send("ServiceWorker.deliverPushMessage", told)
    shown = """async () => (await (await navigator.serviceWorker.ready).getNotifications())
      .map((one) => [one.title, one.body, one.tag, one.data.path])"""
    deadline = time.monotonic() + 10.0
    while "Trough: Feed" not in str(phone.evaluate(shown)) and time.monotonic() < deadline:
        phone.wait_for_timeout(100)
    assert phone.evaluate(shown) == [["Test place", "Trough: Feed", "reminders", "#/reminders"]]
