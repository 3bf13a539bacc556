"""Products and nutrients: what came out, what it holds, and what of the feed should be in it."""

import pytest
from hypothesis import given, settings

from fallowside.core import materials
from fallowside.core.accounts import recovered
from fallowside.core.shapes import Nutrient, Output
from tests import ledgers
from tests.logs import Raw, entry, kg, setups


def outputs(*raws: Raw) -> dict[str, Output]:
    return {one["what"]: one for one in ledgers.year([*setups(), *raws])["recovered"]["outputs"]}


def nutrients(*raws: Raw) -> dict[str, Nutrient]:
    return {one["nutrient"]: one for one in ledgers.year([*setups(), *raws])["recovered"]["nutrients"]}


def castings(minutes: float, kilograms: float) -> Raw:
    return entry("castings", minutes, station="bed", side="a", amount=kg(kilograms), method="top_layers")


def feed(minutes: float, feedstock: str, kilograms: float, station: str = "bed") -> Raw:
    side = {"side": "a"} if station == "bed" else {}
    return entry("feed", minutes, station=station, feedstock=feedstock, amount=kg(kilograms), **side)


def test_castings_hold_what_the_table_says_within_its_range() -> None:
    material = materials.get("finished_castings")
    found = outputs(castings(5, 10.0))["castings"]
    dry = 10.0 * (1.0 - material.moisture_pct / 100.0)
    assert found["dry"]["mid"] == pytest.approx(dry)
    nitrogen = found["nitrogen"]
    assert nitrogen is not None
    assert nitrogen["mid"] == pytest.approx(dry * material.nitrogen_pct_dry / 100.0, rel=1e-5)
    assert nitrogen["low"] < nitrogen["mid"] < nitrogen["high"]


def test_a_place_that_measured_its_castings_gets_its_own_figure() -> None:
    own = entry("setup", 1, what="feedstock", item="finished_castings",
                set={"like": "finished_castings", "nitrogen_pct_dry": 2.4, "stream": "castings"})  # fmt: skip
    found = outputs(own, castings(5, 10.0))["castings"]["nitrogen"]
    assert found is not None
    assert found["mid"] == pytest.approx(10.0 * 0.35 * 0.024, rel=1e-5)


def test_nitrogen_of_the_feed_less_its_loss_is_what_is_expected() -> None:
    """Fish waste, 1 t of 76 % moisture and 10.6 % nitrogen of the dry matter, holds 25.44 kg: arithmetic on
    the figures of NRAES-54, table A.1, as reproduced."""
    found = nutrients(feed(1, "fish_scraps", 1000.0))["nitrogen"]
    assert found["fed"] is not None
    assert found["expected"] is not None
    assert found["fed"]["mid"] == pytest.approx(25.44, rel=1e-5)
    assert found["expected"]["mid"] == pytest.approx(25.44 * 0.8, rel=1e-5)
    assert found["expected"]["low"] < found["expected"]["mid"] < found["expected"]["high"]


def test_phosphorus_and_potassium_are_only_leached() -> None:
    found = nutrients(feed(1, "vegetable_scraps", 100.0))["phosphorus"]
    assert found["fed"] is not None
    assert found["expected"] is not None
    assert found["expected"]["mid"] == pytest.approx(0.95 * found["fed"]["mid"], rel=1e-5)


def test_what_nobody_knows_is_said_and_not_taken_for_zero() -> None:
    found = nutrients(feed(1, "citrus_peel", 10.0))
    assert found["nitrogen"]["unknown_dry_kg"] == 0.0
    assert "phosphorus" not in found
    mixed = nutrients(feed(1, "citrus_peel", 10.0), feed(2, "vegetable_scraps", 1.0))["phosphorus"]
    assert mixed["unknown_dry_kg"] == pytest.approx(2.0)


def test_castings_fed_again_did_not_reach_the_soil() -> None:
    taken = nutrients(castings(5, 10.0))["nitrogen"]["to_soil"]
    half = nutrients(castings(5, 10.0), feed(6, "finished_castings", 5.0))["nitrogen"]["to_soil"]
    assert taken is not None
    assert half is not None
    assert half["mid"] == pytest.approx(0.5 * taken["mid"], rel=1e-5)


def test_residue_for_the_bed_reaches_the_soil_by_its_castings_only() -> None:
    cleared = {"station": "bin", "amount": kg(4)}
    for_bed = nutrients(entry("clear_out", 5, **cleared, to="bed"))["nitrogen"]["to_soil"]
    garden = nutrients(entry("clear_out", 5, **cleared, to="garden"))["nitrogen"]["to_soil"]
    assert for_bed == {"low": 0.0, "mid": 0.0, "high": 0.0}
    assert garden is not None
    assert garden["mid"] > 0.0


def test_residue_landfilled_or_buried_is_no_product() -> None:
    for to in ("landfill", "burial"):
        assert outputs(entry("clear_out", 5, station="bin", amount=kg(4), to=to)) == {}


def test_frass_has_phosphate_and_potash_by_its_nitrogen() -> None:
    """N : P2O5 : K2O = 1 : 0.9 : 1.1 on the mean (Gärttling and Schulz 2022, J Soil Sci Plant Nutr
    22:937-943)."""
    rows = nutrients(entry("clear_out", 5, station="bin", amount=kg(40), to="garden"))
    nitrogen, phosphate, potash = (
        rows["nitrogen"]["to_soil"], rows["phosphorus"]["oxide"], rows["potassium"]["oxide"],
    )  # fmt: skip
    assert nitrogen is not None
    assert phosphate is not None
    assert potash is not None
    assert phosphate["mid"] / nitrogen["mid"] == pytest.approx(0.9, rel=1e-4)
    assert potash["mid"] / nitrogen["mid"] == pytest.approx(1.1, rel=1e-4)


def test_an_unknown_nutrient_has_no_figure() -> None:
    assert recovered.content(materials.get("citrus_peel"), "potassium") is None


@settings(max_examples=30, deadline=None)
@given(ledgers.ledgers())
def test_ranges_hold_their_middle_and_nothing_is_below_zero(log: list[Raw]) -> None:
    found = ledgers.year(log)["recovered"]
    spans = [
        span
        for row in (*found["outputs"], *found["nutrients"])
        for span in row.values()
        if isinstance(span, dict)
    ]
    assert all(0.0 <= span["low"] <= span["mid"] <= span["high"] for span in spans)


@settings(max_examples=30, deadline=None)
@given(ledgers.ledgers())
def test_outputs_are_those_of_the_tally(log: list[Raw]) -> None:
    found = ledgers.year(log)
    listed = {f"{one['what']}_kg": one["kg"] for one in found["recovered"]["outputs"]}
    listed.pop("pond_solids_kg", None)
    assert listed == found["outputs"]
