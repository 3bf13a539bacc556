"""Stocking, feeding, yields and losses of worm beds against published figures."""

from dataclasses import replace
from math import log
from typing import Any

import pint
import pytest

from fallowside.core import sources, wormbed
from fallowside.core.wormbed import Rates, Side

UNITS: pint.UnitRegistry[Any] = pint.UnitRegistry()
WARM = wormbed.conditions(25.0, 78.0)


def constant(name: str) -> sources.Constant:
    return sources.constant(f"worms.{name}")


def fed_for(days: int, feed_kg: float, rates: Rates, *, worms_kg: float = 1.0) -> tuple[Side, float]:
    """Feed a side of 0.6 m2 every day at 25 degC; give the side and what was fed. [kg DM]"""
    side, other, fed = Side(worms_kg=worms_kg), Side(), 0.0
    for _ in range(days):
        side = wormbed.put_in(side, feed_kg)
        fed += feed_kg
        side, other, _ = wormbed.advance(side, other, (WARM, WARM), rates, 0.6)
    return side, fed


def test_best_stocking_is_printed_in_pounds_a_square_foot() -> None:
    """Ndegwa, Thompson, Das 2000, Bioresource Technol. 71:5-12: 1.60 kg/m2, printed as 0.33 lb/ft2."""
    stocking = constant("stocking")
    assert stocking.value == 1.60
    pounds = UNITS.Quantity(stocking.value, stocking.unit).to("lb/ft^2").magnitude
    assert pounds == pytest.approx(0.33, abs=0.005)


def test_carrying_capacity_lies_between_poor_and_rich_food() -> None:
    """Neuhauser, Hartenstein, Kaplan 1980, Oikos 35:93-98: 6 g and more than 23 g on 78.5 cm2."""
    poor, rich = 0.006 / 78.5e-4, 0.023 / 78.5e-4
    assert poor == pytest.approx(0.764, rel=0.01)
    assert rich == pytest.approx(2.93, rel=0.01)
    assert poor < constant("carrying_capacity").value
    assert constant("carrying_capacity").low < rich < constant("carrying_capacity").high


def test_worms_level_off_at_what_the_area_carries() -> None:
    """Neuhauser and others 1980, fig 2: total live mass levels off, whatever the number at the start."""
    rates = replace(Rates(), capacity=0.764)
    few, _ = fed_for(900, 0.3, rates, worms_kg=0.02)
    many, _ = fed_for(900, 0.3, rates, worms_kg=0.4)
    assert few.worms_kg == pytest.approx(many.worms_kg, rel=0.02)
    assert 0.85 * 0.764 * 0.6 <= few.worms_kg <= 0.764 * 0.6


def test_appetite_is_that_of_a_young_and_of_an_old_culture() -> None:
    """Reeh 1992, Soil Biol. Biochem. 24:1327-1331: own mass a day at first, own mass a week later.

    Ndegwa and others 2000: 0.75 to 1.25 kg of feed per kg of worms and day. With 20 % dry matter as fed.
    """
    intake = constant("intake_dry")
    assert intake.low <= 0.2 / 7.0 + 0.005
    assert intake.low <= 0.2 * 0.75 <= intake.high
    assert 0.2 / 7.0 <= intake.value <= 0.2


@pytest.mark.parametrize("feed_kg", [0.05, 0.19])
def test_half_of_the_feeds_solids_become_castings(feed_kg: float) -> None:
    """Abbasi and others (Authorea 420648): 50 +- 10 % of the solids are lost: 4 to 6 kg from 10 kg."""
    rates = replace(Rates(), curing=0.0)
    before, fed_before = fed_for(400, feed_kg, rates)
    after, fed = fed_for(500, feed_kg, rates)
    gained = (after.castings_kg - before.castings_kg) / (fed - fed_before)
    assert 4.0 <= 10.0 * gained <= 6.0


def test_decay_is_slower_than_in_a_hot_reactor_and_faster_than_half_in_two_months_at_its_low_end() -> None:
    """Kumar, Ou, Lin 2010, Waste Management 30:602-609: 33 % of volatile solids in 12 days, hot.

    Half the solids in 60 days (Abbasi and others) is 0.0116 a day.
    """
    decay = constant("decay_rate")
    assert decay.value < -log(1.0 - 0.33) / 12.0
    assert decay.low == pytest.approx(log(2.0) / 60.0, abs=0.0005)


def test_starved_worms_lose_mass_as_published() -> None:
    """Garg and others 2005, Appl. Ecol. Environ. Res. 3:51-59, figs 1a-b: fall from the peak, 25 degC, 75 %.

    Mass per worm, mg: cow manure 895 to 694 and sheep 1308 to 880 in 56 days, donkey 1115 to 732 in 28.
    """
    rates = [log(895 / 694) / 56, log(1308 / 880) / 56, log(1115 / 732) / 28]
    starvation = constant("starvation_rate")
    assert (starvation.low, starvation.high) == pytest.approx((min(rates), max(rates)), abs=5e-4)
    assert min(rates) <= starvation.value <= max(rates)
    side, other = Side(worms_kg=0.05), Side()
    for _ in range(56):
        side, other, _ = wormbed.advance(side, other, (WARM, WARM), Rates(), 0.6)
    assert min(rates) <= -log(side.worms_kg / 0.05) / 56 <= max(rates)


def test_salt_and_layer_advice_has_its_source() -> None:
    """R. Sherman (NC State): layers of about 1 inch."""
    assert UNITS.Quantity(constant("layer").value, "m").to("inch").magnitude == pytest.approx(1.0, abs=0.02)
