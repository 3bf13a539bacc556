"""Share of worms on the feeding side: exact Beta intervals against SciPy."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import beta  # type: ignore[import-untyped]

from fallowside.core import rotation

COUNTS = st.lists(st.integers(0, 80), min_size=1, max_size=6)


@pytest.mark.parametrize(
    ("fed", "resting", "psi", "ratio", "low", "high"),
    [
        (46, 4, 1.0, 1.0, 0.821, 0.972),
        (18, 2, 1.0, 1.0, 0.716, 0.979),
        (9, 1, 1.0, 1.0, 0.619, 0.989),
        (25, 0, 1.0, 1.0, 0.905, 1.000),
        (120, 30, 1.0, 1.0, 0.731, 0.858),
        (230, 20, 1.0, 1.0, 0.882, 0.949),
        (46, 4, 3.0, 1.0, 0.722, 0.988),
        (120, 30, 3.0, 1.0, 0.674, 0.892),
        (46, 4, 1.0, 1.5, 0.873, 0.981),
        (46, 4, 1.0, 0.5, 0.696, 0.946),
    ],
)
def test_jeffreys_interval_is_that_of_scipy(
    fed: int, resting: int, psi: float, ratio: float, low: float, high: float
) -> None:
    """95 % intervals computed with scipy.stats.beta 1.17.1 (Jeffreys prior), to three digits."""
    span = rotation.share([fed], [resting], 0.95, dispersion=psi, volume_ratio=ratio)
    assert (span.low, span.high) == pytest.approx((low, high), abs=0.0006)


@settings(max_examples=60, deadline=None)
@given(
    fed=COUNTS,
    resting=COUNTS,
    level=st.floats(0.5, 0.99),
    psi=st.floats(1.0, 5.0),
    ratio=st.floats(0.2, 5.0),
)
def test_any_interval_is_that_of_scipy(
    fed: list[int], resting: list[int], level: float, psi: float, ratio: float
) -> None:
    span = rotation.share(fed, resting, level, dispersion=psi, volume_ratio=ratio)
    tail = (1.0 - level) / 2.0
    scooped = beta.ppf([tail, 0.5, 1.0 - tail], sum(fed) / psi + 0.5, sum(resting) / psi + 0.5)
    expected = [one * ratio / (one * ratio + 1.0 - one) for one in scooped]
    assert [span.low, span.mid, span.high] == pytest.approx(expected, abs=1e-7)


def test_eighteen_worms_and_none_left_make_nine_tenths_sure() -> None:
    """18 on the fed side and none on the resting side: one-sided 95 % that more than 0.9 moved (SciPy)."""
    assert rotation.share([18], [0], 0.9).low > 0.9 > rotation.share([17], [0], 0.9).low
