"""A bucket at a place: weighed, kept within rations and shares, and told so that it can be recorded."""

from math import fsum
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fallowside.core.bucketshapes import Route
from fallowside.core.errors import BadBucket
from fallowside.core.plan import Fold
from tests.logs import AT, Raw, entry, kg, setups

FEEDSTOCKS = ["vegetable_scraps", "fish_heads", "meat_scraps", "pulp", "bread", "citrus_peel", "larvae"]
amounts = (
    st.floats(0.01, 8.0).map(kg)
    | st.floats(0.1, 9.0).map(lambda litres: {"value": litres, "unit": "L"})
    | st.floats(0.1, 3.0).map(lambda part: {"container": "caddy", "filled": part})
)
parts = st.builds(
    lambda name, amount: {"feedstock": name, "amount": amount}, st.sampled_from(FEEDSTOCKS), amounts
)
fed = st.lists(
    st.builds(
        lambda n, where, name, mass: entry(
            "feed",
            150_000 + n,
            feedstock=name,
            amount=kg(mass),
            **({"station": "bed", "side": "a"} if where else {"station": "bin"}),
        ),
        st.integers(0, 2900),
        st.booleans(),
        st.sampled_from(["vegetable_scraps", "fish_heads", "cardboard"]),
        st.floats(0.1, 3.0),
    ),
    max_size=5,
    unique_by=lambda one: one["id"],
)
PLACE = [
    *setups(),
    entry("setup", 1, what="station", item="bed", set={"start_worms": kg(2.0), "feeding_side": "a"}),
]
HALF_A_CADDY = {"feedstock": "vegetable_scraps", "amount": {"container": "caddy", "filled": 0.5}}


def routed(bucket: list[Any], log: list[Raw] = PLACE, freezer_kg: float | None = None) -> Route:
    return Fold(log).route(bucket, AT, freezer_kg)


def scale(amount: dict[str, Any]) -> float:
    return float(amount.get("filled", amount.get("value", 1.0)))


def test_half_a_caddy_goes_to_the_feeding_side_as_it_was_measured() -> None:
    found = routed([HALF_A_CADDY], [one for one in PLACE if one.get("item") != "bin"])
    first = found["shares"][0]
    assert (first["where"], first["station"], first["side"]) == ("station", "bed", "a")
    assert {"container"} <= first["amounts"][0].keys()
    assert fsum(scale(a) for one in found["shares"] for a in one["amounts"]) == pytest.approx(0.5)
    assert [one["because"]["key"] for one in found["stations"] if one["side"] == "b"] == ["router.rests"]


def test_fish_alone_is_kept_and_the_warning_says_what_it_takes() -> None:
    """Arithmetic: with 15 % fish, 0.15 kg of it take 0.85 kg of others. Share: Lopes and others 2020."""
    found = routed([{"feedstock": "fish_heads", "amount": kg(0.15)}])
    assert [one["where"] for one in found["shares"]] == ["keep"]
    [warning] = found["warnings"]
    assert (warning["code"], warning["level"]) == ("fish_alone", "caution")
    assert warning["because"]["values"]["others_kg"] == pytest.approx(0.85)
    assert "soldierfly.fish_share" in found["constants"]


def test_fish_with_enough_of_others_goes_in_without_a_warning() -> None:
    found = routed([{"feedstock": "fish_heads", "amount": kg(0.02)}, HALF_A_CADDY])
    assert found["warnings"] == []
    [fish] = [one for one in found["shares"] if one["material"] == "fish_heads"]
    assert (fish["where"], fish["station"]) == ("station", "bin")


def test_a_place_without_a_freezer_keeps_nothing() -> None:
    none = entry("setup", 2, what="place", item="place", set={"freezer_room": kg(0.0)})
    found = routed([{"feedstock": "fish_heads", "amount": kg(1.0)}], [*PLACE, none])
    assert [one["where"] for one in found["shares"]] == ["elsewhere"]


def test_what_only_a_station_without_a_ration_takes_is_not_called_unsuitable() -> None:
    [share] = routed([{"feedstock": "larvae", "amount": kg(0.2)}])["shares"]
    if share["where"] == "elsewhere":
        assert share["because"]["key"] == "router.ration_unknown"
        assert share["because"]["values"] == {"station": "Pond"}


@pytest.mark.parametrize(
    ("bucket", "code", "field"),
    [
        ([], "missing", "bucket"),
        (["bread"], "not_an_object", "bucket.0"),
        ([{"feedstock": "gravel", "amount": kg(1.0)}], "unknown_feedstock", "bucket.0.feedstock"),
        ([HALF_A_CADDY, {"feedstock": "bread"}], "missing", "bucket.1.amount"),
        ([{"feedstock": "bread", "amount": kg(0.0)}], "nothing", "bucket.0.amount"),
        ([{"feedstock": "bread", "amount": kg(-1.0)}], "out_of_range", "bucket.0.amount"),
        ([{"feedstock": "bread", "amount": {"value": 1, "unit": "m"}}], "bad_unit", "bucket.0.amount.unit"),
        ([{"feedstock": "bread", "amount": {"container": "tub"}}], "unknown_container", "bucket.0.amount"),
        ([{"feedstock": "bread", "amount": {"container": "can"}}], "no_measure", "bucket.0.amount"),
        ([{"feedstock": "seaweed", "amount": {"value": 1, "unit": "L"}}], "no_density", "bucket.0.amount"),
    ],
)
def test_a_bucket_that_cant_be_weighed_is_refused_with_the_field_to_mend(
    bucket: list[Any], code: str, field: str
) -> None:
    can = entry("setup", 2, what="container", item="can", set={"name": "Can"})
    with pytest.raises(BadBucket) as refused:
        routed(bucket, [*PLACE, can])
    assert (refused.value.code, refused.value.field) == (code, field)
    assert str(refused.value)


@settings(deadline=None, max_examples=40)
@given(st.lists(parts, min_size=1, max_size=4), fed, st.none() | st.floats(0.0, 5.0))
def test_all_of_a_bucket_is_accounted_for_within_rations_and_can_be_recorded_as_it_was_measured(
    bucket: list[Any], log: list[Raw], freezer_kg: float | None
) -> None:
    found = routed(bucket, [*PLACE, *log], freezer_kg)
    weighed = fsum(one["kg"] for one in found["bucket"])
    assert fsum(one["kg"] for one in found["shares"]) == pytest.approx(weighed, rel=1e-4)
    rations = {(one["station"], one["side"]): one["ration_kg"] for one in found["stations"]}
    for place, ration in rations.items():
        given_kg = fsum(one["kg"] for one in found["shares"] if (one["station"], one["side"]) == place)
        assert given_kg <= ration * (1 + 1e-4) + 1e-7
    for name in {part["feedstock"] for part in bucket}:
        asked = [part["amount"] for part in bucket if part["feedstock"] == name]
        told = [a for one in found["shares"] if one["material"] == name for a in one["amounts"]]
        for unit in ({"kg"}, {"L"}, {"caddy"}):
            sums = [fsum(scale(a) for a in many if unit & {*a.values()} - {1}) for many in (asked, told)]
            assert sums[1] == pytest.approx(sums[0], rel=1e-4, abs=1e-6)


@settings(deadline=None, max_examples=20)
@given(st.lists(parts, min_size=1, max_size=3), st.permutations(PLACE))
def test_a_route_is_the_same_whatever_came_first_and_after_a_plan(bucket: list[Any], log: list[Raw]) -> None:
    planned = Fold(log)
    planned.plan(AT)
    assert planned.route(bucket, AT) == routed(bucket)


def test_a_route_knows_what_was_fed_since_the_plan() -> None:
    fold = Fold(PLACE)
    before = fold.route([HALF_A_CADDY], AT)
    feed = entry("feed", 152_700, station="bed", side="a", feedstock="bread", amount=kg(9.0))
    fold.add([feed | {"at": "2026-06-15T17:00:00+02:00"}])
    after = fold.route([HALF_A_CADDY], AT)
    assert after["stations"][0]["ration_kg"] < before["stations"][0]["ration_kg"]
