"""A feedstock of the place's own, measured: a sample weighed before and after drying tells its moisture."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fallowside.core.entries import problem, read
from fallowside.core.place import Place, fold
from tests.logs import Raw, entry, setups


def grams(value: float) -> Raw:
    return {"value": value, "unit": "g"}


def pulp(minutes: float, **fields: object) -> Raw:
    return entry("setup", minutes, what="feedstock", item="pulp", set=fields)


def place(*more: Raw) -> Place:
    return fold([read(one) for one in [*setups(), *more]])


def test_a_dried_sample_tells_the_moisture() -> None:
    """Cornell Waste Management Institute 1996, 'Moisture content': a sample of 10 g in a dish of 4 g that
    weighs 6.3 g with it when dry held 77 % water."""
    measured = place(pulp(1, sample_wet=grams(14.0), sample_dry=grams(6.3), sample_dish=grams(4.0)))
    assert measured.material("pulp").moisture_pct == pytest.approx(77.0)


def test_weighings_may_come_one_by_one_and_come_before_a_typed_figure() -> None:
    one_by_one = [pulp(1, sample_wet=grams(100.0), moisture_pct=60.0), pulp(2, sample_dry=grams(25.0))]
    assert place(one_by_one[0]).material("pulp").moisture_pct == 60.0
    assert place(*one_by_one).material("pulp").moisture_pct == pytest.approx(75.0)


def test_weighings_that_cant_belong_together_leave_what_was_known() -> None:
    odd = [pulp(1, sample_wet=grams(50.0), moisture_pct=60.0), pulp(2, sample_dry=grams(80.0))]
    assert place(*odd).material("pulp").moisture_pct == 60.0


@given(st.floats(0.001, 5000.0), st.floats(0.001, 5000.0), st.none() | st.floats(0.0, 5000.0))
def test_whatever_the_judge_lets_pass_can_be_folded(wet: float, dry: float, dish: float | None) -> None:
    made = pulp(
        1, sample_wet=grams(wet), sample_dry=grams(dry), **({"sample_dish": grams(dish)} if dish else {})
    )
    if problem(made) is None:
        assert 0.0 <= place(made).material("pulp").moisture_pct <= 100.0
