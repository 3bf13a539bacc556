"""What a concentration means in millilitres, against published worked examples. Nothing here is advice."""

import pytest

from fallowside.core.errors import OutOfRange, UnknownName
from fallowside.core.water import fishbath


def test_a_published_recipe_of_one_part_in_ten_comes_out() -> None:
    """Comparative Physiology, University of Guelph, anaesthesia with clove oil: oil in alcohol 1:9; 50 mg/L
    is 0.05 mL oil with 0.45 mL alcohol per litre, taking 1 mL of oil as 1 g."""
    found = fishbath.dose(5.0, 50.0, "one_in_ten", density_g_per_ml=1.0)
    assert found.oil_ml / 5.0 == pytest.approx(0.05)
    assert found.measure_ml / 5.0 == pytest.approx(0.05 + 0.45)


@pytest.mark.parametrize(("stock_ml", "litres", "mg_per_l"), [(2.0, 3.5, 57.0), (3.0, 3.5, 85.7)])
def test_a_published_strength_comes_out_backwards(stock_ml: float, litres: float, mg_per_l: float) -> None:
    """The same page: 2 mL of that stock in 3.5 L are 57 mg/L, 3 mL are 85.7 mg/L (to three digits)."""
    found = fishbath.dose(10.0 * litres, mg_per_l, "one_in_ten", density_g_per_ml=1.0)
    assert found.measure_ml / 10.0 == pytest.approx(stock_ml, rel=5e-3)


def test_density_of_clove_oil_is_inside_the_pharmacopoeias() -> None:
    """USP-NF, clove oil: relative density 1.038 to 1.060. By it 800 mg are 0.755 to 0.771 mL."""
    found = fishbath.dose(20.0, 40.0, "neat")
    assert 0.800 / 1.060 <= found.oil_ml <= 0.800 / 1.038


@pytest.mark.parametrize(
    ("litres", "stock", "ml"),
    [(20.0, "neat", 0.762), (20.0, "one_in_ten", 7.62), (20.0, "one_to_ten", 8.38), (210.0, "neat", 8.00)],
)
def test_both_readings_of_one_to_ten_are_kept_apart(litres: float, stock: str, ml: float) -> None:
    """Arithmetic with the pharmacopoeia's density 1.05 g/mL at 40 mg/L, to 0.5 %."""
    assert fishbath.dose(litres, 40.0, stock).measure_ml == pytest.approx(ml, rel=5e-3)


def test_eugenol_asks_for_more_oil_than_oil() -> None:
    """USP-NF: total phenols at least 85 %: 40 mg/L of eugenol in 20 L are 0.896 mL of oil."""
    assert fishbath.dose(20.0, 40.0, "neat", as_eugenol=True).oil_ml == pytest.approx(0.896, rel=5e-3)


def test_the_water_of_a_tub_is_its_filled_depth() -> None:
    """Geometry: 1.00 x 0.60 x 0.35 m hold 210 L; a cylinder 0.30 m across and deep holds 21.2 L."""
    assert fishbath.litres_of(None, 0.35, 1.00, 0.60) == pytest.approx(210.0)
    assert fishbath.litres_of(None, 0.30, diameter_m=0.30) == pytest.approx(21.2058, rel=1e-5)


def test_a_bath_without_water_has_no_dose() -> None:
    with pytest.raises(OutOfRange, match="the water of the bath is 0 L; give a value from 5 to 2000 L"):
        fishbath.litres_of(None)
    with pytest.raises(OutOfRange, match="the water of the bath is 0 L"):
        fishbath.dose(0.0, 40.0, "neat")


def test_a_unit_that_was_mistaken_is_refused() -> None:
    """A formulary once printed 500 to 1000 mg/mL for mg/L: a thousand times too much."""
    with pytest.raises(OutOfRange, match="the concentration is 500000 mg/L; give a value from 1 to 1000"):
        fishbath.dose(20.0, 500_000.0, "neat")
    with pytest.raises(UnknownName, match="no stock is called '1:10'; use one of"):
        fishbath.dose(20.0, 40.0, "1:10")


def test_drops_are_told_as_a_range_two_fold_wide() -> None:
    found = fishbath.dose(20.0, 40.0, "neat")
    assert found.drops.high == pytest.approx(2.0 * found.drops.low)
    assert found.drops.low <= found.drops.mid <= found.drops.high


def test_the_smallest_syringe_that_holds_it_is_named() -> None:
    assert fishbath.dose(20.0, 40.0, "neat").syringe_ml == 1.0
    assert fishbath.dose(20.0, 40.0, "one_in_ten").syringe_ml == 10.0
    assert fishbath.dose(2000.0, 1000.0, "neat").syringe_ml == 0.0
