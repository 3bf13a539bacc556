"""A whole pond day on the phone: mixed fish planned, taken, weighed, let go, held apart, smoked."""

import json
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.places import celsius, fill, kg, stations, visit
from tests.browser.server import LiveServer

Raw = dict[str, Any]
POND = "pond"


def pond_log() -> Iterator[Raw]:
    """Give a pond with trout and carp in it, its water measured this morning."""
    now = datetime.now().astimezone()

    def entry(kind: str, ago_days: float, **fields: Any) -> Raw:
        at = (now - timedelta(days=ago_days)).isoformat(timespec="seconds")
        return {"id": f"{kind}-{ago_days:g}", "kind": kind, "at": at, "by": "ana", "station": POND, **fields}

    setup = entry("setup", 23, what="station", item=POND, set={"type": "pond", "name": "Pond", "order": 3})
    yield {name: value for name, value in setup.items() if name != "station"}
    yield entry("stocking", 20, species="trout", number=60, mass=kg(18.0))
    yield entry("stocking", 19, species="carp", number=30, mass=kg(15.0))
    yield entry("reading", 0.01, temperature=celsius(14.0))


@pytest.fixture
def pond(live_server: LiveServer, phone: Page) -> Page:
    """Give a phone whose place has a pond, open at the pond's day."""
    fill(live_server)
    live_server.run("load", "-", given="\n".join(json.dumps(entry) for entry in pond_log()))
    visit(phone, live_server)
    open_day(phone)
    return phone


def open_day(page: Page) -> None:
    page.goto(page.url.split("#")[0] + f"#/pond_day/{POND}")
    expect(page.get_by_role("heading", name="Pond day")).to_be_visible()


def number(page: Page, value: int) -> None:
    page.get_by_role("textbox", name="How many", exact=True).fill(str(value))


def dial(page: Page, name: str, value: str) -> None:
    page.get_by_role("textbox", name=name, exact=True).fill(value)


def save(page: Page) -> None:
    page.get_by_role("button", name="Save").click()


def plan(page: Page, species: str, many: int, cut: str) -> None:
    page.get_by_role("link", name="Plan a catch").click()
    page.get_by_role("button", name="Tomorrow").click()
    kind(page, species)
    number(page, many)
    page.get_by_role("button", name=cut, exact=True).click()
    save(page)
    expect(page.get_by_role("heading", name="Pond day")).to_be_visible()


def kind(page: Page, species: str) -> None:
    page.get_by_role("group", name="Kind of fish").get_by_role("button", name=species, exact=True).click()


def take(page: Page, species: str, many: int, fate: str, **weights: str) -> None:
    page.get_by_role("link", name="Note the catch").click()
    kind(page, species)
    number(page, many)
    page.get_by_role("button", name=fate, exact=True).click()
    if "mass" in weights:
        dial(page, "Weight, all together", weights["mass"])
    if "scraps" in weights:
        page.get_by_text("More to note").click()
        dial(page, "Scraps, weighed", weights["scraps"])
    save(page)
    expect(page.get_by_role("heading", name="Pond day")).to_be_visible()


def test_a_keeper_plans_mixed_fish_and_is_told_what_the_bin_takes_and_what_to_freeze(pond: Page) -> None:
    plan(pond, "trout", 6, "Whole, gutted")
    plan(pond, "carp", 3, "Fillets, skin off")
    tomorrow = date.today() + timedelta(days=1)
    expect(pond.get_by_role("link", name="6 trout")).to_be_visible(timeout=20_000)
    expect(pond.get_by_role("link", name="3 carp")).to_be_visible(timeout=20_000)
    day = stations(pond)[POND]["state"]["day"]
    assert day["of_day"] == tomorrow.isoformat()
    assert [one["number"] for one in day["planned"]] == [6, 3]
    shared = day["share_out"]
    assert shared["today_kg"] + shared["freeze_kg"] + shared["bury_kg"] == pytest.approx(
        shared["scraps_kg"], abs=1e-5
    )
    where = pond.locator("section", has=pond.get_by_role("heading", name="Where the scraps go"))
    for said in ("To the bin that day", "To the bed", "Freeze"):
        expect(where.get_by_text(said)).to_be_visible()


def test_a_keeper_catches_weighs_lets_two_go_holds_one_apart_and_smokes(pond: Page) -> None:
    take(pond, "trout", 4, "Killed", mass="1.2", scraps="0.15")
    take(pond, "trout", 2, "Let go")
    take(pond, "carp", 1, "Held apart")
    expect(pond.get_by_text("Taken: 4 trout")).to_be_visible(timeout=20_000)
    expect(pond.get_by_text("1 carp, held apart")).to_be_visible(timeout=20_000)
    state = stations(pond)[POND]["state"]
    trout, carp = (
        next(one for one in state["shoals"] if one["species"] == fish) for fish in ("trout", "carp")
    )
    assert (trout["killed"], trout["released_times"], trout["pond"]) == (4, 2, 56)
    assert (carp["held"], carp["pond"]) == (1, 29)
    assert state["day"]["share_out"]["scraps_kg"] == 0.15
    pond.get_by_role("link", name="Note a batch").click()
    pond.get_by_role("button", name="Smoked hot").click()
    dial(pond, "Temperature inside", "60")
    dial(pond, "Minutes at it", "30")
    save(pond)
    expect(pond.get_by_text("published limits ask for")).to_be_visible(timeout=20_000)


def test_a_plan_is_withdrawn_from_the_day_it_stands_on(pond: Page) -> None:
    plan(pond, "trout", 6, "Whole, gutted")
    pond.get_by_role("link", name="6 trout").click()
    pond.get_by_role("button", name="Take it back").click()
    open_day(pond)
    expect(pond.get_by_text("No catch is planned.")).to_be_visible(timeout=20_000)


def test_nothing_about_the_bath_opens_before_the_host_has_recorded_it(pond: Page) -> None:
    expect(pond.get_by_text("The bath with clove oil stays closed.")).to_be_visible(timeout=20_000)
    expect(pond.get_by_role("link", name="Note a bath")).to_have_count(0)
    pond.goto(pond.url.split("#")[0] + f"#/station/{POND}/record/bath")
    expect(pond.get_by_role("button", name="Save")).to_have_count(0)
    pond.goto(pond.url.split("#")[0] + f"#/station/{POND}/record/catch")
    pond.get_by_text("More to note").click()
    expect(pond.get_by_role("button", name="Blow to the head")).to_be_visible()
    expect(pond.get_by_role("button", name="Bath, then a second step")).to_have_count(0)


def test_a_bath_that_another_program_sent_is_warned_of_and_shows_no_figure(
    pond: Page, live_server: LiveServer
) -> None:
    at = datetime.now().astimezone().isoformat(timespec="seconds")
    volume = {"value": 20, "unit": "L"}
    sent = {"id": "sent-bath", "kind": "bath", "station": POND, "at": at, "volume": volume}
    live_server.run("load", "-", given=json.dumps({**sent, "stock": "neat", "then": "killed"}))
    pond.reload()
    expect(pond.get_by_text("No dose is shown.")).to_be_visible(timeout=20_000)
    expect(pond.get_by_text("mL")).to_have_count(0)
    expect(pond.get_by_text("mg/L")).to_have_count(0)


def test_a_catch_heavier_than_the_pond_is_asked_about_before_it_is_saved(pond: Page) -> None:
    pond.get_by_role("link", name="Note the catch").click()
    kind(pond, "carp")
    number(pond, 3)
    dial(pond, "Weight, all together", "39")
    expect(pond.get_by_text("the pond is thought to hold 33 kg")).to_be_visible()
