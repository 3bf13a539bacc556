"""What somebody on their first day stumbles over: each thing is found, said clearly, and can be put right."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import SMALL_PHONE
from tests.browser.places import BED, BIN, dumped, fill, visit
from tests.browser.server import LiveServer

FAR_AWAY = "Pacific/Chatham"
"""A zone no test machine is in, three quarters of an hour off the full ones."""


@pytest.fixture
def far_phone(chromium: Browser) -> Iterator[Page]:
    """Give a phone whose clock is set to another zone than the log was written in."""
    context = chromium.new_context(
        viewport=SMALL_PHONE, is_mobile=True, has_touch=True, locale="en-GB", timezone_id=FAR_AWAY
    )
    yield context.new_page()
    context.close()


def test_what_no_list_of_signs_foresaw_is_noted_in_words(live_server: LiveServer, phone: Page) -> None:
    fill(live_server)
    visit(phone, live_server)
    phone.get_by_role("link", name="Larvae bin").click()
    phone.get_by_role("button", name="More").click()
    phone.get_by_role("link", name="Signs").click()
    expect(phone.get_by_role("textbox", name="Note")).to_be_hidden()
    phone.get_by_role("button", name="Something else").click()
    phone.get_by_role("textbox", name="Note").fill("The hinge of the lid is loose")
    phone.get_by_role("button", name="Save", exact=True).click()
    expect(phone.get_by_text("Saved on this phone.")).to_be_visible()
    expect(phone.get_by_role("link", name="The hinge of the lid is loose")).to_be_visible()
    expect(phone.get_by_text("All sent")).to_be_visible()
    noted = [(one["signs"], one["note"]) for one in dumped(live_server) if one["kind"] == "signs"]
    assert noted == [(["something_else"], "The hinge of the lid is loose")]


def test_the_way_back_says_which_record_it_takes_back(live_server: LiveServer, phone: Page) -> None:
    fill(live_server)
    visit(phone, live_server)
    phone.goto(f"{live_server.url}/#/station/{BED}")
    phone.get_by_role("button", name="More").click()
    phone.get_by_role("button", name="Looked: all well").click()
    phone.get_by_role("link", name="Feed: Vegetable scraps").first.click()
    expect(phone.get_by_role("heading", name="Feed")).to_be_visible()
    expect(phone.locator(".said")).to_contain_text("Signs · Trough")


def test_an_entry_is_mended_by_the_clock_it_was_written_with(
    live_server: LiveServer, far_phone: Page
) -> None:
    fill(live_server)
    feeds = [one for one in dumped(live_server) if one["kind"] == "feed" and one["station"] == BED]
    written = max(feeds, key=lambda one: one["at"])
    visit(far_phone, live_server)
    far_phone.goto(f"{live_server.url}/#/entry/{written['id']}")
    expect(far_phone.locator("dd", has_text=written["at"][11:16])).to_be_visible()
    far_phone.get_by_role("button", name="Mend it").click()
    when = far_phone.get_by_label("When it happened")
    expect(when).to_have_value(written["at"][:16])
    when.fill(f"{written['at'][:14]}01")
    far_phone.get_by_role("textbox", name="Note").fill("one pail, not two")
    far_phone.get_by_role("button", name="Save the mended one").click()
    expect(far_phone.get_by_text("Mended.")).to_be_visible()
    expect(far_phone.get_by_text("All sent")).to_be_visible()
    (mending,) = [one["with"] for one in dumped(live_server) if one["kind"] == "correction"]
    at = f"{written['at'][:14]}01:00{written['at'][-6:]}"
    assert mending == {"at": at, "note": "one pail, not two"}


def test_a_station_passed_on_a_round_counts_as_seen_when_the_round_is_over(
    live_server: LiveServer, phone: Page
) -> None:
    fill(live_server)
    visit(phone, live_server)
    passed = phone.locator(f'a[href$="station/{BIN}"]', has_text="Seen")
    expect(passed).to_contain_text("by Ana")
    phone.get_by_role("button", name="Start the round").click()
    phone.get_by_role("link", name="Trough").click()
    phone.get_by_role("link", name="Looked; on to Larvae bin").click()
    phone.get_by_role("link", name="Looked; back to the round").click()
    phone.get_by_role("button", name="Finish the round").click()
    expect(phone.get_by_role("button", name="Start the round")).to_be_visible()
    expect(passed).not_to_contain_text("by Ana")


def test_the_round_begins_at_its_beginning_once_a_place_is_set_up(
    live_server: LiveServer, phone: Page
) -> None:
    phone.goto(live_server.url)
    for one in ("Worm bed", "Larvae bin", "Fish pond", "Hive"):
        phone.get_by_role("button", name=one).click()
    phone.get_by_role("button", name="Set them up").click()
    expect(phone.get_by_role("heading", name="Round", exact=True)).to_be_in_viewport()


def test_that_no_larvae_climbed_out_is_noted_by_one_press_more(live_server: LiveServer, phone: Page) -> None:
    fill(live_server)
    visit(phone, live_server)
    phone.get_by_role("link", name="Larvae bin").click()
    phone.locator('.dock-row a[href$="/record/self_harvest"]').click()
    phone.get_by_role("button", name="0", exact=True).click()
    phone.get_by_role("button", name="Save", exact=True).click()
    expect(phone.get_by_text("Saved on this phone.")).to_be_visible()
    expect(phone.get_by_text("All sent")).to_be_visible()
    assert [one["count"] for one in dumped(live_server) if one["kind"] == "self_harvest"][-1] == 0
