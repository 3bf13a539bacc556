"""Warmth between readings: pulled by readings, wide without them, never surer further away."""

from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from fallowside.core import sources, warmth

HILLS = (3.0, 4.0, 7.0, 10.0, 14.0, 18.0, 20.0, 20.0, 16.0, 11.0, 7.0, 4.0)
DAY = 739_000

readings = st.dictionaries(st.integers(DAY, DAY + 200), st.floats(-5.0, 38.0), max_size=12).map(
    lambda found: sorted(found.items())
)
normals = st.none() | st.just(HILLS)


@settings(max_examples=60, deadline=None)
@given(read=readings.filter(bool), usual=normals)
def test_a_guess_is_the_less_sure_the_further_from_a_reading(
    read: list[tuple[int, float]], usual: tuple[float, ...] | None
) -> None:
    found = warmth.between(read, DAY, DAY + 400, normals=usual)
    after = found.spread_c[read[-1][0] - DAY :]
    assert all(near <= far + 1e-12 for near, far in pairwise(after))
    for (one, _), (two, _) in pairwise(read):
        spreads = found.spread_c[one - DAY : two - DAY + 1]
        middle = len(spreads) // 2
        assert max(spreads[0], spreads[-1]) <= spreads[middle] + 1e-12


@settings(max_examples=60, deadline=None)
@given(read=readings, usual=normals, later=st.floats(-5.0, 38.0))
def test_a_later_reading_changes_no_day_before_the_last_one(
    read: list[tuple[int, float]], usual: tuple[float, ...] | None, later: float
) -> None:
    last = read[-1][0] if read else DAY
    before = warmth.between(read, DAY, DAY + 300, normals=usual)
    after = warmth.between([*read, (DAY + 250, later)], DAY, DAY + 300, normals=usual)
    kept = slice(0, last - DAY + 1 if read else 0)
    assert before.mean_c[kept] == after.mean_c[kept]
    assert before.spread_c[kept] == after.spread_c[kept]


@settings(max_examples=100, deadline=None)
@given(read=readings.filter(bool), air=readings, usual=normals)
def test_a_guess_is_never_beyond_what_was_read_or_usual(
    read: list[tuple[int, float]], air: list[tuple[int, float]], usual: tuple[float, ...] | None
) -> None:
    found = warmth.between(read, DAY, DAY + 400, air=air, normals=usual)
    plain = warmth.between([], DAY, DAY + 400, air=air, normals=usual)
    seen = [value for _, value in read] + list(plain.mean_c)
    assert min(seen) - 1e-9 <= min(found.mean_c)
    assert max(found.mean_c) <= max(seen) + 1e-9


def test_two_far_readings_on_neighbouring_days_are_met_in_their_middle() -> None:
    found = warmth.between([(DAY, 33.0), (DAY + 1, 0.0)], DAY, DAY + 400)
    assert 5.0 < found.mean_c[-1] < 28.0


def test_with_nothing_known_the_guess_is_the_usual_and_wide() -> None:
    found = warmth.between([], DAY, DAY + 10)
    assert set(found.mean_c) == {sources.value("worms.bed_usual")}
    assert min(found.spread_c) >= sources.value("worms.bed_spread_unknown")


def test_normals_narrow_a_guess_and_give_it_seasons() -> None:
    winter, summer = warmth.between([], DAY, DAY + 365, normals=HILLS), warmth.between([], DAY, DAY + 365)
    assert max(winter.spread_c) < min(summer.spread_c)
    assert max(winter.mean_c) - min(winter.mean_c) > 15.0


def test_a_bed_read_warmer_than_usual_is_taken_to_stay_a_little_warmer() -> None:
    plain = warmth.between([], DAY, DAY + 200, normals=HILLS)
    warm = warmth.between(
        [(DAY + day, plain.mean_c[day] + 4.0) for day in range(0, 60, 5)], DAY, DAY + 200, normals=HILLS
    )
    assert 1.0 < warm.mean_c[200] - plain.mean_c[200] < 4.0


def test_logged_air_bends_the_usual_towards_it() -> None:
    plain = warmth.between([], DAY, DAY + 60, normals=HILLS)
    cold = warmth.between([], DAY, DAY + 60, normals=HILLS, air=[(DAY + 30, plain.mean_c[30] - 12.0)])
    assert cold.mean_c[30] < plain.mean_c[30] - 3.0
    assert abs(cold.mean_c[60] - plain.mean_c[60]) < 1.0


def test_readings_of_one_day_count_as_their_mean() -> None:
    assert warmth.daily([(DAY, 18.0), (DAY, 24.0), (DAY + 1, 20.0)]) == [(DAY, 21.0), (DAY + 1, 20.0)]


Reads = list[tuple[int, float]]


@settings(max_examples=100, deadline=None)
@given(
    looks=st.lists(
        st.tuples(readings, readings, normals, st.booleans(), st.integers(0, 250)), min_size=2, max_size=5
    )
)
def test_temperatures_drawn_on_are_those_drawn_anew(
    looks: list[tuple[Reads, Reads, tuple[float, ...] | None, bool, int]],
) -> None:
    kept = warmth.Kept()
    read, air, usual, _, _ = looks[0]
    for more, other_air, other_usual, anew, days in looks:
        last = read[-1][0] if read else DAY
        # Later readings, one more on the last day, fewer than before, or all another.
        read = more if anew else [*read[:-1], *((day, c) for day, c in more if day >= last)]
        air, usual = (other_air, other_usual) if anew else (air, usual)
        for some in (read, read[:-1], read):
            for end in (DAY + days, DAY + days + 1):
                drawn = kept.between(some, DAY, end, air=air, normals=usual)
                assert drawn == warmth.between(some, DAY, end, air=air, normals=usual)
