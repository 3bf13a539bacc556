"""The demo and the models tell the same story: what was foretold came, nearly always.

This proves nothing about worms or larvae, since the demo's hidden truth is invented. It shows that
somebody who tries the app sees forecasts that come true about as often as they say they do.
"""

from datetime import date, timedelta
from functools import cache
from math import fsum
from typing import Any

from fallowside.core.plan import plan
from fallowside.exchange import demo
from tests.demo.test_demo import PER_UNIT, TODAY, Raw, standing

LOG = demo.entries(TODAY)
STANDING = standing(LOG)
FORTNIGHT = timedelta(days=14)


@cache
def ahead(day: date, station: str, what: str) -> Raw:
    """Give what was foretold in the evening of a day."""
    stations: list[Any] = plan(LOG, f"{day}T20:00:00+02:00")["stations"]
    here = next(one for one in stations if one["id"] == station)
    return next(dict(one) for one in here["ahead"] if one["what"] == what)


def day_of(raw: Raw) -> date:
    return date.fromisoformat(raw["at"][:10])


def test_castings_foretold_on_the_eve_are_near_what_was_taken() -> None:
    taken: dict[date, list[float]] = {}
    for raw in STANDING:
        if raw["kind"] == "castings":
            kg = raw["amount"]["value"] * PER_UNIT[raw["amount"]["unit"]]
            taken.setdefault(day_of(raw), []).append(kg)
    assert len(taken) >= 3
    for day, pails in taken.items():
        foretold = ahead(day - timedelta(days=1), "trough", "harvest_castings")["amount"]
        assert foretold["unit"] == "kg"
        assert 0.7 * foretold["low"] <= fsum(pails) <= 1.3 * foretold["high"], day


def test_larvae_that_came_lie_mostly_within_what_was_foretold() -> None:
    within = []
    for ago in range(310, 20, -58):
        day = TODAY - timedelta(days=ago)
        foretold = ahead(day, "stair-bin", "self_harvest")["amount"]
        came = fsum(larvae(raw) for raw in STANDING if day < day_of(raw) <= day + FORTNIGHT)
        within.append(foretold["low"] <= came <= foretold["high"])
    assert sum(within) >= 3, within


def larvae(raw: Raw) -> float:
    if raw["kind"] != "self_harvest":
        return 0.0
    # A grown larva of the demo weighs between 0.14 and 0.17 g, as its weighings of fifty say.
    return float(raw["count"] if "count" in raw else raw["amount"]["value"] / 0.155)
