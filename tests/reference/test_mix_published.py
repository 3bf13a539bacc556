"""Mixes against worked examples.

Published, nine of them, each read where its test says: moistures by Cornell Waste Management Institute
(T. Richard and N. Trautmann 1996), an extension hand-out's C:N, an engineering course's scraps and sawdust,
dry and wet bases by an instrument maker, an engineering course, Penn State and the extension services, and a
reproduced hand-out with a slip. The rest is arithmetic: the inputs are stated, the expected figures were
worked from Cornell's balances by hand and with fractions, independently of this code; where their inputs
resemble a published example they are still only arithmetic, and so labelled. Tolerance: the digits printed.
"""

from fractions import Fraction

import pytest

from fallowside.core.mix import CannotMeet, Material, amend, amend_both, blend, sample_moisture

GRASS = Material("grass", 77, 45, 2.4)
LEAVES = Material("leaves", 35, 50, 0.75)
FISH = Material("fish", 76, 38.16, 10.6)
SCRAPS = Material("vegetable scraps", 87, 51.3, 2.7)
COFFEE = Material("coffee grounds", 75, 45.6, 2.28)
CARD_45 = Material("cardboard", 8, 45, 0.10)
CARD_56 = Material("cardboard", 8, 56.3, 0.10)
DRY = Material("dry solids", 0, 45, 1)
WATER = Material("water", 100, 0, 0)


# -- published -----------------------------------------------------------------------------------


def test_cornell_moisture_of_a_sample() -> None:
    """Cornell 1996: a 4 g container, 14 g with the wet and 6.3 g with the dry sample: 77 %."""
    assert sample_moisture(14.0, 6.3, 4.0) == pytest.approx(77.0, rel=1e-9)


def test_cornell_leaves_for_wet_grass() -> None:
    """Cornell 1996: 10 kg of grass at 77 %, leaves at 35 %, goal 60 %: 6.8 kg."""
    kg = amend([(GRASS, 10.0)], LEAVES, moisture_pct=60.0)
    assert kg == pytest.approx(6.8, rel=1e-9)
    assert blend([(GRASS, 10.0), (LEAVES, kg)]).moisture_pct == pytest.approx(60.0, rel=1e-9)


def test_hand_out_on_fresh_weights() -> None:
    """Extension hand-out: hay 50 lb (40 % C, 1 % N), scraps 10 lb (10, 1), coffee 2 lb (25, 1), all of
    fresh weight: printed 34.7. Contents of fresh weight are those of a material without moisture."""
    mix = blend(
        [
            (Material("hay", 0, 40, 1), 50.0),
            (Material("scraps", 0, 10, 1), 10.0),
            (Material("coffee", 0, 25, 1), 2.0),
        ]
    )
    assert mix.carbon_to_nitrogen == pytest.approx(34.7, abs=0.05)
    assert mix.carbon_to_nitrogen == pytest.approx(21.5 / 0.62, rel=1e-12)


def test_hand_out_with_a_slip() -> None:
    """North Carolina Cooperative Extension, as reproduced by a third party: litter (C:N 7.5) and straw
    (130) for 30, by 'A 7.5 + (1 - A) 130 = 30', printed A = 0.90. That equation gives 100/122.5; 0.90
    answers 20. Averaging ratios is wrong besides: by mass of carbon and nitrogen the share is another."""
    share = Fraction(1300 - 300, 1300 - 75)
    assert float(share) == pytest.approx(0.816327, abs=1e-6)
    assert float(share) * 7.5 + (1.0 - float(share)) * 130.0 == pytest.approx(30.0)
    assert pytest.approx(19.75) == 0.9 * 7.5 + 0.1 * 130.0
    litter, straw = Material("litter", 0, 37.5, 5.0), Material("straw", 0, 45.5, 0.35)
    kg = amend([(litter, 1.0)], straw, carbon_to_nitrogen=30.0)
    assert blend([(litter, 1.0), (straw, kg)]).carbon_to_nitrogen == pytest.approx(30.0)
    assert 1.0 / (1.0 + kg) < 0.5  # far from either share of the hand-out


def test_course_sawdust_for_vegetable_scraps() -> None:
    """Engineering course, 'Solid waste management' (solved at scribd.com/document/470443366 and 471436308):
    vegetable wastes at 80 % moisture with 4 % N of dry mass and C:N 11, sawdust at 50 % with 0.1 % N and
    C:N 500, goal 20: printed 0.3 kg (and 0.30) of sawdust a kilogram. Exact: 0.072/0.24, nothing is rounded.
    They print 0.008 kg N, 0.088 kg C of the wastes, 0.0005 N and 0.25 C a kilogram of sawdust."""
    wastes, sawdust = Material("vegetable wastes", 80, 44, 4), Material("sawdust", 50, 50, 0.1)
    for material, carbon_kg, nitrogen_kg in ((wastes, 0.088, 0.008), (sawdust, 0.25, 0.0005)):
        alone = blend([(material, 1.0)])
        assert alone.carbon_kg == pytest.approx(carbon_kg, rel=1e-12)
        assert alone.nitrogen_kg == pytest.approx(nitrogen_kg, rel=1e-12)
    kg = amend([(wastes, 1.0)], sawdust, carbon_to_nitrogen=20.0)
    assert kg == pytest.approx(0.3, rel=1e-9)
    assert blend([(wastes, 1.0), (sawdust, kg)]).carbon_to_nitrogen == pytest.approx(20.0, rel=1e-9)


def test_instrument_maker_water_of_dry_mass_and_of_wet_mass() -> None:
    """METER Group, 'How to measure water content of compost successfully' (metergroup.com): compost with
    water of 50 % of its dry mass has a moisture of 33 % of its wet mass. Exact 100/3, printed whole."""
    mix = blend([(DRY, 1.0), ("water", 0.5)])
    assert mix.moisture_pct == pytest.approx(100.0 / 3.0, rel=1e-12)
    assert round(mix.moisture_pct) == 33


@pytest.mark.parametrize(("moisture", "water_kg"), [(98.0, 49.0), (80.0, 4.0)])
def test_course_water_with_a_kilogram_of_solids(moisture: float, water_kg: float) -> None:
    """Environmental engineering course, chapter 6, 'Sludge disposal' (edurev.in/t/85669): one part of solids
    at 98 % moisture has 49 parts of water with it, at 80 % it has 4. Exact: p/(100 - p)."""
    assert amend([(DRY, 1.0)], WATER, moisture_pct=moisture) == pytest.approx(water_kg, rel=1e-9)
    assert blend([(DRY, 1.0), (WATER, water_kg)]).moisture_pct == pytest.approx(moisture, rel=1e-12)


@pytest.mark.parametrize(
    ("feed", "as_fed_lb", "dry_lb", "half_a_digit"),
    [
        (Material("corn silage", 71.5, 45, 1.76), 58.9, 16.8, 0.05),
        (Material("hay", 10, 45, 2), 27.7, 25.0, 0.1),
    ],
    ids=["Penn State", "extension services"],
)
def test_dry_matter_of_feed_as_fed(
    feed: Material, as_fed_lb: float, dry_lb: float, half_a_digit: float
) -> None:
    """Penn State, 'Manual for batch mix spreadsheet' (as printed by farms.com): corn silage of 28.5 % dry
    matter, 16.8 lb of dry matter are 58.9 lb as fed; exact 58.947, cut. extension.org, page 39706: 25 lb of
    dry hay at 10 % moisture, 25/0.9 = 27.7 lb (then called 28); exact 27.78, cut, so 27.7 holds 24.93."""
    assert blend([(feed, as_fed_lb)]).dry_kg == pytest.approx(dry_lb, abs=half_a_digit)


# -- arithmetic ----------------------------------------------------------------------------------


def test_arithmetic_two_ingredients_for_a_ratio() -> None:
    """10 · 2.4 · (30 − 18.75) · 23 / (0.75 · (66.667 − 30) · 65) = 6210/1787.5."""
    kg = amend([(GRASS, 10.0)], LEAVES, carbon_to_nitrogen=30.0)
    mix = blend([(GRASS, 10.0), (LEAVES, kg)])
    assert kg == pytest.approx(6210 / 1787.5, rel=1e-12)
    assert mix.moisture_pct == pytest.approx(66.1709, abs=5e-5)
    assert mix.carbon_kg == pytest.approx(2.164091, abs=5e-7)
    assert mix.nitrogen_kg == pytest.approx(0.0721364, abs=5e-8)
    assert 100.0 * mix.nitrogen_kg / mix.wet_kg == pytest.approx(0.53537, abs=5e-6)


@pytest.mark.parametrize(("leaves_kg", "moisture", "ratio"), [(6.8, 60.0, 36.7289), (7.0, 59.7059, 37.0557)])
def test_arithmetic_forward_mix(leaves_kg: float, moisture: float, ratio: float) -> None:
    mix = blend([(GRASS, 10.0), (LEAVES, leaves_kg)])
    assert mix.moisture_pct == pytest.approx(moisture, abs=5e-5)
    assert mix.carbon_to_nitrogen == pytest.approx(ratio, abs=5e-5)


def test_arithmetic_why_ratios_are_not_averaged() -> None:
    """40/4 and 40/0.4 in equal parts: 80/4.4, where the mean of the ratios would be 55."""
    mix = blend([(Material("a", 0, 40, 4), 1.0), (Material("b", 0, 40, 0.4), 1.0)])
    assert mix.carbon_to_nitrogen == pytest.approx(80.0 / 4.4, rel=1e-12)


def test_arithmetic_leaves_and_water_together() -> None:
    leaves_kg, water_kg = amend_both([(GRASS, 10.0)], LEAVES, moisture_pct=75.0, carbon_to_nitrogen=25.0)
    assert leaves_kg == pytest.approx(1.698462, abs=5e-7)
    assert water_kg == pytest.approx(1.917538, abs=5e-7)
    mix = blend([(GRASS, 10.0), (LEAVES, leaves_kg), ("water", water_kg)])
    assert mix.wet_kg == pytest.approx(13.616, abs=1e-9)
    assert mix.nitrogen_kg == pytest.approx(0.06348, abs=1e-9)


def test_arithmetic_a_mix_too_wet_already_is_refused_not_clipped() -> None:
    with pytest.raises(CannotMeet, match=r"-2\.08 kg of water"):
        amend_both([(GRASS, 10.0)], LEAVES, moisture_pct=60.0, carbon_to_nitrogen=30.0)


@pytest.mark.parametrize(
    ("moisture", "ratio", "card_kg", "water_kg"),
    [(60.0, 30.0, 17.381366, 18.595776), (75.0, 25.0, 13.923683, 36.915470)],
)
def test_arithmetic_fish_needs_cardboard_and_water(
    moisture: float, ratio: float, card_kg: float, water_kg: float
) -> None:
    found = amend_both([(FISH, 10.0)], CARD_45, moisture_pct=moisture, carbon_to_nitrogen=ratio)
    assert list(found) == pytest.approx([card_kg, water_kg], abs=5e-7)


def test_arithmetic_two_goals_want_two_amounts_of_cardboard() -> None:
    parts = [(SCRAPS, 5.0)]
    for_ratio = amend(parts, CARD_56, carbon_to_nitrogen=25.0)
    for_moisture = amend(parts, CARD_56, moisture_pct=75.0)
    assert for_ratio == pytest.approx(0.212744, abs=5e-7)
    assert for_moisture == pytest.approx(0.895522, abs=5e-7)
    assert blend([*parts, (CARD_56, for_ratio)]).moisture_pct == pytest.approx(83.776, abs=5e-4)
    assert blend([*parts, (CARD_56, for_moisture)]).carbon_to_nitrogen == pytest.approx(43.3928, abs=5e-5)


def test_arithmetic_four_ingredients_forward() -> None:
    mix = blend([(SCRAPS, 3.0), (COFFEE, 1.0), (FISH, 0.5), (CARD_56, 1.0)])
    assert mix.wet_kg == pytest.approx(5.5, rel=1e-12)
    assert mix.dry_kg == pytest.approx(1.680, rel=1e-12)
    assert mix.moisture_pct == pytest.approx(69.4545, abs=5e-5)
    assert mix.carbon_kg == pytest.approx(0.877822, abs=5e-7)
    assert mix.nitrogen_kg == pytest.approx(0.029870, abs=5e-7)
    assert mix.carbon_to_nitrogen == pytest.approx(29.3881, abs=5e-5)
    assert 100.0 * mix.nitrogen_kg / mix.wet_kg == pytest.approx(0.54309, abs=5e-6)
