"""Avoided methane of the ledger, against published warming potentials, factors and measurements."""

import globalwarmingpotentials  # type: ignore[import-untyped]
import pytest

from fallowside.core import shapes, sources
from fallowside.core.accounts import avoided
from fallowside.core.accounts.avoided import Scraps, Treated, by_year, methane, net
from tests import ledgers
from tests.logs import Raw, entry, kg, setups

TONNE = [Scraps("food", 400.0, 1000.0, 0.0, 0.0)]
HERE = Treated(400.0, 1000.0, None, 0.0)
WET = ["temperate_wet"]


def potential(report: str, gas: str) -> float:
    return float(globalwarmingpotentials.data[f"{report}GWP100"][gas])


@pytest.mark.parametrize("report", ["AR4", "AR5", "AR6"])
def test_a_tonne_of_food_waste_is_landfill_less_composting(report: str) -> None:
    """Food waste in a managed landfill of a wet temperate climate makes 50 kg of methane a tonne (IPCC 2006,
    volume 5, table 2.4 and equations 3.2 to 3.6); composting it makes 4 kg of methane and 0.24 kg of nitrous
    oxide (table 4.1). Potentials from the library globalwarmingpotentials. In a hundred years all but 1e-8
    of it is out."""
    found = net(TONNE, HERE, WET, ["not_captured"], report).net_wet.mid
    ch4, n2o = potential(report, "CH4"), potential(report, "N2O")
    assert found == pytest.approx(50.0 * ch4 - (4.0 * ch4 + 0.24 * n2o), rel=1e-6)


def test_a_collecting_landfill_lets_three_fifths_escape() -> None:
    """61 % of the methane of landfilled food waste is not captured (US EPA-600-R-23-064, 2023)."""
    caught, free = (methane(TONNE, WET, [gas]).mid for gas in avoided.GASES)
    assert caught / free == pytest.approx(0.61, abs=1e-9)


def test_collection_ends_are_those_of_the_published_table() -> None:
    """Food waste in the US EPA's table of collection efficiencies: 0.2220 in a bioreactor run worst, 0.6385
    in a dry landfill under California's rules."""
    constant = sources.constant("avoided.captured")
    assert constant.low == pytest.approx(0.221966939, abs=0.005)
    assert constant.high == pytest.approx(0.638451967, abs=0.005)


def test_half_of_food_waste_is_gas_between_the_first_year_and_the_fifth() -> None:
    """Half of the carbon of food waste is degraded within 3.6 years (US EPA-600-R-23-064, 2023)."""
    found = by_year(TONNE, WET, ["not_captured"])
    assert found[1] < 0.5 * found[100] < found[5]


def test_measured_worm_bins_are_what_was_published() -> None:
    """463 mg of CO2 equivalent per m2 and hour from 34 home worm bins (Chan, Sinha and Wang 2011); their mean
    methane and nitrous oxide by AR4's potentials come within 5 %."""
    days = 1.0 / 24.0
    found = net(TONNE, Treated(400.0, 1000.0, days, 0.0), WET, ["not_captured"], "AR4").measured
    assert found is not None
    assert found.mid * 1e6 == pytest.approx(463.0, rel=0.05)


def test_measured_larvae_are_what_was_published() -> None:
    """16.8 +- 8.6 g of CO2 equivalent per kg of dry larvae (Parodi and others 2020)."""
    found = net(TONNE, Treated(400.0, 1000.0, 0.0, 1.0), WET, ["not_captured"], "AR5").measured
    assert found is not None
    assert [1000.0 * kg for kg in (found.low, found.mid, found.high)] == pytest.approx([8.2, 16.8, 25.4])


# -- the ledger ----------------------------------------------------------------------------------


def year(*raws: Raw, **place: str) -> shapes.Avoided:
    where = entry("setup", 0, what="place", item="place", set=place)
    return ledgers.year([*setups(), where, *raws])["avoided"]


def fed(feedstock: str, kilograms: float) -> Raw:
    return entry("feed", 1, station="bin", feedstock=feedstock, amount=kg(kilograms))


SET = {"climate": "temperate_wet", "landfill_gas": "not_captured"}


def test_watery_scraps_make_less_than_the_ipcc_supposes() -> None:
    """Scraps of 87 % water have 0.13 x 0.38 = 0.049 degradable carbon, a third of the default 0.15."""
    found = year(fed("vegetable_scraps", 1000.0), **SET)["methane_kg"]["mid"]
    assert found == pytest.approx(50.0 * 0.049 / 0.15, rel=0.05)


def test_paper_earns_nothing() -> None:
    assert year(fed("cardboard", 10.0), **SET)["methane_kg"] == {"low": 0.0, "mid": 0.0, "high": 0.0}


def test_what_was_landfilled_after_all_is_taken_off() -> None:
    gone = entry("reject", 2, station="bin", feedstock="bread", amount=kg(100), to="landfill")
    assert year(fed("bread", 100.0), gone, **SET)["methane_kg"]["mid"] == 0.0


def test_what_is_not_set_is_said_and_its_range_holds_every_case() -> None:
    unset = year(fed("bread", 1000.0))
    assert (unset["climate"], unset["landfill_gas"]) == (None, None)
    assert unset["because"]["values"]["unset"] == "both"
    for climate in ("temperate_dry", "tropical_wet"):
        for gas in ("captured", "not_captured"):
            one = year(fed("bread", 1000.0), climate=climate, landfill_gas=gas)["methane_kg"]
            assert unset["methane_kg"]["low"] <= one["low"]
            assert one["high"] <= unset["methane_kg"]["high"]


def test_not_knowing_about_the_gas_is_as_not_having_said() -> None:
    found = year(fed("bread", 1.0), climate="temperate_wet", landfill_gas="not_known")
    assert (found["landfill_gas"], found["because"]["values"]["unset"]) == (None, "gas")


def test_an_own_stream_goes_by_what_its_feedstock_is_like() -> None:
    own = {"like": "grass", "stream": "lawn of the neighbour"}
    cut = entry("setup", 0.5, what="feedstock", item="cuttings", set=own)
    as_garden = year(cut, fed("cuttings", 1000.0), **SET)["methane_kg"]
    assert as_garden == year(fed("grass", 1000.0), **SET)["methane_kg"]
