"""A round recorded with no server becomes the plan the command line prints."""

import json
from math import floor, log10
from typing import Any
from urllib.parse import urlparse

from playwright.sync_api import Page, expect

from tests.browser.places import BED, BIN, KEPT, dumped, fill, kept, stations, until, visit
from tests.browser.server import LiveServer


def record(page: Page, station: str, kind: str) -> None:
    """Open a station's record from its dock or from 'more'."""
    page.locator(f'.dock-row a[href$="/record/{kind}"]').click()
    expect(page.get_by_role("button", name="Save", exact=True)).to_be_visible()


def save(page: Page) -> None:
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Saved on this phone.")).to_be_visible()


def test_a_round_without_a_server_becomes_the_plan_the_command_line_prints(
    live_server: LiveServer, phone: Page
) -> None:
    hosts: set[str] = set()
    phone.on("request", lambda request: hosts.add(urlparse(request.url).netloc))
    fill(live_server)
    visit(phone, live_server)
    before = stations(phone)
    number = len(dumped(live_server))

    live_server.kill()
    phone.reload()
    phone.get_by_role("button", name="Start the round").click()

    phone.get_by_role("link", name="Trough").click()
    record(phone, BED, "feed")
    phone.get_by_role("button", name="vegetable scraps").last.click()
    phone.get_by_role("button", name="Caddy", exact=True).click()
    phone.locator('[data-value="0.25"]').click()
    save(phone)
    record(phone, BED, "reading")
    phone.get_by_role("button", name="+5").first.click()
    phone.get_by_role("button", name="A drop or two").click()
    save(phone)
    phone.get_by_role("link", name="Next: Larvae bin").click()
    record(phone, BIN, "self_harvest")
    phone.get_by_role("textbox", name="How many").fill("90")
    save(phone)
    phone.get_by_role("link", name="Back to the round").click()
    expect(phone.get_by_text("2 of 2 seen")).to_be_visible()
    phone.get_by_role("button", name="Finish the round").click()
    expect(phone.get_by_text("Round saved on this phone.")).to_be_visible()

    expect(phone.get_by_text("4 not sent yet")).to_be_visible()
    phone.reload()
    expect(phone.get_by_text("4 not sent yet")).to_be_visible()

    phone.get_by_role("link", name="4 not sent yet").click()
    live_server.start()
    phone.get_by_role("button", name="Send now").click()
    expect(phone.get_by_text("All sent")).to_be_visible()
    sent = dumped(live_server)
    assert len(sent) == number + 4
    assert sorted(entry["kind"] for entry in sent[-4:]) == ["feed", "reading", "round", "self_harvest"]

    newest = f"count => ({KEPT})('plan').then(one => one.plan.made_from.entries === count)"
    until(phone, newest, number + 4)
    plan = kept(phone, "plan")["plan"]
    printed = json.loads(live_server.run("plan", "--json", "--at", str(plan["at"])))
    assert plan.keys() == printed.keys()
    for part in printed:
        assert plan[part] == printed[part], part
    after = stations(phone)
    assert after[BED]["ration"] != before[BED]["ration"]
    assert after[BIN]["state"] != before[BIN]["state"]
    assert plan["tally"]["net"]["value"] > 0

    phone.goto(f"{live_server.url}/#/station/{BED}")
    ration = after[BED]["ration"]
    if ration["kg"] == 0:
        expect(phone.get_by_text("Nothing more today")).to_be_visible()
    else:
        expect(phone.locator(".huge")).to_have_text(told(**ration))
    assert hosts == {urlparse(live_server.url).netloc}


def told(kg: float, low: float, high: float, **_: Any) -> str:
    """Say a mass as the phone does: to the digits of its range, in grams below a kilogram."""
    grams = 1000.0 if kg < 0.995 else 1.0
    places = -floor(log10((high - low) / 3.0 * grams))
    return f"{round(kg * grams, places):g} {'g' if grams > 1.0 else 'kg'}"


def test_a_bed_at_34_degrees_warns_with_the_server_dead(live_server: LiveServer, phone: Page) -> None:
    fill(live_server)
    visit(phone, live_server)
    live_server.kill()
    phone.goto("about:blank")
    phone.goto(f"{live_server.url}/#/station/{BED}/record/reading")
    phone.get_by_role("textbox", name="Temperature", exact=True).fill("34")
    expect(phone.locator(".save-bar .warning-danger")).to_contain_text("34")
    save(phone)
    expect(phone.locator("main .warning-danger")).to_contain_text("34")
    phone.reload()
    expect(phone.locator("main .warning-danger")).to_contain_text("34")


def test_a_reading_of_140_degrees_asks_whether_it_was_fahrenheit(
    live_server: LiveServer, phone: Page
) -> None:
    fill(live_server)
    visit(phone, live_server)
    phone.goto(f"{live_server.url}/#/station/{BED}/record/reading")
    phone.get_by_role("textbox", name="Temperature", exact=True).fill("140")
    phone.get_by_role("button", name="Save", exact=True).click()
    expect(phone.get_by_role("alert").first).to_contain_text("If that was 140 °F, it is 60 °C")
    assert len([entry for entry in dumped(live_server) if entry["kind"] == "reading"]) == 48


def test_undo_takes_back_what_was_saved_by_an_entry_of_its_own(live_server: LiveServer, phone: Page) -> None:
    fill(live_server)
    visit(phone, live_server)
    phone.goto(f"{live_server.url}/#/station/{BED}")
    phone.get_by_role("button", name="More").click()
    phone.get_by_role("button", name="Looked: all well").click()
    phone.get_by_role("button", name="Undo").click()
    expect(phone.get_by_text("Taken back.")).to_be_visible()
    expect(phone.get_by_text("All sent")).to_be_visible()
    signs, correction = dumped(live_server)[-2:]
    assert signs["signs"] == ["all_well"]
    assert (correction["action"], correction["of"]) == ("retract", signs["id"])


def test_a_press_that_bounces_saves_once(live_server: LiveServer, phone: Page) -> None:
    fill(live_server)
    visit(phone, live_server)
    phone.goto(f"{live_server.url}/#/station/{BED}")
    record(phone, BED, "feed")
    before = len(dumped(live_server))
    phone.locator('[data-ready="0.25"]').evaluate("press => { press.click(); press.click(); }")
    expect(phone.get_by_role("button", name="Undo")).to_be_visible()
    record(phone, BED, "reading")
    phone.get_by_role("button", name="A drop or two").click()
    phone.locator("form.record").evaluate("form => { form.requestSubmit(); form.requestSubmit(); }")
    expect(phone.get_by_role("button", name="Undo")).to_be_visible()
    expect(phone.get_by_text("All sent")).to_be_visible()
    assert [entry["kind"] for entry in dumped(live_server)[before:]] == ["feed", "reading"]


def test_one_press_keeps_the_number_as_it_was_read_in_the_other_scale(
    live_server: LiveServer, phone: Page
) -> None:
    fill(live_server)
    visit(phone, live_server)
    phone.goto(f"{live_server.url}/#/station/{BED}/record/reading")
    phone.get_by_role("textbox", name="Temperature", exact=True).fill("66")
    phone.get_by_role("button", name="Save", exact=True).click()
    phone.get_by_role("button", name="It was 66 °F, so 18.9 °C").click()
    save(phone)
    expect(phone.get_by_text("All sent")).to_be_visible()
    assert dumped(live_server)[-1]["temperature"] == {"value": 66, "unit": "degF"}


def test_a_quarter_of_the_usual_caddy_is_saved_by_one_press_with_what_it_usually_holds(
    live_server: LiveServer, phone: Page
) -> None:
    fill(live_server)
    visit(phone, live_server)
    phone.goto(f"{live_server.url}/#/station/{BED}")
    phone.locator('.dock-row a[href$="/record/feed"]').click()
    phone.get_by_role("button", name="a quarter Caddy 600 g").click()
    expect(phone.get_by_text("Saved on this phone.")).to_be_visible()
    expect(phone.get_by_text("All sent")).to_be_visible()
    fed = dumped(live_server)[-1]
    assert (fed["feedstock"], fed["side"]) == ("vegetable_scraps", "a")
    assert fed["amount"] == {"container": "caddy", "filled": 0.25}


def test_more_than_may_still_go_in_is_asked_about_once_and_the_bucket_shares_it_out(
    live_server: LiveServer, phone: Page
) -> None:
    fill(live_server)
    visit(phone, live_server)
    before = len(dumped(live_server))
    phone.goto(f"{live_server.url}/#/station/{BED}/record/feed")
    phone.get_by_role("button", name="half Caddy 1.2 kg more than may go in today").click()
    expect(phone.get_by_role("alert")).to_contain_text("1.2 kg is more than may still go in today")
    phone.get_by_role("link", name="Share it out instead").click()
    expect(phone.locator(".in-bucket")).to_contain_text("half Caddy")
    expect(phone.get_by_role("button", name="Record 2 feeds")).to_be_enabled()
    assert len(dumped(live_server)) == before
    phone.go_back()
    phone.get_by_role("button", name="half Caddy").click()
    phone.get_by_role("button", name="It is right, save").click()
    expect(phone.get_by_text("Saved on this phone.")).to_be_visible()
    expect(phone.get_by_text("All sent")).to_be_visible()
    assert dumped(live_server)[-1]["amount"] == {"container": "caddy", "filled": 0.5}


def test_a_reading_of_nothing_asks_for_one_value_and_blames_no_field(
    live_server: LiveServer, phone: Page
) -> None:
    fill(live_server)
    visit(phone, live_server)
    phone.goto(f"{live_server.url}/#/station/{BED}/record/reading")
    phone.get_by_role("button", name="Save", exact=True).click()
    expect(phone.get_by_role("alert")).to_have_text("Nothing is noted yet. At least one value is wanted.")
    expect(phone.locator(".field.wrong")).to_have_count(0)


def test_two_presses_switch_the_sides_and_one_more_takes_it_back(
    live_server: LiveServer, phone: Page
) -> None:
    fill(live_server)
    visit(phone, live_server)
    phone.goto(f"{live_server.url}/#/station/{BED}")
    phone.get_by_role("button", name="More").click()
    phone.get_by_role("button", name="Switch anyway").click()
    expect(phone.locator(".cut figcaption .fed")).to_contain_text("tree side")
    phone.get_by_role("button", name="Undo").click()
    expect(phone.locator(".cut figcaption .fed")).to_contain_text("wall side")
    expect(phone.get_by_text("All sent")).to_be_visible()
    switch, correction = dumped(live_server)[-2:]
    assert (switch["kind"], switch["side"]) == ("switch", "b")
    assert (correction["action"], correction["of"]) == ("retract", switch["id"])


def test_a_number_is_read_with_the_writers_own_decimal_sign(live_server: LiveServer, phone: Page) -> None:
    fill(live_server)
    visit(phone, live_server)
    phone.goto(f"{live_server.url}/#/station/{BED}/record/reading")
    phone.get_by_role("textbox", name="Temperature", exact=True).fill("18,5")
    save(phone)
    expect(phone.get_by_text("All sent")).to_be_visible()
    assert dumped(live_server)[-1]["temperature"] == {"value": 18.5, "unit": "degC"}


def test_the_sun_mode_is_one_press_away_and_stays(live_server: LiveServer, phone: Page) -> None:
    fill(live_server)
    visit(phone, live_server)
    phone.get_by_role("button", name="Sun", exact=True).click()
    expect(phone.locator(":root")).to_have_attribute("data-theme", "sun")
    live_server.kill()
    phone.reload()
    expect(phone.locator(":root")).to_have_attribute("data-theme", "sun")
    phone.get_by_role("button", name="Sun", exact=True).click()
    expect(phone.locator(":root")).to_have_attribute("data-theme", "auto")
