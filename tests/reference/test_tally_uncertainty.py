"""How errors add up, against the international guide, SciPy, and a simulation with NumPy.

JCGM 100:2008 (the GUM), as quoted in an open implementation of it: clause 5.2.2, example, ten resistors
of 1000 ohm calibrated against one standard of u = 0.1 ohm and put in series are known to 1 ohm, and the
0.32 ohm of independent errors "is incorrect because it does not take into account that all of the
calibrated values of the ten resistors are correlated"; clause 5.1.5, independent 12 and 8.7 uV give 15 uV.
"""

import statistics
from math import sqrt

import numpy as np
import pytest
from scipy import stats  # type: ignore[import-untyped]

from fallowside.core import sources
from fallowside.core.accounts.sums import Sum, independent
from fallowside.core.place import Doubt, Mass
from fallowside.core.span import Span
from tests import ledgers
from tests.logs import entry, kg, setups

EIGHTY = float(stats.norm.ppf(0.9))
"""Half an 80 % range of a normal distribution, in standard deviations."""


def resistor(number: int, standard: str, ohm: float = 1000.0, u: float = 0.1) -> Mass:
    return Mass(ohm, ohm - u, ohm + u, "by_container", Doubt(standard, u / ohm, u / ohm), 0.0)


def half(total: Sum) -> float:
    span = total.span()
    return (span.high - span.low) / 2.0


def test_ten_resistors_of_one_standard_share_its_error() -> None:
    series = Sum()
    for number in range(10):
        series.add(resistor(number, "one"))
    assert half(series) == pytest.approx(1.0, rel=1e-9)


def test_ten_resistors_of_ten_standards_do_not() -> None:
    series = Sum()
    for number in range(10):
        series.add(resistor(number, f"number {number}"))
    assert half(series) == pytest.approx(0.32, abs=0.005)


def test_a_shared_error_cancels_in_a_difference() -> None:
    bridge = Sum()
    bridge.add(resistor(0, "one"))
    bridge.add(resistor(1, "one"), -1.0)
    assert half(bridge) == 0.0


def test_independent_errors_add_as_squares() -> None:
    found = independent([Span(-12.0, 0.0, 12.0), Span(-8.7, 0.0, 8.7)])
    assert found.high == pytest.approx(15.0, abs=0.5)


def test_a_level_read_to_a_quarter_has_the_range_of_a_rectangle() -> None:
    """A rectangular distribution 25 % wide holds 80 % within 10 % either side; its standard deviation is
    7.2 %."""
    level = stats.uniform(loc=-0.125, scale=0.25)
    assert sources.value("tally.fill_spread") == pytest.approx(level.ppf(0.9), rel=1e-9)
    assert level.std() == pytest.approx(0.072, abs=0.0005)


def test_packing_is_that_of_ten_weighed_vessels() -> None:
    """Ten fillings made up for the purpose, no measurement: mean 2.405 kg, s 0.2202 kg, CV 9.15 %."""
    full = [2.31, 2.58, 2.02, 2.75, 2.44, 2.19, 2.63, 2.37, 2.50, 2.26]
    cv = statistics.stdev(full) / statistics.fmean(full)
    assert cv == pytest.approx(0.0915, abs=5e-5)
    for name in ("packing_spread", "calibration_spread"):
        assert sources.value(f"tally.{name}") == pytest.approx(EIGHTY * cv, abs=0.005)


def test_a_year_of_fillings_keeps_the_error_of_its_one_weighing() -> None:
    """52 fillings: the random errors shrink with the root of the count, the weighing's does not (JCGM
    100:2008, 5.2.2)."""
    feeds = [
        entry("feed", 60 * n, station="bin", feedstock="bread", amount={"container": "caddy", "filled": 1.0})
        for n in range(1, 53)
    ]
    net = ledgers.year([*setups(), *feeds])["net"]
    assert net["value"] is not None
    assert net["high"] is not None
    share = (net["high"] - net["value"]) / net["value"]
    random = sqrt(sources.value("tally.packing_spread") ** 2 + sources.value("tally.fill_spread") ** 2)
    expected = sqrt(sources.value("tally.calibration_spread") ** 2 + random**2 / 52)
    assert share == pytest.approx(expected, rel=1e-5)
    assert share > sources.value("tally.calibration_spread")


def test_the_range_of_a_sum_holds_four_of_five_simulated_truths() -> None:
    """Two caddies weighed once each, a density, and rejects taken off again, drawn 40,000 times."""
    chance = np.random.default_rng(20260601)
    runs = 40_000
    feeds = [("caddy", 0.5 + 0.1 * n) for n in range(12)] + [("crock", 1.0)] * 6
    again = entry("setup", 1, what="container", item="crock", set={"full_mass": kg(3.0)})
    raws = [
        entry("feed", 10 + n, station="bin", feedstock="bread", amount={"container": name, "filled": part})
        for n, (name, part) in enumerate(feeds)
    ]
    back = {"container": "caddy", "filled": 2.0}
    gone = entry("reject", 90, station="bin", feedstock="bread", amount=back, to="landfill")
    net = ledgers.year([*setups(), again, *raws, gone])["net"]
    full = {"caddy": 2.4, "crock": 3.0}
    weighing = sources.value("tally.calibration_spread") / EIGHTY
    packing, level = (
        sources.value("tally.packing_spread") / EIGHTY,
        sources.value("tally.fill_spread") / EIGHTY,
    )
    truth = np.zeros(runs)
    scale = {name: 1.0 + weighing * chance.standard_normal(runs) for name in full}
    for name, part, sign in [(name, part, 1.0) for name, part in feeds] + [("caddy", 2.0, -1.0)]:
        own = packing * part * chance.standard_normal(runs) + level * chance.standard_normal(runs)
        truth += sign * full[name] * (part * scale[name] + own)
    assert net["low"] is not None
    assert net["high"] is not None
    inside = float(np.mean((truth >= net["low"]) & (truth <= net["high"])))
    assert inside == pytest.approx(0.80, abs=0.01)
