"""What stumbled somebody who walked through the whole app on a first day, as host and as helper."""

import json
from datetime import datetime, timedelta
from typing import Any
from urllib.request import Request, urlopen

from playwright.sync_api import Page, expect

from tests.browser.places import BED, BIN, dumped, fill, visit, walk
from tests.browser.server import LiveServer

BACK_AND_ON = """() => {
  document.querySelector('.save-bar .aside').click();
  document.querySelector('a.sync').click();
}"""
SPILT = """() => [...document.querySelectorAll(".dial button, .choice .pick")]
  .filter(one => one.checkVisibility() && one.scrollWidth > one.clientWidth)
  .map(one => one.textContent)"""


def test_a_link_pressed_while_the_way_back_is_gone_is_not_undone(
    live_server: LiveServer, phone: Page
) -> None:
    fill(live_server)
    visit(phone, live_server)
    walk(phone, f"station/{BED}")
    phone.locator('.dock-row a[href$="/record/reading"]').click()
    expect(phone.locator(".save-bar")).to_be_visible()
    phone.evaluate(BACK_AND_ON)
    expect(phone.get_by_role("heading", name="Sending")).to_be_visible()
    phone.go_back()
    expect(phone.get_by_role("heading", name="Trough")).to_be_visible()


def test_a_new_place_shows_no_empty_chart_no_sum_of_nothing_and_no_look_that_was_never_due(
    live_server: LiveServer, phone: Page
) -> None:
    phone.goto(live_server.url)
    for kind in ("Worm bed", "Larvae bin"):
        phone.get_by_role("button", name=kind).click()
        section = phone.locator(".part", has=phone.get_by_role("heading", name=kind, exact=True))
        section.get_by_role("button", name="Months").click()
    phone.get_by_role("button", name="Set them up").click()
    expect(phone.get_by_text("All sent")).to_be_visible()
    expect(phone.locator(".stop-due").first).to_be_visible()
    expect(phone.locator(".stop-due", has_text="late")).to_have_count(0)
    walk(phone, "station/bin")
    expect(phone.get_by_role("heading", name="As it stands")).to_be_visible()
    expect(phone.get_by_role("heading", name="Over time")).to_be_visible()
    expect(phone.get_by_text("Larvae climbing out, in larvae")).to_have_count(0)
    walk(phone, "tally")
    expect(phone.locator(".huge")).to_be_visible()
    expect(phone.get_by_text("(0 to 0)")).to_have_count(0)
    walk(phone, "bucket")
    expect(phone.get_by_role("button", name="Vegetable scraps")).to_be_visible()
    expect(phone.get_by_text("All that some station here takes")).to_be_hidden()


def test_what_a_probe_sent_leads_the_host_to_it_and_says_of_which_station_it_is(
    live_server: LiveServer, phone: Page
) -> None:
    fill(live_server)
    visit(phone, live_server)
    token = live_server.run("probe", BED).split()[0]
    hot = {"side": "b", "temperature": {"value": 46, "unit": "degC"}}
    call = Request(
        f"{live_server.url}/api/probe",
        data=json.dumps({"readings": [hot]}).encode(),
        headers={"Authorization": f"Bearer {token}", "Content-Type": "application/json"},
    )
    with urlopen(call) as answer:
        assert json.load(answer)["held"][0]["code"] == "unusual"
    walk(phone, "place")
    phone.get_by_role("link", name="1 entry waits for a host").click()
    expect(phone.locator(".held li").first).to_contain_text("46 °C")
    expect(phone.locator(".held li").first).to_contain_text("Trough")
    phone.get_by_role("link", name="Somebody new?").click()
    expect(phone.get_by_role("heading", name="People")).to_be_visible()


def test_what_is_dated_ahead_is_not_said_to_be_seen_and_says_from_when_it_counts(
    live_server: LiveServer, phone: Page
) -> None:
    fill(live_server)
    soon = (datetime.now().astimezone() + timedelta(minutes=8)).isoformat(timespec="seconds")
    ahead: dict[str, Any] = {"id": "soon", "kind": "signs", "station": BIN, "at": soon, "by": "kit"}
    live_server.run("load", "-", given=json.dumps({**ahead, "signs": ["all_well"]}))
    visit(phone, live_server)
    walk(phone, f"station/{BIN}")
    expect(phone.locator(".seen")).to_contain_text("by Ana")
    walk(phone, "entry/soon")
    expect(phone.get_by_text("Its time lies ahead")).to_be_visible()


def test_when_all_is_sent_that_is_said_once(live_server: LiveServer, phone: Page) -> None:
    fill(live_server)
    visit(phone, live_server)
    walk(phone, "place/sync")
    expect(phone.get_by_text("Everything is sent.")).to_be_visible()
    expect(phone.get_by_role("heading", level=2)).to_have_count(0)
    assert dumped(live_server)


def test_no_number_or_word_leaves_its_button_however_long_or_heavy(demo: LiveServer, phone: Page) -> None:
    phone.goto(demo.url)
    expect(phone.get_by_text("All sent")).to_be_visible()
    phone.get_by_role("button", name="Sun", exact=True).click()
    spilt: dict[str, list[str]] = {}
    for path in ("trough/record/feed", "trough/record/side_count", "pond/record/catch"):
        walk(phone, f"station/{path}")
        spilt[path] = phone.evaluate(SPILT)
    walk(phone, "place/stations")
    phone.get_by_role("button", name="Irrigation pond").click()
    expect(phone.get_by_role("button", name="+5,000")).to_be_visible()
    spilt["pond"] = phone.evaluate(SPILT)
    assert {path: found for path, found in spilt.items() if found} == {}
