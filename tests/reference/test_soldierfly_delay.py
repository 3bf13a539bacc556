"""The distributed delay of a larvae bin against the exact gamma distribution and the boxes' equations.

References: scipy.stats.gamma for the transit time of k boxes in a row (Erlang, mean 1, CV 1/sqrt(k)), and
scipy.integrate.solve_ivp for the boxes themselves under changing temperature.
"""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp  # type: ignore[import-untyped]
from scipy.stats import gamma  # type: ignore[import-untyped]

from fallowside.core.larvae import recruits
from fallowside.core.larvae.recruits import Day

BOXES = int(recruits.value("boxes"))


def transit(steps: list[float]) -> list[float]:
    """Give what leaves on each day of a thousand recruits that came on the first."""
    run = recruits.begin(1.0, 0.0, 0.0, Day(steps[0], 0.0))
    run.mean = [np.log(1000.0)] * len(run.mean)
    recruits.advance(run, Day(0.0, 1.0))
    run.mean = [float(np.log(1000.0))] * len(run.mean)
    left = []
    for step in steps:
        since = run.clock
        recruits.advance(run, Day(step, 0.0))
        left.append(recruits.leaving(run, since)[1])
    return left


def test_the_share_gone_is_the_exact_distribution() -> None:
    """scipy.stats.gamma(25, scale=1/25), within 1 % and 1 in 1 000 of all."""
    for age in np.linspace(0.3, 1.75, 60):
        exact = float(gamma.cdf(age, BOXES, scale=1.0 / BOXES))
        assert recruits.gone(float(age)) == pytest.approx(exact, rel=0.01, abs=1e-6)


@pytest.mark.parametrize(("share", "at_30"), [(0.05, 9.80), (0.50, 13.91), (0.95, 19.04)])
def test_transit_times_at_30_degrees(share: float, at_30: float) -> None:
    """k = 25, mean 14.1 d: 5, 50 and 95 % gone by 9.80, 13.91 and 19.04 d (scipy.stats.gamma.ppf)."""
    assert float(gamma.ppf(share, 25, scale=14.1 / 25)) == pytest.approx(at_30, abs=0.04)
    assert recruits.gone(at_30 / 14.1) == pytest.approx(share, abs=0.005)


def test_daily_exits_at_constant_temperature_are_the_distributions_steps() -> None:
    """scipy.stats.gamma.cdf differences, day by day, within 1 % of the largest."""
    step = 1.0 / 17.3
    left = np.array(transit([step] * 40))
    exact = 1000.0 * np.diff(gamma.cdf(np.arange(41) * step, BOXES, scale=1.0 / BOXES))
    assert np.max(np.abs(left - exact)) <= 0.01 * exact.max()
    assert left.sum() == pytest.approx(1000.0, rel=1e-9)


def test_mean_and_variance_of_the_transit_are_erlangs() -> None:
    """Mean 1/r and variance 1/(k r^2), within 1 %; a day's width adds 1/12."""
    step = 1.0 / 20.0
    left = np.array(transit([step] * 60))
    middle = np.arange(60) + 0.5
    mean = float((left * middle).sum() / left.sum())
    variance = float((left * (middle - mean) ** 2).sum() / left.sum()) - 1.0 / 12.0
    assert mean == pytest.approx(20.0, rel=0.01)
    assert variance == pytest.approx(400.0 / BOXES, rel=0.01)


def test_boxes_under_changing_temperature() -> None:
    """solve_ivp of k boxes, dQ1/dt = -k r Q1, dQi/dt = k r (Q(i-1) - Qi), r changing daily; within 1 %."""
    rng = np.random.default_rng(11)
    steps = [float(one) for one in rng.uniform(0.01, 0.09, 60)]
    left = np.cumsum(transit(steps))
    boxes: NDArray[np.float64] = np.zeros(BOXES)
    boxes[0] = 1000.0
    out = []
    for step in steps:
        boxes = solve_ivp(_flow(BOXES * step), (0.0, 1.0), boxes, rtol=1e-9, atol=1e-9).y[:, -1]
        out.append(1000.0 - boxes.sum())
    assert np.max(np.abs(left - np.array(out))) <= 0.01 * 1000.0


def _flow(pace: float) -> Callable[[float, NDArray[np.float64]], NDArray[np.float64]]:
    def change(_: float, boxes: NDArray[np.float64]) -> NDArray[np.float64]:
        return pace * (np.concatenate([[0.0], boxes[:-1]]) - boxes)

    return change
