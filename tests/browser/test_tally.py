"""The tally on the phone: a month by itself with no server, what may be a slip, the months as a file."""

import json
from datetime import datetime

from playwright.sync_api import Page, expect

from fallowside.core.plan import Fold
from tests.browser.folds import LISTEN, planned, started
from tests.browser.places import BED, dumped, fill, kg, visit
from tests.browser.server import LiveServer


def test_a_month_is_added_up_with_no_server_as_the_core_does_and_saved_as_a_file(
    live_server: LiveServer, phone: Page
) -> None:
    phone.add_init_script(LISTEN)
    fill(live_server)
    entries = dumped(live_server)
    visit(phone, live_server)
    started(phone)
    planned(phone, len(entries))
    live_server.kill()

    phone.get_by_role("link", name="Tally").click()
    month = datetime.now().astimezone().strftime("%Y-%m")
    phone.get_by_label("Period").select_option(month)
    expect(phone.get_by_text("Adding up")).to_be_hidden()
    expect(phone.get_by_role("heading", name="In, out, and there now")).to_be_visible(timeout=60_000)
    text = phone.evaluate("() => told.findLast(one => one.type === 'answered').text")
    found = json.loads(text)
    at = json.loads(phone.evaluate("() => told.findLast(one => one.type === 'planned').text"))["at"]
    assert found == Fold(entries).tally(found["since"], found["until"], at)
    assert (found["since"], found["until"]) == (f"{month}-01", at[:10])

    with phone.expect_download() as saved:
        phone.get_by_role("button", name="Months as CSV").click()
    lines = saved.value.path().read_text(encoding="utf-8").splitlines()
    assert [line.split(",")[0] for line in lines] == ["month", month]


def test_a_reject_larger_than_the_feeds_is_asked_about_before_it_is_saved_and_in_the_tally(
    live_server: LiveServer, phone: Page
) -> None:
    fill(live_server)
    visit(phone, live_server)
    phone.goto(f"{live_server.url}/#/station/{BED}/record/reject")
    phone.get_by_role("button", name="Vegetable scraps").first.click()
    phone.locator('[data-value=""]').click()
    phone.get_by_role("textbox", name="How much").fill("30")
    phone.get_by_role("button", name="Landfill").click()
    phone.get_by_role("button", name="Save", exact=True).click()
    expect(phone.get_by_role("alert").first).to_contain_text("With this, 30 kg went from here to landfill")
    phone.get_by_role("button", name="It is right, save").click()
    expect(phone.get_by_text("Saved on this phone.")).to_be_visible()
    expect(phone.get_by_text("All sent")).to_be_visible()
    assert dumped(live_server)[-1]["amount"] == kg(30)
    phone.goto(f"{live_server.url}/#/tally")
    expect(phone.get_by_text("more than the 12 kg that were fed to it")).to_be_visible(timeout=60_000)
