"""The colony of a larvae bin: nobody is lost or made, the same days give the same bits, counts teach."""

import math
import random
from operator import mul

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fallowside.core.larvae import colony, recruits
from fallowside.core.larvae.colony import Memo, live_through
from fallowside.core.larvae.recruits import Day, value

WARM = 0.055
HORIZON = 14


def days_of(seed: int, number: int, *, level: float = 100.0, counted: float = 0.9) -> list[Day]:
    """Make believable days: warmth that wanders, a season, and Poisson-like counts."""
    rng = random.Random(seed)
    made = []
    since = 1
    for day in range(number):
        step = max(0.0, WARM + 0.01 * rng.uniform(-1.0, 1.0))
        if rng.random() < counted:
            count = max(0.0, round(since * level * (0.2 if day < 15 else rng.lognormvariate(0.0, 0.4))))
            made.append(Day(step, rng.uniform(0.3, 1.0), count, min(since, 7)))
            since = 1
        else:
            made.append(Day(step, 1.0))
            since += 1
    return made


@settings(max_examples=40)
@given(
    st.lists(st.tuples(st.floats(0.0, 0.09), st.floats(0.0, 1.0)), min_size=30, max_size=200),
    st.sampled_from(colony.PACES),
)
def test_everyone_who_came_has_left_or_is_inside(days: list[tuple[float, float]], pace: float) -> None:
    """To 1e-9, under any change of temperature and season."""
    run = recruits.begin(pace, 0.0, 0.0, Day(days[0][0], 0.0))
    run.weight = [0.0] * len(run.weight)
    came, gone = 0.0, 0.0
    marks: list[float] = []
    for step, gate in days:
        marks = [*marks[-6:], run.clock]
        since = run.clock
        recruits.advance(run, Day(step, gate))
        recruits.forget(run, marks[0])
        run.mean = [0.0] * len(run.mean)
        came += gate
        gone += recruits.leaving(run, since)[1]
    assert gone + sum(recruits.inside(run)) == pytest.approx(came, abs=1e-9)


@settings(max_examples=40)
@given(st.integers(0, 10_000), st.integers(40, 120))
def test_the_doubt_of_a_sum_is_its_own_groups_and_learning_from_it_moves_them(seed: int, number: int) -> None:
    """The delta method: the log of a sum of log-normals varies by g'Cg, g its gradient by every unknown.

    The gradient is taken here by differences of the sum itself, not from what the model takes it to be.
    """
    run = recruits.begin(1.0, 0.0, 3.0, Day(WARM, 1.0))
    since = run.clock
    for day in days_of(seed, number):
        since = run.clock
        recruits.advance(run, day)
        if day.count is not None:
            recruits.learn(run, since, day.count, 0.2)
    parts, total = recruits.leaving(run, since)
    gradient = []
    for at in range(len(run.mean)):
        moved = run.copy()
        moved.mean[at] += 1e-6
        gradient.append((math.log(recruits.leaving(moved, since)[1]) - math.log(total)) / 1e-6)
    along = [sum(map(mul, row, gradient)) for row in run.cov]
    assert recruits.covariances(run, parts, total) == pytest.approx(along, rel=1e-4, abs=1e-7)
    assert recruits.doubt(run, parts, total)[0] == pytest.approx(sum(map(mul, along, gradient)), rel=1e-4)


@given(st.floats(0.0, 3.0), st.floats(0.0, 3.0))
def test_the_share_gone_never_falls(age: float, more: float) -> None:
    assert 0.0 <= recruits.gone(age) <= recruits.gone(age + more) <= 1.0


def test_with_a_steady_supply_as_many_leave_as_come() -> None:
    """Little's law: outflow equals inflow, and the stock is inflow times the mean stay. The estimate expects
    swings, whose mean lies above their middle, so it runs a little high where there are none."""
    lived = live_through([Day(WARM, 1.0, 80.0)] * 200, 80.0, HORIZON)
    outlook = lived.outlook([Day(WARM, 1.0)] * HORIZON)
    assert outlook.low < 80.0 * HORIZON < outlook.high
    assert outlook.mid == pytest.approx(80.0 * HORIZON, rel=0.12)
    pace = colony.PACES[max(range(3), key=lambda at: lived.weights()[at])]
    assert sum(lived.stock().numbers) == pytest.approx(80.0 / WARM / pace, rel=0.1)


def test_counts_double_and_so_does_the_forecast() -> None:
    one = live_through([Day(WARM, 1.0, 60.0)] * 120, 50.0, HORIZON)
    two = live_through([Day(WARM, 1.0, 120.0)] * 120, 50.0, HORIZON)
    ahead = [Day(WARM, 1.0)] * HORIZON
    assert two.outlook(ahead).mid == pytest.approx(2.0 * one.outlook(ahead).mid, rel=0.05)


def test_a_range_narrows_as_counts_come_in() -> None:
    ahead = [Day(WARM, 1.0)] * HORIZON
    few, many = (live_through(days_of(3, number), 100.0, HORIZON).outlook(ahead) for number in (6, 120))
    assert many.high / many.low < few.high / few.low


def test_a_cold_spell_delays_the_harvest() -> None:
    lived = live_through(days_of(4, 100), 100.0, HORIZON)
    warm = lived.outlook([Day(WARM, 1.0)] * HORIZON)
    cold = lived.outlook([Day(WARM / 4.0, 1.0)] * HORIZON)
    assert cold.mid < 0.6 * warm.mid


def test_a_season_without_eggs_is_felt_one_larval_time_later() -> None:
    lived = live_through(days_of(5, 100), 100.0, HORIZON)
    shut = live_through([*days_of(5, 100), *[Day(WARM, 0.02)] * 21], 100.0, HORIZON)
    soon = lived.outlook([Day(WARM, 0.0)] * HORIZON).mid
    still_open = lived.outlook([Day(WARM, 1.0)] * HORIZON).mid
    assert soon == pytest.approx(still_open, rel=0.05)
    assert shut.outlook([Day(WARM, 0.02)] * HORIZON).mid < 0.5 * soon


def with_eggs(clutches: float) -> list[Day]:
    """A steady bin where four clutches are there at each look, then another number for two weeks."""
    steady = [Day(WARM, 1.0, 60.0, 1, 4.0 if day % 3 == 0 else None) for day in range(120)]
    return [*steady, *[Day(WARM, 1.0, 60.0, 1, clutches if day % 3 == 0 else None) for day in range(14)]]


def test_clutches_tell_of_a_harvest_weeks_before_it_comes() -> None:
    """The clutches of the last two weeks climb out after these two; what comes till then is laid already."""
    fewer, same, more = (live_through(with_eggs(clutches), 60.0, HORIZON) for clutches in (0.0, 4.0, 12.0))
    ahead = [Day(WARM, 1.0)] * HORIZON

    def second_week(lived: colony.Colony) -> float:
        return sum(mid for _, mid, _ in lived.outlook(ahead).daily[7:])

    assert second_week(fewer) < 0.7 * second_week(same)
    assert second_week(more) > 1.3 * second_week(same)


def test_looking_twice_at_the_same_eggs_tells_little_more() -> None:
    lived = live_through(with_eggs(4.0), 60.0, HORIZON)
    run, again = lived.runs[1].copy(), lived.runs[1].copy()
    recruits.advance(run, Day(WARM, 1.0))
    recruits.learn_eggs(run, 40.0)
    recruits.learn_eggs(run, 40.0)
    recruits.advance(again, Day(WARM, 1.0))
    recruits.learn_eggs(again, 40.0)
    assert run == again


def test_weather_error_widens_the_range() -> None:
    lived = live_through(days_of(6, 100), 100.0, HORIZON)
    ahead, warm, cool = ([Day(WARM * factor, 1.0)] * HORIZON for factor in (1.0, 1.3, 0.7))
    plain, unsure = lived.outlook(ahead), lived.outlook(ahead, warm, cool)
    assert unsure.high - unsure.low > plain.high - plain.low


def test_forecasts_that_failed_widen_the_next_ones() -> None:
    steady = live_through([Day(WARM, 1.0, 60.0)] * 150, 60.0, HORIZON)
    wild = live_through(
        [Day(WARM, 1.0, 300.0 if day // 20 % 2 else 2.0) for day in range(150)], 60.0, HORIZON
    )
    assert steady.width() < 1.0 < wild.width()


def test_odd_days_raise_the_dispersion() -> None:
    """Against the variance of the counts themselves, reckoned by hand.

    Counts of three days are learned from together: here 120 and 240 in turns, 60 from their mean of 180.
    Beyond chance that is a relative variance of (60 / 180)² - 1 / 180 a block, three times that a day. It is
    pooled with what is believed before any count; what the estimate itself is unsure by takes a little off.
    """
    believed, of_day = value("day_dispersion_weight"), value("day_dispersion")
    blocks = 150 / int(value("block_days"))
    even = live_through([Day(WARM, 1.0, 60.0)] * 150, 60.0, HORIZON)
    odd = live_through([Day(WARM, 1.0, 120.0 if day % 2 else 0.0) for day in range(150)], 60.0, HORIZON)
    seen = 3.0 * ((60.0 / 180.0) ** 2 - 1.0 / 180.0)
    pooled = (believed * of_day + blocks * seen) / (believed + blocks)
    assert even.dispersion() == pytest.approx(believed * of_day / (believed + blocks))
    assert 0.8 * pooled < odd.dispersion() < pooled


def test_a_count_of_several_days_says_about_what_daily_counts_say() -> None:
    daily = live_through([Day(WARM, 1.0, 50.0)] * 140, 60.0, HORIZON)
    weekly = live_through(
        [Day(WARM, 1.0, 350.0, 7) if day % 7 == 6 else Day(WARM, 1.0) for day in range(140)], 60.0, HORIZON
    )
    ahead = [Day(WARM, 1.0)] * HORIZON
    assert weekly.outlook(ahead).mid == pytest.approx(daily.outlook(ahead).mid, rel=0.1)


def test_nothing_ever_counted_gives_a_wide_range_and_no_error() -> None:
    outlook = live_through([Day(WARM, 1.0)] * 60, 100.0, HORIZON).outlook([Day(WARM, 1.0)] * HORIZON)
    assert 0.0 <= outlook.low < outlook.mid < outlook.high
    assert outlook.high > 5.0 * outlook.low


@pytest.mark.parametrize("counts", [0.0, 200000.0])
def test_extreme_counts_give_finite_ranges(counts: float) -> None:
    lived = live_through([Day(WARM, 1.0, counts)] * 90, 100.0, HORIZON)
    outlook = lived.outlook([Day(WARM, 1.0)] * HORIZON)
    assert 0.0 <= outlook.low <= outlook.mid <= outlook.high < 1e8


def test_a_frozen_year_is_survived() -> None:
    lived = live_through([Day(0.0, 0.0, 0.0)] * 365, 100.0, HORIZON)
    outlook = lived.outlook([Day(0.0, 0.0)] * HORIZON)
    assert outlook.high < 1.0


def test_the_same_days_give_the_same_bits() -> None:
    days, ahead = days_of(7, 150), [Day(WARM, 1.0)] * HORIZON
    one, two = (live_through(days, 100.0, HORIZON).outlook(ahead) for _ in range(2))
    assert one == two


def test_an_outlook_changes_nothing() -> None:
    lived = live_through(days_of(8, 100), 100.0, HORIZON)
    ahead = [Day(WARM, 1.0)] * HORIZON
    first = lived.outlook(ahead, ahead, ahead)
    lived.promise(ahead)
    assert lived.outlook(ahead, ahead, ahead) == first


@settings(max_examples=15)
@given(st.integers(20, 90), st.integers(0, 40), st.integers(0, 89), st.booleans())
def test_a_memo_changes_no_bit(first: int, more: int, changed: int, change: bool) -> None:
    """Days added, or an old day corrected: with the memo of an earlier run, or without, the same."""
    days = days_of(9, 130)
    memo = Memo()
    live_through(days[:first], 100.0, HORIZON, memo)
    later = days[: first + more]
    if change and changed < len(later):
        later[changed] = Day(0.03, 0.5, 7.0)
    ahead = [Day(WARM, 1.0)] * HORIZON
    fresh = live_through(later, 100.0, HORIZON).outlook(ahead)
    assert live_through(later, 100.0, HORIZON, memo).outlook(ahead) == fresh
    assert live_through(later, 120.0, HORIZON, memo).outlook(ahead) == live_through(
        later, 120.0, HORIZON
    ).outlook(ahead)


def test_a_memo_spares_the_days_already_lived(monkeypatch: pytest.MonkeyPatch) -> None:
    days, memo = days_of(10, 400), Memo()
    live_through(days, 100.0, HORIZON, memo)
    lived = 0
    live = colony.Colony.live

    def counted(self: colony.Colony, day: Day) -> None:
        nonlocal lived
        lived += 1
        live(self, day)

    monkeypatch.setattr(colony.Colony, "live", counted)
    live_through([*days, Day(WARM, 1.0, 80.0)], 100.0, HORIZON, memo)
    assert lived <= 14
