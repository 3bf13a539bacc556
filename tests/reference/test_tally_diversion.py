"""Diversion, benchmarks, fertiliser oxides and volume-to-weight factors, against what is published."""

import pint
import pytest

from fallowside.core import materials, sources
from fallowside.core.accounts.ledger import kept_pct
from fallowside.core.accounts.recovered import oxide
from fallowside.core.span import Span
from tests import ledgers
from tests.logs import entry, setups

UNITS: "pint.UnitRegistry[float]" = pint.UnitRegistry()

# Standard atomic weights, IUPAC 2021, abridged: phosphorus, potassium, oxygen.
P, K, O = 30.974, 39.098, 15.999  # noqa: E741


def test_the_diversion_rate_is_net_of_rejects() -> None:
    """Diverted over generated (US EPA 1997, Measuring Recycling, EPA530-R-97-011), rejects taken off because
    the final destination counts (FLW Standard 2016): 120 kg in, 12 kg out again, 80 kg never brought here.
    Gross would give 60 %. The numbers are arithmetic."""
    assert kept_pct(120.0, 12.0, 80.0) == 54.0
    assert kept_pct(120.0, 0.0, 80.0) == 60.0


def test_a_household_of_four_has_six_kilograms_a_week() -> None:
    """79 kg a year and person (UNEP Food Waste Index Report 2024, key messages)."""
    weekly = 4 * sources.value("tally.household_food_waste") / sources.value("tally.year") * 7
    assert weekly == pytest.approx(6.06, abs=0.01)
    assert sources.value("tally.person_few") < sources.value("tally.household_food_waste")
    assert sources.value("tally.household_food_waste") < sources.value("tally.person_many")


def test_fertiliser_oxides_follow_from_atomic_weights() -> None:
    one = Span(1.0, 1.0, 1.0)
    assert oxide("phosphorus", one).mid == pytest.approx((2 * P + 5 * O) / (2 * P), rel=1e-5)
    assert oxide("potassium", one).mid == pytest.approx((2 * K + O) / (2 * K), rel=1e-5)


@pytest.mark.parametrize(
    ("published", "end"), [("396 lb/yd^3", "low"), ("3.8 lb/gal", "value"), ("7.49 lb/gal", "high")]
)
def test_scraps_by_the_litre_span_the_published_factors(published: str, end: str) -> None:
    """US EPA 2016, Volume-to-Weight Conversion Factors, food scraps: 396 lb/yd3 and, on the same page, 3.8
    lb/gal; an earlier table of the same agency has 7.49 lb/gal. All as reproduced; units by pint."""
    number, _, unit = published.partition(" ")
    density = UNITS.Quantity(float(number), unit).to("kg/L").magnitude
    material = materials.get("vegetable_scraps")
    low, high = material.ranges["bulk_density_kg_per_l"]
    ours = {"low": low, "value": material.bulk_density_kg_per_l, "high": high}[end]
    assert ours == pytest.approx(density, rel=0.005)


def test_a_pail_by_volume_carries_the_whole_spread_of_the_factors() -> None:
    feed = entry(
        "feed", 1, station="bin", feedstock="vegetable_scraps", amount={"value": 5, "unit": "gallon"}
    )
    net = ledgers.year([*setups(), feed])["net"]
    pail = 5 * 3.785411784
    assert net["value"] == pytest.approx(pail * 0.455, rel=1e-5)
    assert net["low"] is not None
    assert net["high"] is not None
    assert net["low"] < pail * 0.235
    assert net["high"] > pail * 0.898
