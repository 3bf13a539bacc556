"""Warmth between readings against Gaussian process regression with the full covariance matrix.

Rasmussen, Williams 2006, Gaussian Processes for Machine Learning, equations 2.25 and 2.26; the
exponential covariance makes an Ornstein-Uhlenbeck process, which needs the two nearest readings only.
"""

import numpy as np
import pytest

from fallowside.core import sources, warmth

SPREAD = sources.value("worms.bed_spread_unknown")
MEMORY = sources.value("worms.bed_memory")
THERMOMETER = sources.value("worms.thermometer_spread")
READINGS = [(100, 21.0), (104, 23.5), (119, 17.0), (121, 18.0)]


def regression(days: list[int], mean: float) -> tuple[np.ndarray, np.ndarray]:
    """Give mean and variance of an exponential-covariance process pinned at the readings."""
    at = np.array([day for day, _ in READINGS], dtype=float)
    read = np.array([value for _, value in READINGS])
    want = np.array(days, dtype=float)

    def kernel(one: np.ndarray, two: np.ndarray) -> np.ndarray:
        return np.asarray(SPREAD**2 * np.exp(-np.abs(one[:, None] - two[None, :]) / MEMORY))

    gain = kernel(want, at) @ np.linalg.inv(kernel(at, at))
    means = mean + gain @ (read - mean)
    variances = SPREAD**2 - np.einsum("ij,ji->i", gain, kernel(at, want))
    return means, variances


def test_between_two_readings_the_bridge_is_the_regression() -> None:
    habit = warmth.Habit()
    found = warmth.between(READINGS, 100, 121, habit=habit)
    for first, last in ((101, 103), (105, 118), (120, 120)):
        days = list(range(first, last + 1))
        # Between two readings the lead is the one learned up to the second; it is read off in their middle.
        middle = (first + last) // 2
        gain_free, variances = regression(days, 0.0)
        unit, _ = regression(days, 1.0)
        pull = unit - gain_free
        lead = (found.mean_c[middle - 100] - gain_free[middle - first]) / pull[middle - first]
        assert [found.mean_c[day - 100] for day in days] == pytest.approx(
            list(gain_free + lead * pull), abs=1e-9
        )
        least = np.sqrt(variances + THERMOMETER**2)
        assert all(found.spread_c[day - 100] >= one - 1e-12 for day, one in zip(days, least, strict=True))


def test_on_the_day_of_a_reading_only_the_thermometer_is_doubted() -> None:
    found = warmth.between(READINGS, 100, 121)
    for day, value in READINGS:
        assert found.mean_c[day - 100] == pytest.approx(value)
        assert found.spread_c[day - 100] == pytest.approx(THERMOMETER)
