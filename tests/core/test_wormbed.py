"""The bed's mass balance: nothing appears, nothing is lost without being written down."""

from dataclasses import replace
from math import fsum

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fallowside.core import wormbed
from fallowside.core.errors import OutOfRange
from fallowside.core.wormbed import Rates, Side

AREA = 0.6

amounts = st.floats(0.0, 20.0)
sides = st.builds(
    Side,
    scraps_kg=amounts,
    castings_kg=amounts,
    worms_kg=st.floats(0.0, 10.0),
    water_kg=st.floats(0.0, 80.0),
    scraps_nitrogen_kg=st.floats(0.0, 0.5),
    castings_nitrogen_kg=st.floats(0.0, 0.5),
)
rates = st.builds(
    lambda decay, intake, lost, crossing: replace(
        Rates(), decay=decay, intake=intake, nitrogen_lost=lost, migration_days=crossing
    ),
    st.floats(0.001, 0.2),
    st.floats(0.0, 1.0),
    st.floats(0.0, 1.0),
    st.floats(0.5, 60.0),
)
deeds = st.lists(
    st.tuples(
        st.sampled_from(["feed", "water", "take", "switch", "day", "day", "day"]),
        st.floats(0.0, 1.0),
        st.floats(-20.0, 45.0),
        st.floats(0.0, 100.0),
    ),
    max_size=40,
)


@settings(max_examples=80, deadline=None)
@given(first=sides, second=sides, model=rates, done=deeds)
def test_dry_matter_nitrogen_and_water_balance_whatever_is_done(
    first: Side, second: Side, model: Rates, done: list[tuple[str, float, float, float]]
) -> None:
    held, fed = [first, second], 0
    dry = [first.dry_kg, second.dry_kg]
    nitrogen = [one.scraps_nitrogen_kg + one.castings_nitrogen_kg for one in held]
    water = [first.water_kg, second.water_kg]
    gone_dry, gone_nitrogen, gone_water = [], [], []
    for what, share, celsius, moisture in done:
        if what == "feed":
            held[fed] = wormbed.put_in(held[fed], 3.0 * share, 9.0 * share, 0.1 * share)
            dry.append(3.0 * share)
            water.append(9.0 * share)
            nitrogen.append(0.1 * share)
        elif what == "water":
            held[1 - fed] = wormbed.put_in(held[1 - fed], 0.0, 5.0 * share)
            water.append(5.0 * share)
        elif what == "take":
            held[fed], taken = wormbed.take_out(held[fed], share, worms_too=moisture > 50.0)
            gone_dry.append(taken.dry_kg)
            gone_nitrogen.append(taken.scraps_nitrogen_kg + taken.castings_nitrogen_kg)
            gone_water.append(taken.water_kg)
        elif what == "switch":
            held[fed] = wormbed.begin_rest(held[fed], model)
            fed = 1 - fed
            held[fed] = wormbed.end_rest(held[fed])
        else:
            held[fed], ran = wormbed.drain(held[fed])
            today = wormbed.conditions(celsius, moisture)
            held[fed], held[1 - fed], out = wormbed.advance(
                held[fed], held[1 - fed], (today, today), model, AREA
            )
            gone_dry.append(out.gas_kg)
            gone_nitrogen.append(out.nitrogen_gas_kg)
            gone_water += [ran, *out.evaporated_kg]
    for came, went, stays in (
        (dry, gone_dry, [one.dry_kg for one in held]),
        (nitrogen, gone_nitrogen, [one.scraps_nitrogen_kg + one.castings_nitrogen_kg for one in held]),
        (water, gone_water, [one.water_kg for one in held]),
    ):
        put_in = fsum(came)
        assert abs(put_in - fsum(went) - fsum(stays)) <= 1e-9 * max(put_in, 1e-12)


@settings(max_examples=80, deadline=None)
@given(
    first=sides,
    second=sides,
    model=rates,
    celsius=st.floats(-30.0, 60.0),
    moisture=st.floats(0.0, 100.0),
    days=st.integers(1, 20),
)
def test_nothing_ever_falls_below_nothing(
    first: Side, second: Side, model: Rates, celsius: float, moisture: float, days: int
) -> None:
    fed, rest = first, wormbed.begin_rest(second, model)
    today = wormbed.conditions(celsius, moisture)
    for _ in range(days):
        fed, rest, out = wormbed.advance(fed, rest, (today, today), model, AREA)
        assert min(*fed, *rest, out.nitrogen_gas_kg, *out.evaporated_kg) >= 0.0
        assert out.gas_kg >= -1e-12
        assert rest.staying_kg <= rest.worms_kg * (1.0 + 1e-12)


@settings(max_examples=80, deadline=None)
@given(side=sides, other=sides, model=rates)
def test_crossing_moves_worms_and_makes_none(side: Side, other: Side, model: Rates) -> None:
    still = replace(model, growth=0.0, starvation=0.0)
    today = wormbed.conditions(20.0, 78.0)
    fed, rest, _ = wormbed.advance(side, wormbed.begin_rest(other, still), (today, today), still, AREA)
    assert fed.worms_kg + rest.worms_kg == pytest.approx(side.worms_kg + other.worms_kg, rel=1e-12)
    assert fed.worms_kg >= side.worms_kg


def test_stayers_stay_however_long_the_side_rests() -> None:
    still = replace(Rates(), growth=0.0, starvation=0.0, stayers=0.25)
    rest, fed = wormbed.begin_rest(Side(worms_kg=1.0), still), Side()
    today = wormbed.conditions(20.0, 78.0)
    for _ in range(400):
        fed, rest, _ = wormbed.advance(fed, rest, (today, today), still, AREA)
    assert rest.worms_kg == pytest.approx(0.25, abs=1e-6)


@pytest.mark.parametrize(("celsius", "days_left"), [(36.5, 0.1), (-6.0, 0.6)])
def test_heat_and_frost_kill(celsius: float, days_left: float) -> None:
    today = wormbed.conditions(celsius, 78.0)
    fed, rest = Side(scraps_kg=3.0, worms_kg=1.0), Side()
    for _ in range(3):
        fed, rest, _ = wormbed.advance(fed, rest, (today, today), Rates(), AREA)
    assert fed.worms_kg < days_left


def test_worms_starve_on_an_empty_side_and_grow_on_a_full_one() -> None:
    today = wormbed.conditions(22.0, 78.0)
    hungry, full, _ = wormbed.advance(
        Side(worms_kg=0.3), Side(scraps_kg=5.0, worms_kg=0.3, staying_kg=0.3), (today, today), Rates(), AREA
    )
    assert hungry.worms_kg < 0.3 < full.worms_kg


@settings(max_examples=80, deadline=None)
@given(warmer=st.floats(3.0, 24.0), step=st.floats(0.1, 1.0))
def test_worms_work_more_the_warmer_it_is_up_to_the_best(warmer: float, step: float) -> None:
    assert wormbed.activity(warmer) <= wormbed.activity(min(warmer + step, 25.0)) + 1e-12


@settings(max_examples=80, deadline=None)
@given(celsius=st.floats(-60.0, 100.0), moisture=st.floats(0.0, 100.0))
def test_responses_lie_between_none_and_all(celsius: float, moisture: float) -> None:
    assert 0.0 <= wormbed.activity(celsius) <= 1.0
    assert 0.0 <= wormbed.moisture_factor(moisture) <= 1.0
    assert wormbed.deaths_per_day(celsius) >= 0.0


@pytest.mark.parametrize("celsius", [140.0, -70.0, float("nan")])
def test_no_bed_is_that_warm(celsius: float) -> None:
    with pytest.raises(OutOfRange, match="bed temperature"):
        wormbed.activity(celsius)


@pytest.mark.parametrize("moisture", [-0.1, 100.1, float("nan")])
def test_no_bed_is_that_wet(moisture: float) -> None:
    with pytest.raises(OutOfRange, match="bed moisture"):
        wormbed.moisture_factor(moisture)


def test_water_beyond_what_a_side_holds_runs_off() -> None:
    side, ran = wormbed.drain(Side(castings_kg=1.0, water_kg=20.0))
    assert side.moisture_pct == pytest.approx(88.0)
    assert ran == pytest.approx(20.0 - side.water_kg)


def test_a_step_of_days_is_close_to_its_days_one_by_one() -> None:
    scraps, castings = 3.0, 1.0
    worms = 1.0
    model = wormbed.pace(Rates(half_saturation=0.5, capacity=3.0), 0.6)
    for _ in range(4):
        scraps, castings, grown, _ = wormbed.digest(scraps, castings, worms, 0.2, 0.85, 0.7, model)
        worms *= grown
    once = wormbed.digest(3.0, 1.0, 1.0, 0.8, 4 * 0.85, 4 * 0.7, model)
    assert once[:2] == pytest.approx((scraps, castings), rel=2e-3)
    assert once[2] == pytest.approx(worms, rel=1e-3)
