"""What a larvae bin may be fed today, and what binds: larvae, area, room, warmth, leftovers, mix.

Capacity comes from the larvae inferred to be inside: each grows along a Gompertz curve of its age, and
eats its growth divided by the wet bioconversion. Where nobody has counted yet, a cautious figure by
area stands in and says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from fallowside.core import binlog, numeric, soldierfly
from fallowside.core.binlog import GRAMS, Log
from fallowside.core.colony import Stock
from fallowside.core.recruits import value
from fallowside.core.shapes import Addition, Ration, because, figure
from fallowside.core.span import Span

Limit = Literal[
    "larvae", "larvae_not_known", "area", "room", "cold", "heat", "leftovers", "wet", "animal_share", "fed"
]

_CM2 = 10_000.0


@dataclass(frozen=True, slots=True)
class Mix:
    """What went in over the last days, and how much fish and meat the next feed may hold.

    Attributes:
        total_kg, fish_kg, meat_kg: Fed over the window, inert parts left out. [kg]
        fish_share, meat_share: Of that. [1]
    """

    total_kg: float
    fish_kg: float
    meat_kg: float

    @property
    def fish_share(self) -> float:
        """Share of fish, 0 if nothing was fed."""
        return self.fish_kg / self.total_kg if self.total_kg > 0.0 else 0.0

    @property
    def meat_share(self) -> float:
        """Share of meat, 0 if nothing was fed."""
        return self.meat_kg / self.total_kg if self.total_kg > 0.0 else 0.0


def mix(log: Log) -> Mix:
    """Sum what went in over the last days by what it was."""
    since = log.today - int(value("mix_window_days"))
    sums = {"fish": 0.0, "meat": 0.0, "other": 0.0, "inert": 0.0}
    for feed in log.feeds:
        if feed.day > since:
            sums[feed.group] += feed.kg
    return Mix(sums["fish"] + sums["meat"] + sums["other"], sums["fish"], sums["meat"])


def animal_limit(total_kg: float, animal_kg: float, share: float, ration_kg: float) -> float:
    """Give how much fish (or meat) may be in the next feed so that the mix stays within a share.

    Args:
        total_kg: Fed lately. [kg]
        animal_kg: Of that, fish (or meat). [kg]
        share: Largest share in the mix. [1], 0 to 1
        ration_kg: The next feed, all of it. [kg]

    Returns:
        Kilograms within the next feed, never the whole of it. [kg]

    Source: fish to 15 % with bread works, fish alone fails: Lopes et al. 2020; Nguyen et al. 2013.

    >>> round(animal_limit(0.0, 0.0, 0.15, 2.0), 3)
    0.3
    >>> animal_limit(4.0, 2.0, 0.15, 2.0)
    0.0
    """
    allowed = min(share * (total_kg + ration_kg) - animal_kg, share * ration_kg)
    return max(0.0, allowed)


def others_needed(total_kg: float, animal_kg: float, share: float) -> float:
    """Give the kilograms of other scraps that bring a mix too rich in fish back to its share.

    >>> others_needed(1.0, 0.3, 0.15)
    1.0
    >>> others_needed(4.0, 0.3, 0.15)
    0.0
    """
    return max(0.0, animal_kg / share - total_kg)


def accepts(parts: Sequence[tuple[str, float]]) -> bool:
    """Say whether a mix of (group, kg) keeps to the shares of fish and meat.

    >>> accepts([("fish", 1.0)]), accepts([("fish", 0.15), ("other", 0.85)])
    (False, True)
    """
    total = fish = meat = 0.0
    for group, kg in parts:
        total += kg if group != "inert" else 0.0
        fish += kg if group == "fish" else 0.0
        meat += kg if group == "meat" else 0.0
    slack = 1.0 + 1e-9
    return (
        total > 0.0
        and fish <= value("fish_share") * total * slack
        and meat <= value("meat_share") * total * slack
    )


def appetite_kg(stock: Stock, temperature_c: float, grams: float) -> float:
    """Give what the larvae inside can eat in a day, wet.

    Gompertz growth in physiological age from hatchling to end mass, times the day's development, over
    the wet bioconversion.

    Args:
        stock: Effective larvae inside, by age.
        temperature_c: Temperature of the feed. [degC], -20 to 60
        grams: End mass of a larva. [g], above 0

    Returns:
        Wet feed. [kg/d]

    Source: bioconversion 9 to 13 % wet from the handbook's container (Dortmans et al. 2017); the growth
    curve's form is our choice.
    Error: ±50 %; bioconversion alone ±20 %, the number of larvae more.
    """
    rate = soldierfly.development_rate("larva", temperature_c)
    start = numeric.log(grams / value("hatchling_mass"))
    pace = numeric.log(start / -numeric.log(value("full_mass_share")))
    growth = 0.0
    for age, number in zip(stock.ages, stock.numbers, strict=True):
        left = start * numeric.exp(-pace * max(age, 0.0))
        growth += number * grams * numeric.exp(-left) * left * pace
    eaten = growth * rate / value("bioconversion_wet") / GRAMS
    return eaten / value("climb_share")


def ration(log: Log, stock: Stock | None, temperature_c: float, temperature_known: bool) -> Ration:
    """Say what may go in today, with its 80 % range, the limit that binds and what to add."""
    entries = [feed.id for feed in log.feeds[-3:]]
    caps: list[tuple[float, Limit, list[str]]] = []
    area_kg = value("area_rate") * log.area_m2
    caps.append((area_kg, "area", ["area_rate"]))
    if stock is None:
        caps.append((value("start_area_rate") * log.area_m2, "larvae_not_known", ["start_area_rate"]))
        spread = Span(0.5, 1.0, 2.0)
    else:
        eaten = appetite_kg(stock, max(temperature_c, value("best_low")), log.grams)
        floor = value("start_area_rate") * log.area_m2 * value("some_left")
        caps.append((max(eaten, floor), "larvae", ["bioconversion_wet", "climb_share"]))
        spread = Span(0.6, 1.0, 1.5)
    room = _room_kg(log)
    if room is not None:
        caps.append((room, "room", ["room_spare", "feed_density"]))
    kg, limit, constants = min(caps, key=lambda cap: cap[0])
    for factor, name, used in _brakes(log, temperature_c):
        if factor < 1.0:
            kg, limit, constants = kg * factor, name, used
    low, high = kg * spread.low, min(kg * spread.high, area_kg)
    fed = 0.0
    for feed in log.feeds:
        if feed.day == log.today and feed.group != "inert":
            fed += feed.kg
    left = max(0.0, kg - fed)
    if fed > 0.0 and left == 0.0:
        limit = "fed"
    reason = because(
        f"bin.ration.{limit}",
        [*entries, *last_ids(log, "leftover"), *last_ids(log, "reading.temperature")],
        [f"soldierfly.{name}" for name in constants],
        kg=figure(kg),
        fed_kg=figure(fed),
        area_m2=figure(log.area_m2),
        area_known=log.area_known,
        temperature_c=figure(temperature_c),
        temperature_known=temperature_known,
    )
    return {
        "side": None,
        "kg": figure(left),
        "low": figure(max(0.0, low - fed)),
        "high": figure(max(0.0, high - fed)),
        "limit": limit,
        "add": _additions(log),
        "because": reason,
    }


def last_ids(log: Log, kind: str) -> list[str]:
    """Name the latest entry of a kind (or field of a reading), if there is one."""
    entry = log.newest.get(kind)
    return [entry.id] if entry is not None else []


def _room_kg(log: Log) -> float | None:
    depth = log.newest.get("reading.depth")
    if depth is None or log.depth_m is None or depth.day < log.today - int(value("moisture_days")):
        return None
    filled = binlog.depth_m(depth)
    free = log.depth_m - filled - value("room_spare")
    return max(0.0, free) * log.area_m2 * value("feed_density") * GRAMS


def _brakes(log: Log, temperature_c: float) -> list[tuple[float, Limit, list[str]]]:
    """Give each reason to feed less, as a factor; the last that holds is named."""
    found: list[tuple[float, Limit, list[str]]] = []
    best, stop = value("best_low"), value("growth_stops")
    if temperature_c < best:
        slow = soldierfly.development_rate("larva", max(temperature_c, stop)) / soldierfly.development_rate(
            "larva", best
        )
        found.append((0.0 if temperature_c <= stop else slow, "cold", ["growth_stops", "best_low"]))
    if wetness(log) == "wet":
        found.append((value("some_left"), "wet", ["moisture_high"]))
    left = log.newest.get("leftover")
    if left is not None and left.day > log.today - int(value("leftover_stale_days")):
        factor = {"none": 1.0, "some": value("some_left"), "most": 0.0}[left.data["left"]]
        found.append((factor, "leftovers", ["some_left"]))
    hot, danger = value("hot"), value("danger")
    if temperature_c > hot:
        found.append((max(0.0, (danger - temperature_c) / (danger - hot)), "heat", ["hot", "danger"]))
    return found


def wetness(log: Log) -> str:
    """Say whether the feed is wet, dry, right or not known, by the latest reading of the last days."""
    since = log.today - int(value("moisture_days"))
    by_pct, by_hand = log.newest.get("reading.moisture_pct"), log.newest.get("reading.squeeze")
    newest = max(
        (one for one in (by_pct, by_hand) if one is not None), key=lambda one: (one.us, one.id), default=None
    )
    if newest is None or newest.day < since:
        return "not_known"
    if newest.data.get("moisture_pct") is not None:
        pct = float(newest.data["moisture_pct"])
        return "wet" if pct > value("moisture_high") else "dry" if pct < value("moisture_dry") else "right"
    return {"crumbles": "dry", "holds": "right", "drips": "right", "trickles": "wet", "runs": "wet"}[
        newest.data["squeeze"]
    ]


def _additions(log: Log) -> list[Addition]:
    """Say what to put in with the next feed to bring fish and meat back to their share of the mix."""
    made: list[Addition] = []
    lately = mix(log)
    ids = [feed.id for feed in log.feeds if feed.group in ("fish", "meat")]
    for animal, kg, name in (("fish", lately.fish_kg, "fish_share"), ("meat", lately.meat_kg, "meat_share")):
        need = others_needed(lately.total_kg, kg, value(name))
        if need > 0.0:
            reason = because(
                f"bin.add.others_to_{animal}",
                ids,
                [f"soldierfly.{name}"],
                share_pct=figure(100.0 * kg / lately.total_kg),
                most_pct=figure(100.0 * value(name)),
            )
            made.append({"material": "mixed_scraps", "kg": figure(need), "because": reason})
    return made


def crowding(stock: Stock, area_m2: float) -> float:
    """Give larvae per square centimetre of feed, those that will never climb out included."""
    total = 0.0
    for number in stock.numbers:
        total += number
    return total / value("climb_share") / (area_m2 * _CM2)
