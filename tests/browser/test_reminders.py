"""Reminders, roster and calendar on a real phone: with no signal, once a matter, and ended at a press."""

import json
import re
from datetime import datetime, timedelta
from urllib.error import HTTPError
from urllib.request import urlopen

import pytest
import vobject
from playwright.sync_api import Page, expect

from tests.browser.places import BIN, fill, kept, visit
from tests.browser.server import LiveServer


def neglect(server: LiveServer) -> None:
    """Set up a hive that nobody has looked at for a month."""
    at = (datetime.now().astimezone() - timedelta(days=30)).isoformat(timespec="seconds")
    hive = {"type": "hive", "name": "Hive", "order": 3, "boxes": 2}
    entry = {"id": "hive", "kind": "setup", "at": at, "what": "station", "item": "hive", "set": hive}
    server.run("load", "-", given=json.dumps(entry))


@pytest.fixture
def place(live_server: LiveServer) -> LiveServer:
    fill(live_server)
    neglect(live_server)
    return live_server


def test_a_matter_is_put_off_and_done_with_no_signal(phone: Page, place: LiveServer) -> None:
    visit(phone, place)
    phone.context.set_offline(True)
    phone.locator(".today summary").click()
    phone.get_by_role("link", name=re.compile("asks? for you now")).click()
    look = phone.locator(".reminder", has_text="Hive")
    look.get_by_role("button", name="Put off").click()
    phone.get_by_role("button", name="For a week").click()
    expect(look.get_by_text("Put off until")).to_be_visible()
    look.get_by_role("button", name="Remind again").click()
    look.get_by_role("button", name="Looked: all well").click()
    expect(phone.locator(".reminder:visible", has_text="Hive")).to_have_count(0)
    phone.context.set_offline(False)
    expect(phone.get_by_text("All sent")).to_be_visible(timeout=30_000)
    kinds = [json.loads(line)["kind"] for line in place.run("dump").splitlines()]
    assert kinds.count("snooze") == 2


def test_a_round_is_handed_over_with_what_was_seen(phone: Page, place: LiveServer) -> None:
    visit(phone, place)
    phone.context.set_offline(True)
    phone.get_by_role("button", name="Start the round").click()
    phone.locator(f'a[href="#/station/{BIN}"]').click()
    phone.locator(".next-stop").click()
    phone.locator(".foot a").first.click()
    phone.locator(".today summary").click()
    phone.get_by_role("button", name="Hand over").click()
    phone.get_by_role("button", name="Kit").click()
    expect(phone.get_by_text("On the round today: Kit.")).to_be_visible()
    ticked = phone.locator(".stop.passed")
    expect(ticked).to_have_count(1)
    expect(ticked.locator(f'a[href="#/station/{BIN}"]')).to_be_visible()
    phone.get_by_role("button", name="Start the round").click()
    expect(phone.get_by_text("1 of 3 seen")).to_be_visible()
    expect(phone.locator(".stop.next a")).not_to_have_attribute("href", f"#/station/{BIN}")
    phone.context.set_offline(False)
    expect(phone.get_by_text("All sent")).to_be_visible(timeout=30_000)
    roster = json.loads(place.run("plan", "--json"))["roster"]
    assert (roster["days"][0]["people"], roster["days"][0]["handed_over"]) == (["kit"], True)
    assert roster["seen"] == [BIN]


def test_a_calendar_is_made_followed_and_ended_from_the_phone(phone: Page, place: LiveServer) -> None:
    visit(phone, place)
    phone.goto(f"{place.url}/#/place/who")
    phone.get_by_role("button", name="Ana").click()
    phone.goto(f"{place.url}/#/place/reminders")
    phone.get_by_role("button", name="Make the address").click()
    address = str(phone.locator(".address").text_content())
    with urlopen(address) as answer:
        titles = {one.summary.value for one in vobject.readOne(answer.read().decode()).vevent_list}
    assert "Hive: Look in" in titles
    phone.get_by_text("As a code for a camera").click()
    expect(phone.locator("svg.squares")).to_be_visible()
    phone.get_by_role("button", name="End this address").click()
    expect(phone.get_by_role("button", name="Make the address")).to_be_visible()
    assert kept(phone, "calendar") is None
    with pytest.raises(HTTPError, match="404"):
        urlopen(address)


def test_somebody_chooses_their_own_hours_with_no_signal(phone: Page, place: LiveServer) -> None:
    visit(phone, place)
    phone.goto(f"{place.url}/#/place/who")
    phone.get_by_role("button", name="Kit").click()
    phone.context.set_offline(True)
    phone.evaluate("location.hash = '#/place/reminders'")
    expect(phone.get_by_text("Reminded at 8:00. Quiet from 21:00 to 7:00.")).to_be_visible()
    phone.get_by_role("button", name="Change").click()
    hour = phone.get_by_role("group", name="Reminded at, hour of the day")
    hour.get_by_role("button", name="+1", exact=True).click()
    phone.get_by_role("button", name="Save", exact=True).click()
    phone.context.set_offline(False)
    expect(phone.get_by_text("All sent")).to_be_visible(timeout=30_000)
    people = json.loads(place.run("plan", "--json"))["place"]["people"]
    assert [one["remind_hour"] for one in people if one["id"] == "kit"] == [9]
