"""The circle: it closes, its arrows name their entries, and nothing moves twice."""

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from fallowside.core.plan import plan
from tests.ledgers import ledgers
from tests.logs import AT, Raw, entry, kg, setups
from tests.logs_of_water import HIVE, POND, waters

NOW = 106 * 24 * 60
MEASURES = ("wet_kg", "dry_kg", "nitrogen_kg")
OUTSIDE = ("brought", "elsewhere", "air", "garden", "table")


def circles(log: list[Raw]) -> list[Any]:
    return list(plan(log, AT)["circles"])


def arrows(log: list[Raw]) -> dict[tuple[str, str], Any]:
    return {(one["source"], one["target"]): one for one in circles(log)[1]["arrows"]}


def closes(one: Any) -> None:
    """Check it from the arrows alone: stored before and in are out and stored after, for each place."""
    moved = max([1.0, *(abs(arrow["wet_kg"]) for arrow in one["arrows"])])
    assert one["open_kg"] <= 1e-9 * moved
    for node in one["nodes"]:
        if node["node"] in OUTSIDE:
            continue
        for measure in MEASURES:
            gap = (node["before"] or {}).get(measure, 0.0) - (node["after"] or {}).get(measure, 0.0)
            for arrow in one["arrows"]:
                gap += arrow[measure] if arrow["target"] == node["node"] else 0.0
                gap -= arrow[measure] if arrow["source"] == node["node"] else 0.0
            assert abs(gap) <= 1e-9 * moved, (node["node"], measure)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(ledgers())
def test_the_circle_closes_whatever_moved(log: list[Raw]) -> None:
    for one in circles(log):
        closes(one)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(waters("pond", POND))
def test_the_circle_of_a_pond_closes_too(log: list[Raw]) -> None:
    for one in circles(log):
        closes(one)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(waters("hive", HIVE))
def test_the_circle_of_a_hive_closes_too(log: list[Raw]) -> None:
    for one in circles(log):
        closes(one)


def weighed(day: float, kilograms: float) -> Raw:
    return {
        **entry("hive_check", NOW - day * 24 * 60, station="hive", weight=kg(kilograms)),
        "id": f"weighed-{day:g}",
    }


def own_wood() -> Raw:
    """Two boxes of 4 kg, floor and roof of 7 kg; bees are taken to weigh 2 kg (common practice)."""
    own = {"box_mass": kg(4.0), "bare_mass": kg(7.0)}
    return {**entry("setup", 2, what="station", item="hive", set=own), "id": "own"}


def test_what_a_hive_stores_is_in_the_circle_and_closes_with_what_bees_brought_and_ate() -> None:
    """By hand: 37 kg are 20 kg of stores; 45 kg after 6 kg of honey were taken: bees brought 14 kg; at 42 kg
    they have eaten 3 kg."""
    honey = {**entry("hive_harvest", NOW - 9 * 24 * 60, station="hive", amount=kg(6.0)), "id": "honey"}
    log = [*setups(), own_wood(), weighed(60, 37.0), honey, weighed(5, 45.0), weighed(1, 42.0)]
    month, _ = circles(log)
    found = arrows(log)
    hive = next(one for one in month["nodes"] if one["node"] == "hive")
    assert (hive["before"]["wet_kg"], hive["after"]["wet_kg"]) == (pytest.approx(20.0), pytest.approx(25.0))
    moved = {(one["source"], one["target"]): one for one in month["arrows"]}
    assert moved["hive", "table"]["wet_kg"] == 6.0
    assert moved["brought", "hive"]["wet_kg"] == pytest.approx(14.0)
    assert moved["hive", "air"]["wet_kg"] == pytest.approx(3.0)
    assert found["hive", "air"]["because"]["entries"] == ["weighed-1"]
    closes(month)


def test_honey_taken_before_a_hive_was_ever_weighed_was_there_all_the_time() -> None:
    honey = {**entry("hive_harvest", NOW - 9 * 24 * 60, station="hive", amount=kg(6.0)), "id": "honey"}
    month, _ = circles([*setups(), own_wood(), honey, weighed(5, 37.0)])
    hive = next(one for one in month["nodes"] if one["node"] == "hive")
    assert (hive["before"]["wet_kg"], hive["after"]["wet_kg"]) == (26.0, 20.0)
    assert ("brought", "hive") not in {(one["source"], one["target"]) for one in month["arrows"]}


def test_a_hive_nobody_weighed_stores_nothing_anybody_knows_of() -> None:
    honey = entry("hive_harvest", NOW, station="hive", amount=kg(6.0))
    month, _ = circles([*setups(), honey])
    hive = next(one for one in month["nodes"] if one["node"] == "hive")
    assert (hive["before"], hive["after"]) == (None, None)
    closes(month)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(ledgers())
def test_every_arrow_between_places_opens_into_its_entries(log: list[Raw]) -> None:
    """Loss to air and water that nobody poured are reckoned day by day: they have no entry of their own."""
    known = {raw["id"] for raw in log}
    for one in circles(log):
        for arrow in one["arrows"]:
            assert set(arrow["because"]["entries"]) <= known
            if arrow["target"] != "air" and arrow["wet_kg"] > 1e-9 and arrow["source"] != "brought":
                assert arrow["because"]["entries"], (arrow["source"], arrow["target"])


def test_fish_go_to_the_kitchen_and_what_was_not_scraps_to_the_table() -> None:
    log = [
        *setups(),
        entry("catch", NOW - 9, station="pond", species="trout", number=4, mass=kg(2.0), fate="killed"),
        entry("feed", NOW, station="bin", feedstock="fish_scraps", amount=kg(0.5)),
    ]
    found = arrows(log)
    assert found["pond", "kitchen"]["wet_kg"] == 2.0
    assert found["kitchen", "bin"]["wet_kg"] == 0.5
    assert found["kitchen", "table"]["wet_kg"] == pytest.approx(1.5)
    assert found["kitchen", "table"]["protein_kg"] == pytest.approx(1.5 * 0.24 * 0.106 * 6.25)


def test_an_arrow_opens_into_the_entries_behind_it() -> None:
    log = [
        *setups(),
        {**entry("feed", NOW - 9, station="bin", feedstock="bread", amount=kg(0.5)), "id": "bread"},
        {**entry("feed", NOW - 8, station="bin", feedstock="fish_scraps", amount=kg(0.5)), "id": "fish"},
        {**entry("hive_harvest", NOW, station="hive", amount=kg(9.0)), "id": "honey"},
    ]
    found = arrows(log)
    assert found["kitchen", "bin"]["because"]["entries"] == ["bread", "fish"]
    assert found["hive", "table"]["because"]["entries"] == ["honey"]
    assert found["hive", "table"]["wet_kg"] == 9.0


def test_larvae_carry_protein_by_their_own_factor_and_castings_none() -> None:
    """Janssen RH et al. 2017, J Agric Food Chem 65:2275-2278: nitrogen times 4.76 for whole larvae."""
    log = [
        *setups(),
        entry("self_harvest", NOW - 9, station="bin", amount=kg(1.0)),
        entry("given", NOW - 8, station="bin", what="larvae", amount=kg(1.0), to="pond"),
        entry("castings", NOW, station="bed", side="a", amount=kg(3.0), method="after_migration"),
    ]
    found = arrows(log)
    larvae = found["hand", "pond"]
    assert larvae["protein_kg"] == pytest.approx(4.76 * larvae["nitrogen_kg"])
    assert found["bed", "hand"]["protein_kg"] == 0.0


def test_water_of_the_pond_reaches_the_garden_and_came_with_the_rain() -> None:
    litres = {"value": 40, "unit": "L"}
    given_ = {"what": "pond_water", "to": "garden", "amount": litres}
    log = [*setups(), {**entry("given", NOW, station="pond"), **given_}]
    found = arrows(log)
    assert found["pond", "garden"]["wet_kg"] == 40.0
    assert found["brought", "pond"]["wet_kg"] == pytest.approx(40.0)


def test_castings_reach_the_garden_from_the_bed_by_hand() -> None:
    log = [
        *setups(),
        entry("feed", 10, station="bed", side="a", feedstock="vegetable_scraps", amount=kg(9.0)),
        entry("castings", NOW - 9, station="bed", side="a", amount=kg(3.0), method="after_migration"),
        {**entry("given", NOW, station="bed"), "what": "castings", "to": "garden", "amount": kg(2.0)},
    ]
    found = arrows(log)
    assert found["bed", "hand"]["wet_kg"] == 3.0
    assert found["hand", "garden"]["wet_kg"] == 2.0


def test_a_month_holds_no_more_than_thirty_days() -> None:
    early = entry("feed", 10, station="bin", feedstock="bread", amount=kg(2.0))
    month, year = circles([*setups(), early])
    assert (month["since"], year["since"]) == ("2026-05-17", "2025-07-01")
    assert not [one for one in month["arrows"] if one["source"] == "kitchen"]
    assert [one["wet_kg"] for one in year["arrows"] if one["source"] == "kitchen"] == [2.0]
