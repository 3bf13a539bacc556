"""Landfill methane: nothing from nothing, carbon kept, knobs that only turn one way."""

import math
from math import fsum

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fallowside.core import landfill, sources
from fallowside.core.errors import OutOfRange, UnknownName
from fallowside.core.landfill import CLIMATES, FEEDSTOCKS, avoided, co2e_kg, methane, site_mcf, treatment

deposits = st.lists(st.floats(0.0, 1e6), max_size=8)
shares = st.floats(0.0, 1.0)
kinds, climates = st.sampled_from(FEEDSTOCKS), st.sampled_from(CLIMATES)


@given(deposits, kinds, climates, st.integers(0, 60))
def test_a_landfill_never_emits_more_than_the_carbon_it_got(
    kg: list[float], feedstock: str, climate: str, years: int
) -> None:
    found = methane(kg, feedstock=feedstock, climate=climate, years=years)
    most = fsum(kg) * sources.value(f"landfill.doc_wet_{feedstock}") * 0.5 * 0.5 * 16.0 / 12.0
    assert len(found) == years
    assert min(found, default=0.0) >= 0.0
    assert fsum(found) <= most * (1.0 + 1e-12)


@given(st.floats(1.0, 1e6), kinds, climates)
def test_in_the_end_all_of_it_comes_out(kg: float, feedstock: str, climate: str) -> None:
    found = methane([kg], feedstock=feedstock, climate=climate, years=1000)
    whole = kg * sources.value(f"landfill.doc_wet_{feedstock}") * 0.5 * 0.5 * 16.0 / 12.0
    assert fsum(found) == pytest.approx(whole, rel=1e-8)


@given(deposits, kinds, climates)
def test_a_year_of_deposits_counts_as_each_of_them_alone(
    kg: list[float], feedstock: str, climate: str
) -> None:
    together = methane(kg, feedstock=feedstock, climate=climate, years=20)
    alone = [
        methane([0.0] * year + [one], feedstock=feedstock, climate=climate, years=20)
        for year, one in enumerate(kg)
    ]
    for year, found in enumerate(together):
        assert found == pytest.approx(fsum(one[year] for one in alone), rel=1e-9, abs=1e-12)


@given(shares, shares, shares, st.floats(0.0, 100.0))
def test_capture_oxidation_and_site_scale_what_gets_out(
    capture: float, oxidation: float, mcf: float, dry: float
) -> None:
    plain = methane([100.0], feedstock="food", climate="tropical_dry", years=9)
    less = methane(
        [100.0],
        feedstock="food",
        climate="tropical_dry",
        years=9,
        capture=capture,
        oxidation=oxidation,
        mcf=mcf,
        dry_matter_pct=dry,
    )
    carbon = sources.value("landfill.doc_dry_food") * dry / 100.0 / sources.value("landfill.doc_wet_food")
    scale = (1.0 - capture) * (1.0 - oxidation) * mcf * carbon
    assert less == pytest.approx([kg * scale for kg in plain], rel=1e-9, abs=1e-15)


def test_nothing_is_emitted_in_the_year_of_the_first_deposit() -> None:
    assert methane([500.0, 500.0], feedstock="food", climate="tropical_wet", years=1) == [0.0]
    assert methane([], feedstock="food", climate="tropical_wet", years=3) == [0.0, 0.0, 0.0]
    assert methane([500.0], feedstock="food", climate="tropical_wet", years=0) == []


def test_watery_scraps_make_a_third_of_what_the_default_says() -> None:
    wet = {"feedstock": "food", "climate": "temperate_wet", "years": 50}
    whole, watery = methane([1.0], **wet), methane([1.0], **wet, dry_matter_pct=13.0)  # type: ignore[arg-type]
    assert fsum(watery) / fsum(whole) == pytest.approx(0.0494 / 0.15)


@given(st.floats(0.0, 1e5), st.sampled_from(["bed", "bin"]), kinds, climates, st.integers(0, 100))
def test_the_ends_hold_the_middle_and_the_net_sets_them_against_each_other(
    kg: float, how: str, feedstock: str, climate: str, years: int
) -> None:
    found = avoided(kg, how, feedstock=feedstock, climate=climate, years=years)
    for span in (found.landfill_kg, found.treatment_kg, found.net_kg):
        assert span.low <= span.mid <= span.high
    assert found.net_kg.mid == found.landfill_kg.mid - found.treatment_kg.mid
    assert found.net_kg.low == found.landfill_kg.low - found.treatment_kg.high


def test_a_net_below_zero_is_said_not_hidden() -> None:
    captured = avoided(100.0, "bed", feedstock="wood", climate="temperate_dry", years=2, capture=0.9)
    assert captured.net_kg.mid < 0.0


def test_a_bed_of_known_dry_matter_is_reckoned_dry() -> None:
    """IPCC 2006, table 4.1: 10 g CH4 and 0.6 g N2O a dry kg; at 40 % dry matter as the wet figures say."""
    dry, wet = treatment(100.0, "bed", dry_matter_pct=40.0), treatment(100.0, "bed")
    assert dry.mid == pytest.approx(wet.mid, rel=1e-12)


def test_kinds_of_landfill_have_their_corrections() -> None:
    assert [site_mcf(site) for site in landfill.SITES] == [1.0, 0.5, 0.8, 0.4, 0.6]


def test_co2e_adds_the_gases_up() -> None:
    assert co2e_kg() == 0.0
    assert co2e_kg(2.0, 3.0) == pytest.approx(co2e_kg(ch4_kg=2.0) + co2e_kg(n2o_kg=3.0))
    assert co2e_kg(1.0) == co2e_kg(1.0, report="AR6")


@pytest.mark.parametrize(
    "more",
    [
        {"docf": 1.1},
        {"mcf": -0.1},
        {"capture": 1.01},
        {"oxidation": math.nan},
        {"dry_matter_pct": 101.0},
        {"years": -1},
        {"years": 1001},
        {"deposits_kg": [-1.0]},
        {"deposits_kg": [math.inf]},
        {"deposits_kg": [1.0, math.nan], "years": 1},
    ],
)
def test_figures_outside_their_range_are_refused(more: dict[str, object]) -> None:
    call = {"deposits_kg": [1.0], "feedstock": "food", "climate": "temperate_wet", "years": 5} | more
    with pytest.raises(OutOfRange, match="give a value from"):
        methane(**call)  # type: ignore[arg-type]


def test_unknown_names_are_refused_with_the_known_ones() -> None:
    with pytest.raises(UnknownName, match="'meat'; use one of: food, garden, paper, wood"):
        methane([1.0], feedstock="meat", climate="temperate_wet", years=1)
    with pytest.raises(UnknownName, match=r"climate.*tropical_wet"):
        methane([1.0], feedstock="food", climate="arctic", years=1)
    with pytest.raises(UnknownName, match="AR4, AR5, AR6"):
        co2e_kg(1.0, report="AR7")
    with pytest.raises(UnknownName, match="bed, bin"):
        treatment(1.0, "pond")
    with pytest.raises(UnknownName, match="shallow"):
        site_mcf("hole")
