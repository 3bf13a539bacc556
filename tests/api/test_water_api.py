"""Pond and hive over HTTP: what is kept, what is held, and in which words."""

from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.api.test_sync_api import sync
from tests.logs import AT, Raw, entry, kg, setups
from tests.logs_of_water import opened, set_up

NOW = 106 * 24 * 60
AT_IN_URL = AT.replace("+", "%2B")


def bath(**fields: Any) -> Raw:
    volume = {"value": 20, "unit": "L"}
    made = entry("bath", NOW, station="pond", stock="one_in_ten", then="killed")
    return {**made, "volume": volume, **fields, "id": "bath"}


def station(client: TestClient, name: str) -> Any:
    made = client.get(f"/api/plan?at={AT_IN_URL}").json()
    return next(one for one in made["stations"] if one["id"] == name)


def warned(one: Any) -> dict[str, Any]:
    return {found["code"]: found["because"] for found in one["warnings"]}


def test_a_bath_noted_before_it_may_be_is_kept_warned_of_and_opens_nothing(client: TestClient) -> None:
    found = sync(client, [*setups(), bath()])
    assert found["held"] == []
    assert "bath" in found["accepted"]
    pond = station(client, "pond")
    assert pond["state"]["day"]["bath"]["open"] is False
    assert pond["state"]["day"]["bath"]["recipe"] is None
    assert {"bath_closed", "bath_waste"} <= warned(pond).keys()


def test_once_the_host_has_recorded_it_the_same_bath_opens(client: TestClient) -> None:
    sync(client, [*setups(), bath()])
    sync(client, [opened()])
    found = station(client, "pond")["state"]["day"]["bath"]
    assert found["open"] is True
    assert found["recipe"]["figures"]["measure_ml"] == pytest.approx(7.619, abs=1e-3)


@pytest.mark.parametrize(
    ("bad", "code", "field", "said"),
    [
        (bath(volume=None), "missing", "volume", "there is no dose without water"),
        (bath(volume={"value": 20, "unit": "kg"}), "bad_unit", "volume.unit", "is measured in L"),
        (bath(then="released"), "never", "then", "never goes into this bath"),
    ],
)
def test_a_bath_that_cannot_be_is_held_in_words(
    client: TestClient, bad: Raw, code: str, field: str, said: str
) -> None:
    sync(client, setups())
    (held,) = sync(client, [bad])["held"]
    assert (held["code"], held["field"]) == (code, field)
    assert said in held["why"]


def test_a_concentration_in_millilitres_is_asked_back(client: TestClient) -> None:
    wrong = opened()
    wrong["set"]["bath_concentration"] = {"value": 40, "unit": "mL"}
    (held,) = sync(client, [*setups(), wrong])["held"]
    assert (held["code"], held["field"]) == ("bad_unit", "set.bath_concentration")
    assert "mg is a weight of the drug in each litre of water, mL a volume" in held["why"]


def test_a_catch_heavier_than_the_stock_is_kept_and_asked_about(client: TestClient) -> None:
    catch = entry("catch", NOW, station="pond", species="perch", number=3, fate="killed", mass=kg(9.0))
    assert sync(client, [*setups(), set_up(fish_stock=kg(5.0)), catch])["held"] == []
    told = warned(station(client, "pond"))["more_than_stock"]
    assert (told["values"]["mass"], told["values"]["limit"]) == (9.0, 5.0)


def test_sixty_kilograms_of_honey_pass_and_six_hundred_are_held(client: TestClient) -> None:
    """A fact of the trade, common practice, no source."""
    sixty, slip = (
        {**entry("hive_harvest", NOW, station="hive", amount=kg(value)), "id": f"h{value:g}"}
        for value in (60.0, 600.0)
    )
    found = sync(client, [*setups(), sixty, slip])
    assert [one["id"] for one in found["held"]] == ["h600"]
    assert found["held"][0]["why"] == "`amount` is 600 kg; it is believed from 0 to 500 kg"
    assert station(client, "hive")["warnings"] == []
