"""A larvae bin with a hidden truth, made by other laws than the model's, and a keeper who records it.

Nothing of `fallowside` is used to make the truth. It departs from the model on purpose: a straight-line
rate with a cap instead of a Brière curve; a fixed lag and a gamma rest instead of equal boxes; eggs in
clumps from flies whose numbers wander, that stay away on rainy days and for weeks at a time; heat,
and nights on which more or fewer larvae set out. The keeper misses days, goes away, counts
roughly, weighs now and then, and reads the thermometer when there is time; some look for eggs.
"""

import math
import random
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

START = date(2023, 1, 1)
_YEAR = 365.25


@dataclass(frozen=True)
class Site:
    """A hidden place: climate, flies, larvae and keeper."""

    air_mean: float
    air_swing: float
    coldest_day: float
    day_swing: float
    self_heat: float
    threshold: float
    constant: float
    lag_share: float
    spread: float
    laying_middle: float
    laying_width: float
    clutches: float
    recruits_a_clutch: float
    fly_spread: float
    fly_memory: float
    gap_chance: float
    climb: float
    loss_a_day: float
    grams: float
    count_chance: float
    read_chance: float
    weighs: bool
    knows_normals: bool
    area: float
    egg_days: int
    watches_eggs: bool


@dataclass
class Record:
    """What the keeper wrote down, and what truly climbed out."""

    site: Site
    entries: list[dict[str, Any]] = field(default_factory=list)
    truth: list[int] = field(default_factory=list)
    """Larvae that climbed out on each day."""
    laid: list[int] = field(default_factory=list)
    """Clutches laid on each day."""
    normals: list[float] = field(default_factory=list)


def draw_site(rng: random.Random) -> Site:
    """Draw a place at random, from a cool hill to the wet tropics."""
    return Site(
        air_mean=rng.uniform(17.0, 27.0),
        air_swing=rng.uniform(2.0, 8.0),
        coldest_day=rng.choice([15.0, 197.0]),
        day_swing=rng.uniform(3.0, 6.0),
        self_heat=rng.uniform(1.5, 7.0),
        threshold=rng.gauss(11.7, 1.0),
        constant=289.0 * math.exp(rng.gauss(0.0, 0.18)),
        lag_share=rng.uniform(0.3, 0.6),
        spread=rng.uniform(0.12, 0.26),
        laying_middle=rng.uniform(21.0, 25.5),
        laying_width=rng.uniform(0.8, 2.0),
        clutches=rng.uniform(0.4, 4.0),
        recruits_a_clutch=math.exp(rng.uniform(math.log(15.0), math.log(120.0))),
        fly_spread=rng.uniform(0.4, 0.9),
        fly_memory=rng.uniform(15.0, 60.0),
        gap_chance=rng.uniform(0.0, 0.006),
        climb=rng.uniform(0.6, 0.95),
        loss_a_day=rng.uniform(0.002, 0.015),
        grams=rng.uniform(0.09, 0.23),
        count_chance=rng.uniform(0.6, 1.0),
        read_chance=rng.uniform(0.3, 1.0),
        weighs=rng.random() < 0.4,
        knows_normals=rng.random() < 0.6,
        area=rng.uniform(0.1, 0.5),
        egg_days=rng.choice([3, 4, 4, 5]),
        watches_eggs=rng.random() < 0.4,
    )


def simulate(seed: int, days: int) -> Record:
    """Run one hidden bin for so many days."""
    rng = random.Random(seed)
    site = draw_site(rng)
    record = Record(site, normals=[_normal(site, month) for month in range(12)])
    air, feed, noon = _weather(site, rng, days)
    record.truth, record.laid = _life(site, rng, days, feed, noon)
    _keep(record, rng, days, air, feed)
    return record


def _season(site: Site, day: float) -> float:
    return site.air_mean - site.air_swing * math.cos(2.0 * math.pi * (day - site.coldest_day) / _YEAR)


def _normal(site: Site, month: int) -> float:
    return round(_season(site, month * 30.44 + 15.0), 1)


def _weather(site: Site, rng: random.Random, days: int) -> tuple[list[float], list[float], list[float]]:
    air, feed, noon = [], [], []
    off = year_off = lagged = 0.0
    for day in range(days):
        if day % 365 == 0:
            year_off = rng.gauss(0.0, 0.8)
        off = 0.8 * off + rng.gauss(0.0, 1.3)
        today = _season(site, day) + off + year_off
        lagged = today if day == 0 else 0.6 * lagged + 0.4 * today
        air.append(today)
        feed.append(lagged + site.self_heat + rng.gauss(0.0, 0.5))
        noon.append(today + site.day_swing + rng.gauss(0.0, 1.0))
    return air, feed, noon


def _rate(site: Site, feed_c: float) -> float:
    if feed_c >= 40.0:
        return 0.0
    warm = min(feed_c, 31.0) - site.threshold
    slowed = 1.0 if feed_c <= 34.0 else (40.0 - feed_c) / 6.0
    return max(0.0, warm * slowed) / site.constant


def _life(
    site: Site, rng: random.Random, days: int, feed: list[float], noon: list[float]
) -> tuple[list[int], list[int]]:
    larvae: list[list[float]] = []  # [age, age at which it is grown, number]
    waiting = 0.0
    flies = rng.gauss(0.0, site.fly_spread)
    away = 0
    truth: list[int] = []
    laid: list[int] = []
    keep = math.exp(-1.0 / site.fly_memory)
    push = site.fly_spread * math.sqrt(1.0 - keep * keep)
    shape = ((1.0 - site.lag_share) / site.spread) ** 2
    for day in range(days):
        flies = keep * flies + rng.gauss(0.0, push)
        away = away - 1 if away > 0 else rng.randint(8, 28) if rng.random() < site.gap_chance else 0
        active = 1.0 / (1.0 + math.exp(-(noon[day] - site.laying_middle) / site.laying_width))
        rain = 0.4 if rng.random() < 0.25 else 1.0
        clutches = _poisson(rng, site.clutches * math.exp(flies) * active * rain) if away == 0 else 0
        laid.append(clutches)
        if day >= site.egg_days:
            for _ in range(laid[day - site.egg_days]):
                brood = rng.gammavariate(3.0, site.recruits_a_clutch / 3.0)
                for _ in range(6):
                    grown = site.lag_share + (1.0 - site.lag_share) * rng.gammavariate(shape, 1.0 / shape)
                    larvae.append([0.0, grown, brood / 6.0])
        step = _rate(site, feed[day])
        live = 1.0 - site.loss_a_day - (0.25 if feed[day] > 39.0 else 0.0)
        left = []
        for one in larvae:
            one[0] += step
            one[2] *= live
            if one[0] >= one[1]:
                waiting += one[2] * site.climb
            else:
                left.append(one)
        larvae = left
        share = min(0.95, max(0.05, rng.gauss(0.55, 0.2)))
        setting_out = min(_poisson(rng, waiting * share), int(waiting))
        waiting -= setting_out
        truth.append(setting_out)
    return truth, laid


def _poisson(rng: random.Random, mean: float) -> int:
    if mean <= 0.0:
        return 0
    if mean > 50.0:
        return max(0, round(rng.gauss(mean, math.sqrt(mean))))
    limit, product, number = math.exp(-mean), rng.random(), 0
    while product > limit:
        product *= rng.random()
        number += 1
    return number


def _keep(record: Record, rng: random.Random, days: int, air: list[float], feed: list[float]) -> None:
    site, uncounted, away = record.site, 0, 0
    for day in range(days):
        uncounted += record.truth[day]
        away = away - 1 if away > 0 else rng.randint(3, 9) if rng.random() < 0.006 else 0
        if away:
            continue
        if rng.random() < site.read_chance:
            given: dict[str, Any] = {"temperature": _degrees(feed[day] + rng.gauss(0.0, 0.7))}
            if rng.random() < 0.4:
                given["air_temperature"] = _degrees(air[day] + rng.gauss(0.0, 0.7))
            _note(record, "reading", day, 8, **given)
        if site.watches_eggs and rng.random() < 0.4:
            there = sum(record.laid[max(0, day - site.egg_days + 1) : day + 1])
            seen = sum(rng.random() < 0.85 for _ in range(there))
            _note(record, "eggs", day, 9, clutches=seen)
        if rng.random() < 0.5:
            _note(record, "feed", day, 9, feedstock="mixed_scraps", amount=_mass(rng.uniform(0.3, 1.2)))
        if rng.random() < site.count_chance:
            seen = max(0, round(uncounted * (1.0 + rng.gauss(0.0, 0.04))))
            extra: dict[str, Any] = {}
            if seen >= 50 and rng.random() < 0.03:
                extra["fifty_mass"] = {
                    "value": round(50.0 * site.grams * (1.0 + rng.gauss(0.0, 0.03)), 2),
                    "unit": "g",
                }
            if site.weighs:
                extra["amount"] = {"value": round(seen * site.grams, 1), "unit": "g"}
            else:
                extra["count"] = seen
            _note(record, "self_harvest", day, 10, **extra)
            uncounted = 0


def _degrees(value: float) -> dict[str, Any]:
    return {"value": round(value, 1), "unit": "degC"}


def _mass(value: float) -> dict[str, Any]:
    return {"value": round(value, 2), "unit": "kg"}


def _note(record: Record, kind: str, day: int, hour: int, **fields: Any) -> None:
    at = f"{(START + timedelta(days=day)).isoformat()}T{hour:02d}:00:00+00:00"
    number = len(record.entries)
    record.entries.append({"id": f"n{number:06d}", "kind": kind, "station": "bin", "at": at, **fields})


def setups(record: Record) -> list[Mapping[str, Any]]:
    """Give the set-up entries of the place."""
    at = f"{START.isoformat()}T06:00:00+00:00"
    place: dict[str, Any] = {"name": "Simulated"}
    if record.site.knows_normals:
        place["air_by_month_c"] = record.normals
    area = {"value": round(record.site.area, 2), "unit": "m^2"}
    return [
        {"id": "s0", "kind": "setup", "at": at, "what": "place", "item": "home", "set": place},
        {
            "id": "s1",
            "kind": "setup",
            "at": at,
            "what": "station",
            "item": "bin",
            "set": {"type": "bin", "name": "Bin", "bin_area": area},
        },
    ]
