"""The circle: it closes, its arrows name their entries, and nothing moves twice."""

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from fallowside.core.plan import plan
from tests.ledgers import ledgers
from tests.logs import AT, Raw, entry, kg, setups
from tests.logs_of_water import POND, waters

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


def test_a_month_holds_no_more_than_thirty_days() -> None:
    early = entry("feed", 10, station="bin", feedstock="bread", amount=kg(2.0))
    month, year = circles([*setups(), early])
    assert (month["since"], year["since"]) == ("2026-05-17", "2025-07-01")
    assert not [one for one in month["arrows"] if one["source"] == "kitchen"]
    assert [one["wet_kg"] for one in year["arrows"] if one["source"] == "kitchen"] == [2.0]
