"""What somebody looks for at a station stands where a thumb finds it, and says what it will do."""

import json
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.places import BED, BIN, dumped, fill, kg, visit
from tests.browser.server import LiveServer


@pytest.fixture
def placed(live_server: LiveServer, phone: Page) -> Page:
    """Give a phone of the small place, its figures there."""
    fill(live_server)
    visit(phone, live_server)
    return phone


def much() -> Iterator[dict[str, Any]]:
    """Give feeds far above what the bed takes."""
    now = datetime.now().astimezone()
    for day in range(20):
        at = (now - timedelta(days=day + 0.5)).isoformat(timespec="seconds")
        fed = {
            "kind": "feed",
            "station": BED,
            "side": "a",
            "feedstock": "vegetable_scraps",
            "amount": kg(20.0),
        }
        yield {"id": f"much-{day}", "at": at, "by": "ana", **fed}


def more(page: Page, server: LiveServer) -> Locator:
    """Open all that can be noted at the bed."""
    page.goto(f"{server.url}/#/station/{BED}")
    page.get_by_role("button", name="More").click()
    return page.locator("dialog[open]")


def test_a_switch_that_is_not_due_says_so_and_why_and_is_named_for_what_it_is(
    live_server: LiveServer, placed: Page
) -> None:
    sheet = more(placed, live_server)
    expect(sheet.get_by_text("Not due yet: wall side still has room.")).to_be_visible()
    expect(sheet.get_by_text("Most likely")).to_be_visible()
    expect(sheet.get_by_role("button", name="Switch anyway")).to_be_visible()
    sheet.get_by_role("link", name="Switch").click()
    bar = placed.locator(".save-bar")
    expect(bar.get_by_text("Not due yet")).to_be_visible()
    expect(bar.get_by_role("button", name="Switch anyway")).to_be_visible()
    placed.get_by_role("button", name="wall side").click()
    expect(bar.get_by_role("button", name="Save", exact=True)).to_be_visible()


def test_a_switch_that_is_due_is_two_presses_with_nothing_said_against_it(
    live_server: LiveServer, phone: Page
) -> None:
    """Twenty days of twenty kilograms fill a side, and the other one was never fed."""
    fill(live_server)
    live_server.run("load", "-", given="\n".join(json.dumps(one) for one in much()))
    visit(phone, live_server)
    sheet = more(phone, live_server)
    expect(sheet.get_by_text("Not due yet")).to_have_count(0)
    sheet.get_by_role("button", name="Switch to tree side").click()
    expect(phone.locator(".cut figcaption .fed")).to_contain_text("tree side")
    expect(phone.get_by_role("button", name="Undo")).to_be_visible()


def test_what_was_noted_lately_is_one_press_from_the_top(live_server: LiveServer, placed: Page) -> None:
    placed.goto(f"{live_server.url}/#/station/{BED}")
    expect(placed.locator("#main[aria-busy]")).to_have_count(0)
    heading = placed.get_by_role("heading", name="Noted lately")
    expect(heading).not_to_be_in_viewport()
    placed.get_by_role("button", name="Noted lately").click()
    expect(heading).to_be_in_viewport()
    expect(heading).to_be_focused()


def test_the_first_station_and_its_jobs_stand_in_the_first_screen_of_a_round(
    live_server: LiveServer, placed: Page
) -> None:
    placed.get_by_role("button", name="Start the round").click()
    expect(placed.locator(".today summary")).to_be_visible()
    words = placed.locator(".stop-words").first.bounding_box()
    base = placed.locator(".base").bounding_box()
    assert words is not None
    assert base is not None
    assert words["y"] + words["height"] <= base["y"]


def test_a_count_of_worms_is_typed_as_well_as_stepped(live_server: LiveServer, placed: Page) -> None:
    placed.goto(f"{live_server.url}/#/station/{BED}/record/side_count")
    first = placed.get_by_role("textbox", name="Worms in scoop 1")
    first.fill("37")
    placed.get_by_role("button", name="One more worm").click()
    expect(first).to_have_value("38")
    placed.get_by_role("button", name="Next scoop").click()
    placed.get_by_role("textbox", name="Worms in scoop 2").fill("41")
    placed.get_by_role("textbox", name="Size of the scoop").fill("0.25")
    placed.get_by_role("button", name="Save", exact=True).click()
    expect(placed.get_by_text("Saved on this phone.")).to_be_visible()
    expect(placed.get_by_text("All sent")).to_be_visible()
    assert dumped(live_server)[-1]["counts"] == [38, 41]


def test_a_job_opens_its_record_with_the_side_it_is_of(live_server: LiveServer, placed: Page) -> None:
    """Fresh bedding goes on the side that rests, which a feed would not begin with."""
    placed.goto(f"{live_server.url}/#/station/{BED}")
    job = placed.locator(".jobs > li", has_text="bedding")
    job.get_by_role("link", name="Note it").click()
    expect(placed.get_by_role("button", name="tree side", pressed=True)).to_be_visible()


def test_larvae_kept_for_spring_are_noted_from_their_job(live_server: LiveServer, placed: Page) -> None:
    placed.goto(f"{live_server.url}/#/station/{BIN}/record/given/hold_prepupae")
    for chosen in ("Larvae", "Kept for spring"):
        expect(placed.get_by_role("button", name=chosen, exact=True, pressed=True)).to_be_visible()
    placed.get_by_role("textbox", name="How many").fill("200")
    placed.get_by_role("button", name="Save", exact=True).click()
    expect(placed.get_by_text("Saved on this phone.")).to_be_visible()
    expect(placed.get_by_text("All sent")).to_be_visible()
    given = dumped(live_server)[-1]
    assert (given["what"], given["to"], given["count"]) == ("larvae", "kept", 200)
