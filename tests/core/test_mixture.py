"""Ranges from mixtures of gamma distributions, against scipy.stats.gamma."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq  # type: ignore[import-untyped]
from scipy.stats import gamma  # type: ignore[import-untyped]

from fallowside.core.larvae import mixture
from fallowside.core.larvae.mixture import Part, below, points, quick_points

MIXTURES = [
    [Part(1.0, 50.0, 0.2)],
    [Part(0.5, 50.0, 0.1), Part(0.5, 500.0, 0.3)],
    [Part(0.2, 5.0, 1.5), Part(0.5, 8.0, 0.8), Part(0.3, 900.0, 0.05)],
]


def exact(parts: list[Part], stretch: float, count: float) -> float:
    return float(
        sum(
            part.weight
            * gamma.cdf(count, 1.0 / (part.variance * stretch), scale=part.mean * part.variance * stretch)
            for part in parts
        )
    )


@pytest.mark.parametrize("parts", MIXTURES)
@pytest.mark.parametrize("stretch", [0.5, 1.0, 2.0])
def test_points_are_those_of_the_exact_mixture(parts: list[Part], stretch: float) -> None:
    for share, found in zip((0.1, 0.5, 0.9), points(parts, stretch), strict=True):
        wanted = brentq(lambda count, q=share: exact(parts, stretch, count) - q, 0.0, 1e5)
        assert found == pytest.approx(wanted, rel=1e-4)
        assert below(parts, stretch, found) == pytest.approx(share, abs=1e-4)


def halved(parts: list[Part], stretch: float, share: float) -> float:
    """Halve to a point with nothing known beforehand: what the search must give, in many more steps."""
    low, high = 0.0, max(part.mean * (1.0 + 12.0 * math.sqrt(part.variance * stretch)) for part in parts)
    for _ in range(26):
        middle = (low + high) / 2.0
        if below(parts, stretch, middle) < share:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


@given(
    st.lists(
        st.tuples(st.floats(1e-3, 1.0), st.floats(1e-3, 1e6), st.floats(1e-3, 20.0)), min_size=1, max_size=3
    ),
    st.floats(0.1, 8.0),
)
def test_a_point_sought_by_secants_is_the_one_halved_to(
    rows: list[tuple[float, float, float]], stretch: float
) -> None:
    whole = sum(weight for weight, _, _ in rows)
    parts = [Part(weight / whole, mean, variance) for weight, mean, variance in rows]
    assert points(parts, stretch) == tuple(halved(parts, stretch, share) for share in (0.1, 0.5, 0.9))


@pytest.mark.parametrize("parts", MIXTURES)
def test_a_point_asks_for_far_fewer_chances_than_halving(
    parts: list[Part], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = 0

    def counted(*of: Any) -> float:
        nonlocal asked
        asked += 1
        return below(*of)

    monkeypatch.setattr(mixture, "below", counted)
    points(parts, 1.0)
    assert asked <= 3 * 26 // 2


@pytest.mark.parametrize("variance", [0.05, 0.2, 0.5, 0.9])
def test_quick_points_of_one_gamma_are_within_2_percent_of_its_spread(variance: float) -> None:
    """Wilson, Hilferty 1931; scipy.stats.gamma.ppf, shapes above 1."""
    exact_points = gamma.ppf([0.1, 0.5, 0.9], 1.0 / variance, scale=100.0 * variance)
    quick = quick_points([Part(1.0, 100.0, variance)], 1.0)
    assert np.max(np.abs(np.array(quick) - exact_points)) <= 0.02 * (exact_points[2] - exact_points[0])


@given(st.floats(1e-3, 1e6), st.floats(1e-4, 1e3), st.floats(0.05, 8.0))
def test_points_are_in_order_and_never_below_zero(mean: float, variance: float, stretch: float) -> None:
    for found in (
        points([Part(1.0, mean, variance)], stretch),
        quick_points([Part(1.0, mean, variance)], stretch),
    ):
        assert 0.0 <= found[0] <= found[1] <= found[2]
