"""The simplex method against SciPy's solver of linear programmes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog  # type: ignore[import-untyped]

from fallowside.core.errors import OutOfRange
from fallowside.core.simplex import maximise

Programme = tuple[list[float], list[list[float]], list[float]]
coefficients = st.sampled_from([-1.0, -0.5, 0.0, 0.0, 0.25, 1.0, 3.0]) | st.floats(-2.0, 2.0).map(
    lambda x: round(x, 3)
)


@st.composite
def programmes(draw: st.DrawFn) -> Programme:
    """Make a programme whose unknowns are bounded by its last rows, often with limits of nought."""
    count = draw(st.integers(1, 7))
    rows = draw(st.lists(st.lists(coefficients, min_size=count, max_size=count), max_size=8))
    limits = draw(
        st.lists(st.sampled_from([0.0, 0.0, 1.0, 2.5, 40.0]), min_size=len(rows), max_size=len(rows))
    )
    box = [[float(i == j) for j in range(count)] for i in range(count)]
    gains = draw(st.lists(coefficients, min_size=count, max_size=count))
    return gains, rows + box, limits + [draw(st.sampled_from([1.0, 10.0]))] * count


@given(programmes())
def test_the_best_is_no_worse_than_scipys_and_keeps_every_limit(programme: Programme) -> None:
    gains, rows, limits = programme
    found = maximise(gains, rows, limits)
    wanted = -linprog([-gain for gain in gains], A_ub=rows, b_ub=limits, method="highs").fun
    assert sum(gain * x for gain, x in zip(gains, found, strict=True)) == pytest.approx(wanted, abs=1e-8)
    assert min(found) >= 0.0
    for row, limit in zip(rows, limits, strict=True):
        assert sum(one * x for one, x in zip(row, found, strict=True)) <= limit + 1e-8


def test_a_programme_that_makes_the_plain_rule_go_in_circles_ends() -> None:
    """E. M. L. Beale's example (Naval Research Logistics Quarterly 2:269, 1955), in the form in which the
    rule of the largest gain circles among six corners; the best is 1/20."""
    gains = [0.75, -150.0, 0.02, -6.0]
    rows = [[0.25, -60.0, -0.04, 9.0], [0.5, -90.0, -0.02, 3.0], [0.0, 0.0, 1.0, 0.0]]
    found = maximise(gains, rows, [0.0, 0.0, 1.0])
    assert sum(gain * x for gain, x in zip(gains, found, strict=True)) == pytest.approx(0.05)


def test_nothing_to_gain_leaves_everything_where_it_is() -> None:
    assert maximise([-1.0, 0.0], [[1.0, 1.0]], [5.0]) == [0.0, 0.0]
    assert maximise([], [], []) == []


def test_gains_without_end_are_refused() -> None:
    with pytest.raises(OutOfRange):
        maximise([1.0], [[-1.0]], [1.0])


def test_a_limit_below_nought_is_refused() -> None:
    with pytest.raises(OutOfRange, match="limit is -1"):
        maximise([1.0], [[1.0]], [-1.0])
