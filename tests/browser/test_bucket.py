"""Where this bucket goes, with no server: the phone answers as the server would, one press records it."""

import json

from playwright.sync_api import Page, expect

from fallowside.core.plan import Fold
from tests.browser.folds import LISTEN, planned, rows, started
from tests.browser.places import BED, BIN, dumped, fill, visit
from tests.browser.server import LiveServer


def half_a_caddy(page: Page) -> None:
    """Press what is in it and how much of the caddy it fills."""
    page.get_by_role("button", name="Vegetable scraps").first.click()
    caddy = page.locator('[data-value="caddy"]')
    if caddy.get_attribute("aria-pressed") != "true":
        caddy.click()
    page.locator('[data-value="0.5"]').click()


def test_one_press_from_the_round_and_with_no_server_a_bucket_is_answered_and_recorded(
    live_server: LiveServer, phone: Page
) -> None:
    phone.add_init_script(LISTEN)
    fill(live_server)
    entries = dumped(live_server)
    visit(phone, live_server)
    started(phone)
    planned(phone, len(entries))
    live_server.kill()

    phone.get_by_role("link", name="Where to?").click()
    half_a_caddy(phone)
    record = phone.get_by_role("button", name="Record 2 feeds")
    expect(record).to_be_enabled()
    expect(phone.locator(".goes-station")).to_have_count(2)
    expect(phone.get_by_text("wall side").first).to_be_visible()

    routed = phone.evaluate("() => told.findLast(one => one.type === 'answered').text")
    bucket = [{"feedstock": "vegetable_scraps", "amount": {"container": "caddy", "filled": 0.5}}]
    found = Fold(entries).route(bucket, json.loads(routed)["at"])
    assert json.loads(routed) == found
    assert routed == json.dumps(found, ensure_ascii=False, allow_nan=False)

    record.click()
    expect(phone.get_by_text("2 feeds recorded on this phone.")).to_be_visible()
    made = {(one["station"], one.get("side")): one["amount"] for one in rows(phone)}
    assert made == {
        (one["station"], one["side"]): one["amounts"][0]
        for one in found["shares"]
        if one["where"] == "station"
    }
    assert set(made) == {(BED, "a"), (BIN, None)}

    phone.get_by_role("button", name="Undo").click()
    expect(phone.get_by_text("Taken back.")).to_be_visible()
    assert [one["action"] for one in rows(phone)[2:]] == ["retract", "retract"]


def test_fish_alone_is_warned_of_and_nothing_of_it_is_recorded(live_server: LiveServer, phone: Page) -> None:
    fill(live_server)
    visit(phone, live_server)
    phone.goto(f"{live_server.url}/#/bucket")
    phone.get_by_text("Something else").click()
    phone.get_by_role("button", name="Fish heads").click()
    phone.locator('[data-value="0.25"]').click()
    expect(phone.get_by_text("Fish never goes in alone")).to_be_visible(timeout=60_000)
    expect(phone.locator(".goes-keep")).to_contain_text("Keep it until there is more to mix it with")
    expect(phone.get_by_role("button", name="Record", exact=True)).to_be_disabled()


def test_while_nobody_can_reckon_the_screen_says_so_and_who_may_have_how_much(
    live_server: LiveServer, phone: Page
) -> None:
    fill(live_server)
    visit(phone, live_server)
    phone.goto(f"{live_server.url}/#/place/fold")
    phone.locator('[data-value="off"]').click()
    live_server.kill()
    phone.goto(f"{live_server.url}/#/bucket")
    half_a_caddy(phone)
    expect(phone.get_by_text("shares can’t be worked out")).to_be_visible(timeout=60_000)
    expect(phone.get_by_text("Trough: up to 100 % of a day’s feed")).to_be_visible()
