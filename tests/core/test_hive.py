"""The hive: a box is in one place of the stack, honey is ripe by a standard, disease is for the authority."""

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from fallowside.core import hivestack, sources
from fallowside.core.entries import problem
from fallowside.core.plan import plan
from fallowside.words import catalogue
from tests.ledgers import read
from tests.logs import AT, Raw, entry, kg, setups
from tests.logs_of_water import HIVE, waters

NOW = 106 * 24 * 60
AIR = [3.0, 4.0, 8.0, 12.0, 16.0, 20.0, 23.0, 22.0, 18.0, 13.0, 8.0, 4.0]


def hive(log: list[Raw], at: str = AT) -> Any:
    return next(one for one in plan(log, at)["stations"] if one["id"] == "hive")


def codes(made: Any) -> list[str]:
    return [one["code"] for one in made["warnings"]]


def box(minutes: float, change: str, position: str, name: str | None = None) -> Raw:
    named = {} if name is None else {"box": name}
    return entry("hive_box", minutes, station="hive", change=change, position=position, **named)


def harvest(value: float, minutes: float = NOW, **fields: Any) -> Raw:
    return entry("hive_harvest", minutes, station="hive", amount=kg(value), **fields)


def airs(months: list[float]) -> Raw:
    return {**entry("setup", 1, what="place", item="place", set={"air_by_month_c": months}), "id": "airs"}


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(waters("hive", HIVE))
def test_a_box_is_in_one_place_of_the_stack(log: list[Raw]) -> None:
    entries, place = read(log)
    stack = hivestack.read(place.stations["hive"], [one for one in entries if one.station == "hive"], place)
    standing = [one.name for one in stack.boxes]
    assert len(standing) == len(set(standing))
    assert not set(standing) & {one.name for one in stack.taken}
    assert hive(log)["state"]["boxes"] == len(standing)


def test_new_boxes_go_in_below_and_harvest_is_taken_from_above() -> None:
    log = [*setups(), box(NOW - 9, "added", "below", "red"), box(NOW - 5, "taken", "above")]
    assert [one["box"] for one in hive(log)["state"]["stack"]] == ["start-2", "red"]


def test_what_a_box_holds_follows_from_when_it_came() -> None:
    log = [*setups(), box(NOW - 24 * 60, "added", "below", "red")]
    state = hive(log)["state"]
    assert [one["holds"] for one in state["stack"]] == ["honey", "brood", "building"]
    assert state["ripe"] == ["start-1"]


def test_a_box_that_cannot_be_is_named() -> None:
    log = [*setups(), box(NOW - 9, "taken", "above", "blue"), box(NOW - 8, "added", "below", "start-1")]
    assert codes(hive(log)) == ["box_not_there", "box_there_already"]
    assert [one["box"] for one in hive(log)["state"]["stack"]] == ["start-2", "start-1"]
    assert codes(hive([*setups(), box(NOW - 9, "added", "above", "red")])) == ["box_above"]


def test_sixty_kilograms_in_a_season_are_taken_and_six_hundred_asked_back() -> None:
    """A fact of the trade, common practice, no source: one strong hive may give about 60 kg in its first
    season."""
    assert problem(harvest(60.0)) is None
    assert hive([*setups(), harvest(60.0)])["warnings"] == []
    found = problem(harvest(600.0))
    assert found is not None
    assert found.code == "out_of_range"
    ten = [{**harvest(60.0, NOW - number), "id": f"h{number}"} for number in range(10)]
    assert codes(hive([*setups(), *ten])) == ["much_honey"]


@pytest.mark.parametrize(("water", "wet"), [(20.0, False), (20.1, True)])
def test_honey_is_ripe_by_the_codex_limit(water: float, wet: bool) -> None:
    """Codex CXS 12-1981 and Directive 2001/110/EC, annex II: moisture not more than 20 %, heather 23 %."""
    made = hive([*setups(), harvest(5.0, water_pct=water)])
    assert ("wet_honey" in codes(made)) == wet
    assert [one["above"] for one in made["limits"]] == [20.0]
    if wet:
        assert made["warnings"][0]["because"]["values"]["heather_pct"] == 23.0


def test_honey_is_told_by_box_and_year() -> None:
    log = [*setups(), harvest(5.0, NOW - 9, box="start-1"), harvest(7.0, NOW)]
    state = hive(log)["state"]
    assert kilograms(state["years"]) == {"2026": 12.0}
    assert kilograms(state["by_box"]) == {"start-1": 12.0}
    assert len(state["years"]["2026"]["because"]["entries"]) == 2


def kilograms(sums: Any) -> dict[str, float]:
    return {name: one["value"] for name, one in sums.items()}


def test_honey_of_no_named_box_is_of_the_one_taken_that_day_else_of_the_top_one() -> None:
    taken = box(NOW - 9, "taken", "above")
    assert kilograms(hive([*setups(), taken, harvest(5.0)])["state"]["by_box"]) == {"start-1": 5.0}
    long_ago = box(NOW - 3 * 24 * 60, "taken", "above")
    assert kilograms(hive([*setups(), long_ago, harvest(5.0)])["state"]["by_box"]) == {"start-2": 5.0}


def test_stores_are_the_weight_less_wood_and_bees_and_what_was_taken_since() -> None:
    own = {"box_mass": kg(4.0), "bare_mass": kg(7.0)}
    weighed = [
        {**entry("setup", 2, what="station", item="hive", set=own), "id": "own"},
        entry("hive_check", NOW - 60, station="hive", weight=kg(45.0)),
    ]
    stores = hive([*setups(), *weighed])["state"]["stores_kg"]
    assert (stores["low"], stores["value"], stores["high"]) == (26.0, 28.0, 29.0)
    after = hive([*setups(), *weighed, harvest(6.0)])["state"]["stores_kg"]
    assert after["value"] == 22.0


@pytest.mark.parametrize(
    ("months", "kilograms"), [([-6.0, *AIR[1:]], 38.0), (AIR, 30.0), ([max(one, 9.0) for one in AIR], 22.0)]
)
def test_what_must_be_left_follows_the_coldest_month(months: list[float], kilograms: float) -> None:
    """Common practice, no source: 80 to 100 lb in the cold, 60 to 80, and 40 to 60 where winters are mild."""
    assert hive([*setups(), airs(months)])["state"]["winter_kg"]["value"] == kilograms


def test_few_stores_before_winter_are_told_and_in_summer_not() -> None:
    check = entry("hive_check", NOW, station="hive", weight=kg(20.0))
    log = [*setups(), airs(AIR), check]
    assert "few_stores" not in codes(hive(log))
    late = {**check, "id": "late", "at": "2026-11-01T08:00:00+02:00"}
    assert "few_stores" in codes(hive([*log, late], "2026-11-02T08:00:00+02:00"))


def test_before_winter_a_hive_is_weighed_now_or_so_long_after_it_was() -> None:
    def due(log: list[Raw]) -> list[str]:
        made = hive(log, "2026-11-02T08:00:00+02:00")
        return [one["due"] for one in made["jobs"] if one["what"] == "weigh_hive"]

    log = [*setups(), airs(AIR)]
    assert due(log) == ["2026-11-02"]
    check = entry("hive_check", NOW, station="hive", weight=kg(40.0))
    days = int(sources.value("hive.check_days"))
    weighed = {**check, "at": "2026-11-01T08:00:00+02:00"}
    assert due([*log, weighed]) == [str(date(2026, 11, 1) + timedelta(days=days))]


@pytest.mark.parametrize(
    "sign", ["sunken_cappings", "ropy_brood", "foul_brood_smell", "small_beetles", "mites"]
)
def test_signs_of_disease_lead_to_the_authority(sign: str) -> None:
    """Australian Honey Bee Industry Biosecurity Code of Practice 2.1: any suspicion of a notifiable disease
    is reported by the quickest means; which ones are notifiable is local law."""
    made = hive([*setups(), entry("signs", NOW, station="hive", signs=[sign])])
    assert made["warnings"][0]["remedies"][0] == "hive.remedy.notify_authority"


def test_no_remedy_for_a_hive_is_a_treatment() -> None:
    words = ("treat", "medicine", "acid", "drug", "strip", "antibiotic", "syrup")
    remedies = [text.lower() for key, text in catalogue().items() if key.startswith("hive.remedy.")]
    assert remedies
    assert not [text for text in remedies if any(word in text for word in words)]
