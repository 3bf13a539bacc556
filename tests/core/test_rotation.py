"""Turning a bed: shares, clumps, scoops to count, phases, and when a side is due."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fallowside.core import rotation
from fallowside.core.errors import CannotMeet, OutOfRange
from fallowside.core.rotation import Standing

counts = st.lists(st.integers(0, 60), min_size=1, max_size=6)


@settings(max_examples=60, deadline=None)
@given(fed=counts, resting=counts, psi=st.floats(1.0, 6.0))
def test_clumped_worms_tell_less(fed: list[int], resting: list[int], psi: float) -> None:
    plain, clumped = rotation.share(fed, resting), rotation.share(fed, resting, dispersion=psi)
    assert clumped.high - clumped.low >= plain.high - plain.low - 1e-9
    assert plain.low <= plain.mid <= plain.high


@settings(max_examples=60, deadline=None)
@given(fed=counts, resting=counts)
def test_sides_exchanged_give_the_share_turned_round(fed: list[int], resting: list[int]) -> None:
    one, other = rotation.share(fed, resting), rotation.share(resting, fed)
    assert (one.low, one.mid, one.high) == pytest.approx((1 - other.high, 1 - other.mid, 1 - other.low))


def test_no_worms_counted_say_nothing() -> None:
    span = rotation.share([0, 0], [0, 0])
    assert span.low < 0.05
    assert span.high > 0.95


def test_twice_the_scoops_of_a_side_with_half_the_volume_each_change_nothing() -> None:
    """40 worms in 4 scoops that stand for half as much as the other side's 2 are 20 in 2."""
    narrow = rotation.share([10] * 4, [5] * 2, volume_ratio=0.5)
    plain = rotation.share([10] * 2, [5] * 2)
    assert narrow.mid == pytest.approx(plain.mid, abs=0.01)


@pytest.mark.parametrize(
    ("fed", "level", "psi", "ratio"),
    [([-1], 0.8, 1.0, 1.0), ([1], 1.0, 1.0, 1.0), ([1], 0.8, 0.5, 1.0), ([1], 0.8, 1.0, 0.0)],
)
def test_impossible_counts_levels_and_ratios_are_refused(
    fed: list[int], level: float, psi: float, ratio: float
) -> None:
    with pytest.raises(OutOfRange):
        rotation.share(fed, [3], level, dispersion=psi, volume_ratio=ratio)


def test_even_scoops_are_taken_as_chance_and_uneven_ones_as_clumps() -> None:
    assert rotation.clumping([[10, 10, 10, 10, 10, 10, 10, 10, 10, 10]]) == 1.0
    assert rotation.clumping([[0, 0, 40, 0, 0, 0, 0, 38, 0, 2]]) > 5.0


def test_few_scoops_hardly_move_the_assumed_clumping() -> None:
    assert rotation.clumping([[7]]) == rotation.clumping([])
    assert abs(rotation.clumping([[7, 9]]) - rotation.clumping([])) < 1.0


@settings(max_examples=60, deadline=None)
@given(
    fed=st.floats(1.0, 30.0), rest=st.floats(1.0, 30.0), width=st.floats(0.12, 0.4), psi=st.floats(1.0, 4.0)
)
def test_scoops_asked_for_are_enough_and_one_fewer_is_not(
    fed: float, rest: float, width: float, psi: float
) -> None:
    needed = rotation.scoops_needed(fed, rest, width, dispersion=psi)

    def wide(scoops: int) -> float:
        a, b = fed * scoops / psi, rest * scoops / psi
        span = rotation._beta_span(a + 0.5, b + 0.5, 0.8, 1.0)
        return span.high - span.low

    assert wide(needed) <= width
    assert needed == 1 or wide(needed - 1) > width


def test_no_number_of_scoops_tells_where_no_worms_are() -> None:
    with pytest.raises(CannotMeet):
        rotation.scoops_needed(0.0, 0.0, 0.2)


def test_worms_leave_until_the_stayers_are_left() -> None:
    shares = [rotation.still_resting(float(day), 10.0, 0.1) for day in range(0, 200, 10)]
    assert shares[0] == pytest.approx(1.0)
    assert all(one > other for one, other in pairwise(shares))
    assert shares[-1] == pytest.approx(0.1, abs=1e-6)


@pytest.mark.parametrize(
    ("standing", "phase"),
    [
        (Standing(True, None, None, False), "feeding"),
        (Standing(False, None, None, False), "resting"),
        (Standing(False, None, None, True), "fit_to_harvest"),
        (Standing(False, 5, None, False), "harvested"),
        (Standing(False, 5, 6, False), "bedded"),
    ],
)
def test_a_side_goes_round_the_cycle(standing: Standing, phase: str) -> None:
    assert rotation.phase(standing) == phase


def test_a_shallow_vessel_is_full_sooner() -> None:
    assert rotation.due_reason(0.2, 0.0, 0.0, 0.0) is None
    assert rotation.due_reason(0.2, 0.0, 0.0, 0.0, depth_full_m=0.18) == "depth"


def test_a_long_backlog_of_next_to_nothing_is_no_reason_to_switch() -> None:
    assert rotation.due_reason(0.01, 0.0, 500.0, 0.5) is None
    assert rotation.due_reason(0.1, 0.0, 500.0, 9.0) == "backlog"
