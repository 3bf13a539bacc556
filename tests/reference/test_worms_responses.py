"""Temperature and moisture responses of composting worms against published growth series and limits.

Growth tables were digitised by J. Mathieu 2018 (EGrowth: a global database on intraspecific body growth
variability in earthworm, Soil Biol. Biochem. 122:71-80): 3 to 5 % of full scale is reading error.
"""

from math import log

import pytest
from scipy.optimize import curve_fit  # type: ignore[import-untyped]

from fallowside.core import sources, wormbed

# Mean live mass per worm, mg, at the start and after 45 or 46 days.
# Tripathi, Bhardwaj 2004, Bioresource Technol. 92:275-283, fig 3a.
TRIPATHI = {15.0: (91, 182), 20.0: (83, 397), 25.0: (91, 803), 30.0: (91, 712), 35.0: (99, 604)}
# Edwards 1988, in Earthworms in Waste and Environmental Management, pp 21-31, fig 1.
EDWARDS = {10.0: (62, 207), 15.0: (63, 653), 20.0: (63, 986), 25.0: (65, 1056)}
FIT_ERROR = 0.14
"""Root mean square error of the cardinal law fitted to both series."""


def relative(series: dict[float, tuple[int, int]]) -> dict[float, float]:
    """Give the logarithmic growth of each temperature relative to that at 25 degC."""
    rates = {celsius: log(end / start) for celsius, (start, end) in series.items()}
    return {celsius: rate / rates[25.0] for celsius, rate in rates.items()}


POINTS = [*relative(TRIPATHI).items(), *relative(EDWARDS).items()]


def test_the_law_fits_both_growth_series_as_well_as_the_facts_allow() -> None:
    """Fit of all nine points: f(15)/f(25) = 0.64 +- 0.15 and f(30)/f(25) = 1.0 +- 0.15."""

    def law(celsius: list[float], scale: float, low: float, best: float, high: float) -> list[float]:
        return [scale * wormbed.cardinal(float(one), low, best, high) for one in celsius]

    celsius = [one for one, _ in POINTS]
    found, _ = curve_fit(law, celsius, [share for _, share in POINTS], p0=(1.0, -2.0, 27.0, 43.0))
    _, low, best, high = found
    at_25 = wormbed.cardinal(25.0, low, best, high)
    assert wormbed.cardinal(15.0, low, best, high) / at_25 == pytest.approx(0.64, abs=0.15)
    assert wormbed.cardinal(30.0, low, best, high) / at_25 == pytest.approx(1.0, abs=0.15)
    assert 25.0 <= best <= 30.0
    errors = [law([one], *found)[0] - share for one, share in POINTS]
    assert (sum(error * error for error in errors) / len(errors)) ** 0.5 == pytest.approx(FIT_ERROR, abs=0.02)


@pytest.mark.parametrize("celsius", [10.0, 15.0, 20.0, 30.0])
def test_activity_lies_among_the_published_rates_within_the_error_of_the_fit(celsius: float) -> None:
    """Between the lower and higher of the two series' rates, in mg a day or in logarithms."""
    published = []
    for series in (TRIPATHI, EDWARDS):
        if celsius in series:
            start, end = series[celsius]
            best_start, best_end = series[25.0]
            published += [(end - start) / (best_end - best_start), relative(series)[celsius]]
    assert min(published) - FIT_ERROR <= wormbed.activity(celsius) <= max(published) + FIT_ERROR


def test_activity_is_high_over_the_range_of_greatest_weight_gain() -> None:
    """Kaplan, Hartenstein, Neuhauser, Malecki 1980, Soil Biol. Biochem. 12:347-352: 20 to 29 degC."""
    assert all(wormbed.activity(20.0 + step / 4.0) >= 0.85 for step in range(37))


def test_worms_hardly_work_outside_the_handbook_limits() -> None:
    """Edwards, Earthworm Ecology, table 18.3: limits 4 and 30 degC, 60 and 90 % moisture."""
    assert wormbed.activity(4.0) < 0.05
    assert wormbed.activity(36.0) == 0.0
    assert wormbed.moisture_factor(60.0) <= 0.25
    assert wormbed.moisture_factor(95.0) == 0.0


def test_moisture_comfort_is_that_of_the_published_optimum() -> None:
    """Kaplan and others 1980: 70 to 85 %."""
    assert all(wormbed.moisture_factor(70.0 + step / 2.0) >= 0.8 for step in range(31))


# Reinecke, Venter 1985, Rev. Ecol. Biol. Sol 22:473-481, figs 1-3: mass at day 30 of hatchlings of 4 mg,
# mean of the three printed series.
MOISTURE_GROWTH = {73.5: (423 + 408 + 312) / 3, 61.0: (60 + 56 + 58) / 3, 52.0: (9 + 5 + 2) / 3}


@pytest.mark.parametrize(("moisture", "most"), [(61.0, 0.65), (52.0, 0.15)])
def test_dry_beds_slow_worms_at_least_as_much_as_published(moisture: float, most: float) -> None:
    """Logarithmic growth relative to that at 73.5 %: printed 0.59 at 61 % and 0.06 at 52 %."""
    printed = log(MOISTURE_GROWTH[moisture] / 4.0) / log(MOISTURE_GROWTH[73.5] / 4.0)
    assert printed <= most
    assert wormbed.moisture_factor(moisture) / wormbed.moisture_factor(73.5) <= most


def test_drying_follows_the_vapour_pressures_of_the_fao_example() -> None:
    """FAO Irrigation and Drainage Paper 56, example 3: 3.075 kPa at 24.5 degC and 1.705 at 15.0."""
    ratio = wormbed.drying_factor(24.5) / wormbed.drying_factor(15.0)
    assert ratio == pytest.approx(3.075 / 1.705, rel=5e-4)


def test_thresholds_are_those_of_the_abstracts() -> None:
    """Kaplan and others 1980: all dead within a week below pH 5 and above pH 9; 70 to 85 % moisture."""
    assert (sources.value("worms.ph_low"), sources.value("worms.ph_high")) == (5.0, 9.0)
    low, high = sources.value("worms.moisture_comfort_low"), sources.value("worms.moisture_comfort_high")
    assert (low, high) == (70.0, 85.0)
