"""What a place measures for itself: a container weighed full, a feedstock dried."""

import json

from playwright.sync_api import Page, expect

from tests.browser.places import dumped, fill, visit
from tests.browser.server import LiveServer


def test_a_container_weighed_three_times_holds_their_mean_and_how_often(
    live_server: LiveServer, phone: Page
) -> None:
    fill(live_server)
    visit(phone, live_server)
    phone.goto(f"{live_server.url}/#/place/containers")
    phone.get_by_role("button", name="Add a container").click()
    phone.get_by_role("textbox", name="Name").fill("Blue bucket")
    phone.get_by_text("Weigh it full, some times over").click()
    for weight in ("5", "6", "5.5"):
        phone.get_by_role("textbox", name="Weight of what is in it").fill(weight)
        phone.get_by_role("button", name="Add this weight").click()
    expect(phone.get_by_text("Weighed 3 times: 5, 6, 5.5.")).to_be_visible()
    phone.get_by_role("button", name="Save", exact=True).click()
    expect(phone.get_by_role("button", name="Save", exact=True)).to_be_hidden()
    expect(phone.get_by_text("All sent")).to_be_visible()
    assert dumped(live_server)[-1]["set"] == {
        "name": "Blue bucket",
        "full_mass": {"value": 5.5, "unit": "kg"},
        "weighed_times": 3,
    }


def test_a_dried_sample_tells_the_moisture_and_one_that_grew_heavier_is_sent_back(
    live_server: LiveServer, phone: Page
) -> None:
    """10 g in a dish of 4 g that weigh 6.3 g with it when dry held 77 %: Cornell 1996, 'Moisture content'."""
    fill(live_server)
    visit(phone, live_server)
    phone.goto(f"{live_server.url}/#/place/feedstocks")
    phone.get_by_role("button", name="Add a feedstock").click()
    phone.get_by_role("textbox", name="Name").fill("Pulp")
    phone.get_by_role("button", name="Fruit scraps").click()
    phone.get_by_text("Measure its moisture").click()
    phone.get_by_role("textbox", name="Sample, wet, in its dish").fill("14")
    phone.get_by_role("textbox", name="Empty dish").fill("4")
    phone.get_by_role("textbox", name="The same, dried").fill("16.3")
    phone.get_by_role("button", name="Save", exact=True).click()
    expect(phone.get_by_role("alert").first).to_contain_text("Weigh them again")
    phone.get_by_role("textbox", name="The same, dried").fill("6.3")
    phone.get_by_role("button", name="Save", exact=True).click()
    expect(phone.get_by_role("button", name="Save", exact=True)).to_be_hidden()
    expect(phone.get_by_text("All sent")).to_be_visible()
    assert dumped(live_server)[-1]["set"]["sample_dry"] == {"value": 6.3, "unit": "g"}
    planned = json.loads(live_server.run("plan", "--json"))["place"]["feedstocks"]
    assert [one["moisture_pct"] for one in planned if one["id"] == "pulp"] == [77.0]
