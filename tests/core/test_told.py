"""What is told again is the very same; quantiles sought in running sums are those sought in the middles."""

from bisect import bisect_left
from math import inf

from hypothesis import given
from hypothesis import strategies as st

from fallowside.core.plan import Fold
from fallowside.core.told import Told
from fallowside.core.worms.forecast import quantiles
from tests.logs import entry, kg, setups, time


def test_the_very_same_is_told_while_what_it_stands_on_is_equal() -> None:
    told = Told()
    first = told.of("one", [1, "a"], lambda: ["made"])
    assert told.of("one", [1, "a"], lambda: ["made anew"]) is first
    assert told.of("other", [1, "a"], lambda: ["another"]) == ["another"]
    assert told.of("one", [2, "a"], lambda: ["made anew"]) == ["made anew"]
    assert told.of("one", [1, "a"], lambda: ["and again"]) == ["and again"]


def test_a_feed_of_the_bin_leaves_its_outlook_and_the_bed_as_they_were() -> None:
    fold = Fold(
        [
            *setups(),
            *(entry("self_harvest", day * 1440, station="bin", count=30 + day) for day in range(1, 30)),
        ]
    )
    before = {one["id"]: one for one in fold.plan(time(40_400))["stations"]}
    fold.add([entry("feed", 40_410, station="bin", feedstock="vegetable_scraps", amount=kg(0.5))])
    after = {one["id"]: one for one in fold.plan(time(40_420))["stations"]}
    assert after["bed"] is before["bed"]
    assert after["bin"] is not before["bin"]
    assert after["bin"]["ahead"] == before["bin"]["ahead"]
    assert after["bin"]["ration"] != before["bin"]["ration"]


def plain(values: list[float], weights: list[float], share: float) -> float:
    """Read a quantile off straight lines between the middles of the weights, all of them worked out."""
    order = sorted((at for at, one in enumerate(weights) if one > 0.0), key=lambda at: values[at])
    middles, below = [], 0.0
    for at in order:
        middles.append(below + 0.5 * weights[at])
        below += weights[at]
    place = min(bisect_left(middles, share), len(order) - 1)
    value = values[order[place]]
    before = values[order[place - 1]] if place else value
    if place and middles[place] >= share and before < value < inf:
        return before + (share - middles[place - 1]) / (middles[place] - middles[place - 1]) * (
            value - before
        )
    return value


@given(
    st.lists(
        st.tuples(
            st.one_of(st.floats(-100.0, 100.0), st.just(inf), st.just(3.0)),
            st.one_of(st.floats(1e-12, 1.0), st.just(0.0), st.just(0.25)),
        ),
        min_size=1,
        max_size=20,
    ).filter(lambda rows: sum(weight for _, weight in rows) > 0.0)
)
def test_quantiles_are_those_between_the_middles(rows: list[tuple[float, float]]) -> None:
    whole = sum(weight for _, weight in rows)
    values, weights = [value for value, _ in rows], [weight / whole for _, weight in rows]
    shares = (0.0, 0.1, 0.5, 0.9, 1.0)
    assert quantiles(values, weights, shares) == [plain(values, weights, share) for share in shares]
