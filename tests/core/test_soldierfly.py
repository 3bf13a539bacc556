"""Development, degree-days and batch indices of the black soldier fly: what must always hold."""

from math import inf, isfinite, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fallowside.core.errors import MixedBasis, OutOfRange, UnknownName
from fallowside.core.soldierfly import (
    DIETS,
    STAGES,
    day_rate,
    degree_days,
    development_days,
    development_rate,
    indices,
    lethal,
    protein_kg,
)

stages = st.sampled_from(STAGES)
diets = st.sampled_from(DIETS)
temperatures = st.floats(-60.0, 100.0)


@given(stages, temperatures, diets)
def test_a_rate_is_never_below_zero_and_days_are_its_inverse(stage: str, at_c: float, diet: str) -> None:
    rate, span = development_rate(stage, at_c, diet), development_days(stage, at_c, diet)
    assert rate >= 0.0
    assert span.low <= span.mid <= span.high
    if isfinite(span.mid):
        assert span.mid * rate == pytest.approx(1.0)


@given(st.floats(12.5, 30.0), st.floats(0.5, 3.0))
def test_warmer_is_faster_up_to_30_degrees(at_c: float, more: float) -> None:
    warmer = min(at_c + more, 31.0)
    assert development_rate("larva", warmer) > development_rate("larva", at_c)


def test_the_curve_flattens_and_falls() -> None:
    gain = [
        development_rate("larva", at_c + 3.0) - development_rate("larva", at_c) for at_c in (20, 25, 30, 35)
    ]
    assert gain[1] > 0.0
    assert gain[1] > gain[2] > gain[3]
    assert gain[3] < 0.0
    assert development_rate("larva", 40.0) == 0.0


@pytest.mark.parametrize("stage", STAGES)
@pytest.mark.parametrize("at_c", [13.0, 15.0, 17.9])
def test_in_the_cold_an_answer_is_always_a_wide_range(stage: str, at_c: float) -> None:
    cold, warm = development_days(stage, at_c), development_days(stage, 25.0)
    assert cold.high / cold.low > warm.high / warm.low > 1.0


def test_below_the_threshold_development_may_not_end() -> None:
    assert development_days("larva", 9.0).mid == inf
    assert development_rate("larva", 9.0) == 0.0


def test_grain_with_yeast_is_faster_than_grain_alone_and_scraps_lie_between() -> None:
    fast, mixed, slow = (
        development_days("larva", 27.0, diet) for diet in ("spent_grain_yeast", "mixed", "spent_grain")
    )
    assert fast.mid < mixed.mid < slow.mid
    assert mixed.high - mixed.low > fast.high - fast.low


@pytest.mark.parametrize("at_c", [-60.1, 100.1, nan, inf])
def test_impossible_temperatures_are_refused(at_c: float) -> None:
    with pytest.raises(OutOfRange, match="temperature_c"):
        development_rate("larva", at_c)
    with pytest.raises(OutOfRange, match="temperature_c"):
        development_days("larva", at_c)


def test_unknown_stages_and_diets_are_refused_with_the_known_ones() -> None:
    with pytest.raises(UnknownName, match="egg, larva, prepupa, pupa"):
        development_rate("adult", 25.0)
    with pytest.raises(UnknownName, match="mixed"):
        development_days("larva", 25.0, "gold")


def test_a_lethal_temperature_is_refused_where_it_is_no_temperature() -> None:
    with pytest.raises(OutOfRange):
        lethal(nan)


@given(st.floats(0.0, 30.0), st.floats(0.0, 12.0))
def test_a_swing_about_the_same_mean_never_stops_a_cool_day(mean: float, swing: float) -> None:
    """The curve bends upward at its threshold: a warm noon helps a cool day."""
    low, high = mean - swing, mean + swing
    assert day_rate("larva", low, high) >= 0.0
    if high <= 20.0:
        assert day_rate("larva", low, high) >= development_rate("larva", mean) - 1e-12


@given(st.floats(-20.0, 40.0), st.floats(0.0, 20.0), st.floats(-10.0, 40.0))
def test_degree_days_lie_between_the_mean_alone_and_the_warmest_hour(
    low: float, swing: float, base: float
) -> None:
    found = degree_days([(low, low + swing)], base)
    assert max(0.0, low + swing / 2.0 - base) - 1e-9 <= found <= max(0.0, low + swing - base) + 1e-9


@given(st.lists(st.tuples(st.floats(0.0, 20.0), st.floats(0.0, 15.0)), max_size=8), st.floats(5.0, 20.0))
def test_degree_days_add_up_day_by_day(days: list[tuple[float, float]], base: float) -> None:
    pairs = [(low, low + swing) for low, swing in days]
    assert degree_days(pairs, base) == pytest.approx(
        sum(degree_days([pair], base) for pair in pairs), abs=1e-9
    )


def test_hourly_pairs_count_as_hours() -> None:
    assert degree_days([(20.0, 20.0)] * 48, 12.0, pairs_per_day=24.0) == pytest.approx(16.0)


def test_degree_days_refuse_a_highest_below_the_lowest_and_no_pairs_a_day() -> None:
    with pytest.raises(OutOfRange):
        degree_days([(20.0, 10.0)], 12.0)
    with pytest.raises(OutOfRange):
        degree_days([(10.0, 20.0)], 12.0, pairs_per_day=0.0)
    with pytest.raises(OutOfRange):
        degree_days([(10.0, nan)], 12.0)


masses = st.floats(0.001, 1000.0)


@given(masses, st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(1.0, 100.0))
def test_indices_add_up(fed: float, left: float, gained: float, days: float) -> None:
    """Fed = residue + larvae + lost, and the conversion of digested feed is bioconversion over reduction."""
    found = indices(fed, fed * left, fed * (1.0 - left) * gained, days, "dry")
    assert found.reduction_pct == pytest.approx(found.bioconversion_pct + found.lost_pct, abs=1e-9)
    assert found.waste_reduction_index * days == pytest.approx(found.reduction_pct)
    if found.digested_conversion is not None and found.reduction_pct > 1e-6:
        quotient = found.bioconversion_pct / found.reduction_pct
        assert found.digested_conversion == pytest.approx(quotient, rel=1e-9, abs=1e-12)
    if found.feed_conversion_ratio is not None:
        assert found.feed_conversion_ratio * found.bioconversion_pct == pytest.approx(100.0)


def test_mixed_bases_are_refused_with_what_to_do() -> None:
    with pytest.raises(MixedBasis, match="turn all three"):
        indices(10.0, 3.0, 1.0, 12.0, ("wet", "dry", "dry"))
    with pytest.raises(MixedBasis, match="another basis"):
        indices(10.0, 9.0, 2.0, 12.0, "dry")
    with pytest.raises(UnknownName, match="volatile_solids"):
        indices(10.0, 3.0, 1.0, 12.0, "fresh")


def test_three_equal_bases_are_one() -> None:
    assert indices(10.0, 3.0, 1.0, 12.0, ("dry", "dry", "dry")) == indices(10.0, 3.0, 1.0, 12.0, "dry")


def test_on_a_wet_basis_water_may_have_been_added() -> None:
    assert indices(10.0, 11.0, 0.5, 12.0, "wet").lost_pct < 0.0
    assert indices(10.0, 11.0, 0.5, 12.0, "wet").digested_conversion is None
    assert indices(10.0, 5.0, 0.0, 12.0, "wet").feed_conversion_ratio is None


@pytest.mark.parametrize("bad", [(0.0, 1, 1, 1), (1, -1, 1, 1), (1, 1, -1, 1), (1, 1, 1, 0), (nan, 1, 1, 1)])
def test_impossible_masses_and_times_are_refused(bad: tuple[float, float, float, float]) -> None:
    with pytest.raises(OutOfRange):
        indices(*bad, "wet")


@given(st.floats(0.0, 1000.0))
def test_protein_is_a_range_below_half_the_dry_mass(wet: float) -> None:
    span = protein_kg(wet)
    assert 0.0 <= span.low <= span.mid <= span.high <= 0.25 * wet + 1e-12
