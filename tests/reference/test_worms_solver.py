"""The day step against scipy.integrate.solve_ivp of the same equations, written out once more."""

from collections.abc import Sequence
from dataclasses import replace
from math import exp, log

import pytest
from scipy.integrate import solve_ivp  # type: ignore[import-untyped]

from fallowside.core import sources, wormbed
from fallowside.core.wormbed import Conditions, Rates, Side

AREA = 0.6
DAYS = 120
TOLERANCE = 0.01
"""One part in a hundred on every state over 120 days."""


def slopes(state: Sequence[float], fed: Conditions, rest: Conditions, rates: Rates) -> list[float]:
    """Give the right-hand sides in the order of `Side`, the fed side first."""
    made: list[list[float]] = []
    for number, today in ((0, fed), (1, rest)):
        scraps, castings, worms, staying, water, nitrogen, _ = state[7 * number : 7 * number + 7]
        food = scraps / (scraps + rates.half_saturation * AREA)
        eaten = rates.intake * today.work * worms * food
        rotted = rates.decay * today.rot * scraps
        growth = today.work * (
            rates.growth * (food - worms / (rates.capacity * AREA)) - rates.starvation * (1.0 - food)
        )
        growth += 2.0 * log(today.half_survival)
        released = nitrogen * (eaten + rotted) / scraps if scraps > 0.0 else 0.0
        moist = water / (water + scraps + castings)
        reference = sources.value("worms.moisture_reference") / 100.0
        air = rates.evaporation * AREA * today.drying * (moist / reference) ** 2
        made.append(
            [
                -eaten - rotted,
                rates.yield_eaten * eaten + rates.yield_rotted * rotted - rates.curing * today.rot * castings,
                growth * worms,
                growth * staying,
                -air,
                -released,
                (1.0 - rates.nitrogen_lost) * released,
            ]
        )
    crossing = (state[9] - state[10]) * rest.crossing / rates.migration_days
    made[0][2] += crossing
    made[1][2] -= crossing
    return [*made[0], *made[1]]


def weather(day: int, mean: float, swing: float) -> float:
    """Give a season's temperature with a spell every ten days. [degC]"""
    return mean + swing * (day / DAYS) + (2.0 if day // 10 % 2 else -2.0)


@pytest.mark.parametrize(
    ("mean", "swing", "moisture", "feed", "rates"),
    [
        (20.0, 0.0, 78.0, 0.188, Rates()),
        (12.0, 8.0, 72.0, 0.10, Rates()),
        (27.0, 3.0, 82.0, 0.30, Rates()),
        (20.0, 0.0, 78.0, 0.188, replace(Rates(), intake=0.25, decay=0.05, migration_days=4.5)),
        (2.0, -6.0, 75.0, 0.05, Rates()),
    ],
)
def test_every_state_stays_within_a_hundredth_of_the_exact_solution(
    mean: float, swing: float, moisture: float, feed: float, rates: Rates
) -> None:
    fed = Side(2.0, 1.0, 0.4, 0.0, 11.0, 0.05, 0.02)
    rest = wormbed.begin_rest(Side(3.0, 4.0, 1.0, 0.0, 24.0, 0.08, 0.07), rates)
    exact = [*fed, *rest]
    for day in range(DAYS):
        if day % 3 == 0:
            fed = wormbed.put_in(fed, 3.0 * feed, 12.0 * feed, 0.07 * feed)
            exact = [*wormbed.put_in(Side(*exact[:7]), 3.0 * feed, 12.0 * feed, 0.07 * feed), *exact[7:]]
        today = wormbed.conditions(weather(day, mean, swing), moisture)
        fed, rest, _ = wormbed.advance(fed, rest, (today, today), rates, AREA)
        solved = solve_ivp(
            lambda _, state, today=today: slopes(state, today, today, rates),
            (0.0, 1.0),
            exact,
            rtol=1e-9,
            atol=1e-12,
        )
        exact = list(solved.y[:, -1])
        assert [*fed, *rest] == pytest.approx(exact, rel=TOLERANCE, abs=1e-9)


def test_the_cheap_exponential_is_close_where_steps_are_short() -> None:
    for tenths in range(8):
        assert wormbed.decayed(tenths / 10.0) == pytest.approx(exp(-tenths / 10.0), rel=2e-3)
