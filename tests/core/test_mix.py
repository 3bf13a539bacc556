"""Mixing: masses add up, goals are met or refused, ratios are never averaged."""

import math
from math import fsum, inf

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from fallowside.core import materials as table
from fallowside.core.errors import OutOfRange, UnknownName
from fallowside.core.mix import CannotMeet, Material, amend, amend_both, blend, ranges, sample_moisture

materials = st.builds(
    Material,
    st.just("made up"),
    st.floats(0.0, 99.0),
    st.floats(20.0, 60.0),
    st.floats(0.05, 15.0),
)
heaps = st.lists(st.tuples(materials, st.floats(0.01, 500.0)), min_size=1, max_size=6)

GRASS = Material("grass", 77.0, 45.0, 2.4)
LEAVES = Material("leaves", 35.0, 50.0, 0.75)


@given(heaps)
def test_a_blend_holds_what_its_parts_held(parts: list[tuple[Material, float]]) -> None:
    whole, alone = blend(parts), [blend([part]) for part in parts]
    for name in ("wet_kg", "dry_kg", "carbon_kg", "nitrogen_kg"):
        assert getattr(whole, name) == pytest.approx(fsum(getattr(one, name) for one in alone), rel=1e-12)
    assert whole.dry_kg == pytest.approx(
        whole.wet_kg * (1.0 - whole.moisture_pct / 100.0), rel=1e-9, abs=1e-12
    )


@given(heaps, st.randoms(use_true_random=False))
def test_the_order_of_the_parts_changes_no_bit(parts: list[tuple[Material, float]], chance: object) -> None:
    shuffled = parts[:]
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    assert blend(shuffled) == blend(parts)


@given(heaps)
def test_moisture_and_ratio_lie_between_those_of_the_parts(parts: list[tuple[Material, float]]) -> None:
    whole = blend(parts)
    wets, ratios = [one.moisture_pct for one, _ in parts], [one.carbon_to_nitrogen for one, _ in parts]
    assert min(wets) - 1e-10 <= whole.moisture_pct <= max(wets) + 1e-10
    assert min(ratios) * (1 - 1e-12) <= whole.carbon_to_nitrogen <= max(ratios) * (1 + 1e-12)


@given(heaps, materials, st.floats(0.0, 100.0))
def test_an_amendment_reaches_its_moisture_or_says_that_it_cannot(
    parts: list[tuple[Material, float]], added: Material, goal: float
) -> None:
    before = blend(parts).moisture_pct
    try:
        kg = amend(parts, added, moisture_pct=goal)
    except CannotMeet:
        assert goal != before
        assert (added.moisture_pct - goal) * (before - goal) >= 0.0 or abs(added.moisture_pct - goal) < 1e-6
    else:
        assert kg >= 0.0
        assert blend([*parts, (added, kg)]).moisture_pct == pytest.approx(goal, abs=1e-7)


@given(heaps, materials, st.floats(1.0, 400.0))
def test_an_amendment_reaches_its_ratio_or_says_that_it_cannot(
    parts: list[tuple[Material, float]], added: Material, goal: float
) -> None:
    before = blend(parts).carbon_to_nitrogen
    try:
        kg = amend(parts, added, carbon_to_nitrogen=goal)
    except CannotMeet:
        side = (added.carbon_to_nitrogen - goal) * (before - goal)
        assert side >= 0.0 or abs(added.carbon_to_nitrogen - goal) < 1e-6
    else:
        assert kg >= 0.0
        assert blend([*parts, (added, kg)]).carbon_to_nitrogen == pytest.approx(goal, rel=1e-7)


@given(heaps, materials, st.floats(40.0, 90.0), st.floats(5.0, 100.0))
def test_two_goals_are_met_together_or_refused(
    parts: list[tuple[Material, float]], added: Material, wet: float, ratio: float
) -> None:
    try:
        one, water = amend_both(parts, added, moisture_pct=wet, carbon_to_nitrogen=ratio)
    except CannotMeet:
        return
    assume(one < 1e6 and water < 1e6)
    mended = blend([*parts, (added, one), ("water", water)])
    assert min(one, water) >= 0.0
    assert mended.moisture_pct == pytest.approx(wet, abs=1e-6)
    assert mended.carbon_to_nitrogen == pytest.approx(ratio, rel=1e-6)


def test_a_mix_that_is_there_already_needs_nothing() -> None:
    assert amend([(GRASS, 10.0)], LEAVES, moisture_pct=77.0) == 0.0
    assert amend([(GRASS, 10.0)], LEAVES, carbon_to_nitrogen=18.75) == 0.0


def test_one_amendment_may_happen_to_meet_both_goals() -> None:
    there = blend([(GRASS, 10.0), (LEAVES, 4.0)])
    kg = amend(
        [(GRASS, 10.0)],
        LEAVES,
        moisture_pct=there.moisture_pct,
        carbon_to_nitrogen=there.carbon_to_nitrogen,
    )
    assert kg == pytest.approx(4.0)


def test_two_goals_that_ask_for_two_amounts_are_refused_with_both() -> None:
    with pytest.raises(CannotMeet, match=r"moisture asks for 6.8 kg, C:N for 3.47 kg"):
        amend([(GRASS, 10.0)], LEAVES, moisture_pct=60.0, carbon_to_nitrogen=30.0)


def test_water_cannot_mend_a_ratio() -> None:
    with pytest.raises(CannotMeet, match="no amount of water"):
        amend([(GRASS, 10.0)], "water", carbon_to_nitrogen=30.0)


def test_an_amendment_no_drier_than_the_goal_is_refused() -> None:
    with pytest.raises(CannotMeet, match="same side"):
        amend([(GRASS, 10.0)], LEAVES, moisture_pct=35.0)


def test_a_goal_must_be_named() -> None:
    with pytest.raises(CannotMeet, match="give a moisture"):
        amend([(GRASS, 10.0)], LEAVES)


def test_a_pair_that_moves_both_in_step_is_refused() -> None:
    with pytest.raises(CannotMeet, match="another pair"):
        amend_both([(GRASS, 10.0)], LEAVES, LEAVES, moisture_pct=60.0, carbon_to_nitrogen=30.0)


def test_water_alone_has_no_nitrogen_to_divide_by() -> None:
    assert blend([("water", 1.0)]).carbon_to_nitrogen == inf


@pytest.mark.parametrize("parts", [[], [(GRASS, 0.0)], [(GRASS, -1.0)], [(GRASS, math.nan)], [(GRASS, inf)]])
def test_a_mix_of_nothing_or_less_is_refused(parts: list[tuple[Material, float]]) -> None:
    with pytest.raises(OutOfRange):
        blend(parts)


def test_an_unknown_feedstock_is_refused_with_the_known_ones() -> None:
    with pytest.raises(UnknownName, match="coffee_grounds"):
        blend([("moon dust", 1.0)])


@pytest.mark.parametrize(("moisture", "ratio"), [(-1.0, None), (101.0, None), (None, -1.0), (math.nan, None)])
def test_goals_that_mean_nothing_are_refused(moisture: float | None, ratio: float | None) -> None:
    with pytest.raises(OutOfRange):
        amend([(GRASS, 1.0)], LEAVES, moisture_pct=moisture, carbon_to_nitrogen=ratio)


@pytest.mark.parametrize(("wet", "dry", "vessel"), [(1.0, 2.0, 0.0), (5.0, 3.0, 4.0), (4.0, 4.0, 4.0)])
def test_a_sample_that_gained_or_weighed_less_than_its_vessel_is_refused(
    wet: float, dry: float, vessel: float
) -> None:
    with pytest.raises(OutOfRange):
        sample_moisture(wet, dry, vessel)


shipped = st.lists(
    st.tuples(st.sampled_from([one.name for one in table.all()]), st.floats(0.01, 50.0)),
    min_size=1,
    max_size=5,
)


@given(shipped)
def test_ranges_of_a_mix_hold_what_it_is_and_are_no_wider_than_the_materials(
    parts: list[tuple[str, float]],
) -> None:
    made = blend(parts)
    moisture, ratio = ranges(parts)
    assert moisture.low <= moisture.mid == made.moisture_pct <= moisture.high
    ends = [table.get(name).ranges["moisture_pct"] for name, _ in parts]
    assert min(low for low, _ in ends) - 1e-9 <= moisture.low
    assert moisture.high <= max(high for _, high in ends) + 1e-9
    if ratio is not None:
        assert 0.0 <= ratio.low <= ratio.mid == made.carbon_to_nitrogen <= ratio.high


def test_a_mix_of_many_is_surer_than_of_one() -> None:
    alone, many = (
        ranges([(name, 1.0) for name in names])[0]
        for names in (
            ("mixed_scraps",),
            ("mixed_scraps", "vegetable_scraps", "fruit_scraps", "coffee_grounds"),
        )
    )
    assert many.high - many.low < 0.5 * (alone.high - alone.low)
