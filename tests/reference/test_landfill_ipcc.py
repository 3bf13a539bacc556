"""Methane of landfilled scraps against the IPCC's own method, run by an independent implementation.

The figures were printed by the elementary functions of the open library bonsai-ipcc 0.5.3 (IPCC 2006
Guidelines, volume 5, chapter 3: `ddoc_from_wd_data`, `ddoc_m_decomp_t`, `ddoc_ma_t`, `ch4_generated`,
`ch4_emissions`), one tonne, Gg turned into kg. The library is not installed here, since it draws
in some hundred packages. Its year-by-year driver is not used: it runs series backwards. Tolerance:
the five decimals that were printed.
"""

from math import fsum

import globalwarmingpotentials  # type: ignore[import-untyped]
import pytest

from fallowside.core.landfill import avoided, co2e_kg, methane, treatment

# 1000 kg of food waste, wet temperate, managed and anaerobic: kg of methane in years 0 to 30.
YEARLY = """0 8.44479 7.0185 5.8331 4.84792 4.02912 3.34862 2.78305 2.31301 1.92235 1.59767 1.32783 1.10357
0.91718 0.76227 0.63353 0.52653 0.4376 0.36369 0.30227 0.25121 0.20878 0.17352 0.14421 0.11986 0.09961
0.08279 0.06881 0.05719 0.04753 0.0395"""

PRINTED = 5e-6
COVER = {"oxidation": 0.1}


def test_a_tonne_of_food_waste_year_by_year() -> None:
    found = methane([1000.0], feedstock="food", climate="temperate_wet", years=31)
    assert found == pytest.approx([float(kg) for kg in YEARLY.split()], abs=1.001 * PRINTED)


@pytest.mark.parametrize(
    ("feedstock", "climate", "more", "year_1", "by_5", "by_10", "by_20", "by_30", "by_50"),
    [
        ("food", "temperate_wet", {}, 8.44479, 30.17343, 42.13814, 48.76382, 49.80563, 49.99519),
        (
            "food",
            "temperate_wet",
            {"oxidation": 0.1},
            7.60031,
            27.15609,
            37.92433,
            43.88744,
            44.82506,
            44.99567,
        ),
        (
            "food",
            "temperate_wet",
            {"docf": 0.7, **COVER},
            10.64043,
            38.01852,
            53.09406,
            61.44242,
            62.75509,
            62.99394,
        ),
        ("food", "temperate_dry", {}, 2.91177, 12.95909, 22.55942, 34.94029, 41.73506, 47.51065),
        ("food", "tropical_wet", {}, 16.484, 43.23324, 49.08422, 49.98323, 49.99969, 50.0),
        ("food", "tropical_dry", {}, 4.07439, 17.31151, 28.62925, 40.86582, 46.09592, 49.28679),
        ("food", "temperate_wet", {"mcf": 0.4}, 3.37791, 12.06937, 16.85526, 19.50553, 19.92225, 19.99808),
        ("garden", "temperate_wet", {}, 6.34417, 26.23129, 42.14137, 57.64431, 63.34753, 66.21747),
        ("paper", "temperate_wet", {}, 7.76473, 34.55757, 60.15845, 93.17411, 111.29348, 126.69506),
        ("wood", "temperate_wet", {}, 4.23614, 19.96519, 37.14939, 64.67033, 85.05835, 111.35134),
    ],
)
def test_a_tonne_of_each_by_climate_and_site(
    feedstock: str,
    climate: str,
    more: dict[str, float],
    year_1: float,
    by_5: float,
    by_10: float,
    by_20: float,
    by_30: float,
    by_50: float,
) -> None:
    found = methane([1000.0], feedstock=feedstock, climate=climate, years=51, **more)
    sums = [fsum(found[: year + 1]) for year in (1, 5, 10, 20, 30, 50)]
    assert sums == pytest.approx([year_1, by_5, by_10, by_20, by_30, by_50], abs=1.001 * PRINTED)


def test_five_years_of_deposits() -> None:
    """100 kg a year in years 0 to 4, a tenth oxidised: 17.201149 kg by year 10, each year's deposit
    run through the same elementary functions and added."""
    found = methane([100.0] * 5, feedstock="food", climate="temperate_wet", years=11, docf=0.5, oxidation=0.1)
    assert fsum(found) == pytest.approx(17.201149, abs=5e-7)


@pytest.mark.parametrize("report", ["AR4", "AR5", "AR6"])
def test_warming_potentials_are_those_of_the_assessment_reports(report: str) -> None:
    """Against globalwarmingpotentials 0.13.2, an independent table of the IPCC's reports."""
    table = globalwarmingpotentials.data[f"{report}GWP100"]
    assert co2e_kg(ch4_kg=1.0, report=report) == table["CH4"]
    assert co2e_kg(n2o_kg=1.0, report=report) == table["N2O"]


@pytest.mark.parametrize(("report", "kg"), [("AR4", 171.52), ("AR5", 175.60), ("AR6", 177.12)])
def test_composting_a_tonne(report: str, kg: float) -> None:
    """IPCC 2006, volume 5, table 4.1: 4 g CH4 and 0.24 g N2O a wet kg, weighed as above. (The library's
    own functions multiply by 0.01 where eq. 4.1 wants 0.001 and give 1756; its table is right.)"""
    assert treatment(1000.0, "bed", report=report).mid == pytest.approx(kg, abs=1e-9)


def test_the_ends_of_composting() -> None:
    """Table 4.1 again, ends of its ranges with AR5: 0.03 · 28 + 0.06 · 265 and 8 · 28 + 0.6 · 265."""
    span = treatment(1000.0, "bed", report="AR5")
    assert [span.low, span.high] == pytest.approx([16.74, 383.0])


@pytest.mark.parametrize(
    ("report", "landfill", "net"),
    [("AR4", 1250.0, 1078.48), ("AR5", 1400.0, 1224.40), ("AR6", 1395.0, 1217.88)],
)
def test_arithmetic_avoided_by_a_tonne(report: str, landfill: float, net: float) -> None:
    """Arithmetic on the figures above: 50 kg of methane in the end, less composting."""
    found = avoided(
        1000.0, "bed", feedstock="food", climate="tropical_wet", years=200, report=report, docf=0.5
    )
    assert found.landfill_kg.mid == pytest.approx(landfill, abs=1e-6)
    assert found.net_kg.mid == pytest.approx(net, abs=1e-6)


def test_arithmetic_ends_of_a_tonne_of_food() -> None:
    """1000 · 0.08 · 0.49 · 2/3 = 26.13 and 1000 · 0.20 · 0.91 · 2/3 = 121.3 kg of methane, from the ends of
    IPCC 2006 table 2.4 and of the 2019 Refinement's table 3.0."""
    span = avoided(
        1000.0, "bed", feedstock="food", climate="tropical_wet", years=1000, report="AR5"
    ).landfill_kg
    assert span.low / 28.0 == pytest.approx(26.1333, abs=5e-5)
    assert span.high / 28.0 == pytest.approx(121.3333, abs=5e-5)


def test_half_of_food_waste_carbon_is_gone_in_less_than_four_years() -> None:
    """US EPA 2023 (EPA-600-R-23-064): half of the carbon of landfilled food waste degrades within
    3.6 years; here ln 2 / 0.185 = 3.75. Tolerance: its one decimal and the spread of k, 0.10 to 0.20."""
    found = methane([1000.0], feedstock="food", climate="temperate_wet", years=400)
    half = next(year for year in range(400) if fsum(found[: year + 1]) > fsum(found) / 2.0)
    assert half == 4
    assert fsum(found[:4]) / fsum(found) == pytest.approx(0.426, abs=0.0005)
