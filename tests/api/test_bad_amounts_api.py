"""Amounts nobody can weigh and rejects larger than the feeds: held or asked about, in plain words."""

import json
from typing import Any

import pytest
from starlette.testclient import TestClient

from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.logs import Raw, entry, kg, setups
from tests.stores import feed, send

CAN = entry("setup", 1, what="container", item="can", set={"name": "Can"})


@pytest.fixture(autouse=True)
def log(database: Database) -> None:
    send(Intake(database), [*setups(), CAN, *map(feed, range(5))])


def sent(client: TestClient, made: Raw) -> Any:
    return client.post(
        "/api/sync", content=json.dumps({"device": "phone", "cursor": 0, "entries": [made]})
    ).json()


@pytest.mark.parametrize(
    ("fields", "code", "said"),
    [
        ({"feedstock": "seaweed", "amount": {"value": 3, "unit": "L"}}, "no_density", "weigh this once"),
        ({"amount": {"container": "can", "filled": 0.5}}, "no_measure", "set its volume or its full weight"),
        ({"amount": {"container": "tub"}}, "unknown_container", "set it up first"),
    ],
)
def test_an_amount_nobody_can_weigh_is_held_and_says_what_to_do(
    client: TestClient, fields: dict[str, Any], code: str, said: str
) -> None:
    [held] = sent(client, feed(90, **fields))["held"]
    assert (held["code"], held["field"]) == (code, "amount")
    assert said in held["why"]


def test_once_the_container_is_measured_what_was_held_for_it_is_taken(client: TestClient) -> None:
    sent(client, feed(90, amount={"container": "can", "filled": 0.5}))
    full = entry("setup", 2, what="container", item="can", set={"full_mass": kg(8.0)})
    sent(client, full)
    assert client.get("/api/held").json()["held"] == []
    assert client.get("/api/tally").json()["gross_kg"] == 9.0


def test_a_reject_larger_than_what_was_fed_is_taken_and_asked_about(client: TestClient) -> None:
    reject = entry("reject", 95, station="bed", feedstock="bread", amount=kg(9.0), to="landfill")
    assert sent(client, reject)["held"] == []
    tally = client.get("/api/tally").json()
    assert tally["net"]["value"] == -4.0
    [ask] = [one for one in tally["asks"] if one["code"] == "ask.reject_larger"]
    assert (ask["because"]["values"]["rejected_kg"], ask["because"]["values"]["fed_kg"]) == (9.0, 5.0)


def test_a_sample_that_grew_heavier_is_held(client: TestClient) -> None:
    grams = {"sample_wet": {"value": 63, "unit": "g"}, "sample_dry": {"value": 140, "unit": "g"}}
    [held] = sent(client, entry("setup", 3, what="feedstock", item="pulp", set=grams))["held"]
    assert (held["code"], held["field"]) == ("bad_sample", "set.sample_dry")
