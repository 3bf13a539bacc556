"""What a larvae bin may be fed today, and what binds: larvae, area, room, warmth, backlog, moisture.

Capacity comes from the larvae inferred to be inside: each grows along a Gompertz curve of its age, and
eats its growth divided by the wet bioconversion. A bin that was seen to clear more than that takes as
much. Where nobody has counted yet, a cautious figure by area stands in and says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum, sqrt
from typing import Literal

from fallowside.core import mix, numeric, soldierfly, sources
from fallowside.core.errors import CannotMeet, OutOfRange
from fallowside.core.larvae import binlog, recruits
from fallowside.core.larvae.binlog import GRAMS, Log
from fallowside.core.larvae.colony import Stock
from fallowside.core.larvae.recruits import value
from fallowside.core.place import Place
from fallowside.core.shapes import Addition, Ration, because, figure

Binding = Literal[
    "larvae", "larvae_not_known", "area", "room", "warmth", "heat", "backlog", "moisture", "signs", "fed"
]
ANIMAL = ("fish", "meat")

_CM2 = 10_000.0
_SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class Mix:
    """What went in over the last days; what larvae do not eat (bones, shells) left out.

    Attributes:
        total_kg, fish_kg, meat_kg: Wet masses. [kg]
    """

    total_kg: float
    fish_kg: float
    meat_kg: float

    def share(self, group: str) -> float:
        """Give the share of fish or meat, 0 if nothing was fed. [1]"""
        kg = self.fish_kg if group == "fish" else self.meat_kg
        return kg / self.total_kg if self.total_kg > 0.0 else 0.0


@dataclass(frozen=True, slots=True)
class _Cap:
    """A reason to feed no more: what it is called, how much it allows, and the constants behind it."""

    kg: float
    limit: Binding
    key: str
    constants: tuple[str, ...]


def lately(log: Log) -> Mix:
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
    return max(0.0, min(share * (total_kg + ration_kg) - animal_kg, share * ration_kg))


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

    Source: Lopes et al. 2020, J Clean Prod 251:119753 (15 % fish); Nguyen et al. 2013, J Med Entomol
    50:898-906 (fish alone: almost none live); meat at 20 % is common practice, no source.

    >>> accepts([("fish", 1.0)]), accepts([("fish", 0.15), ("other", 0.85)])
    (False, True)
    """
    total = fsum(kg for group, kg in parts if group != "inert")
    return total > 0.0 and all(
        fsum(kg for group, kg in parts if group == animal)
        <= value(f"{animal}_share") * total * (1.0 + _SLACK)
        for animal in ANIMAL
    )


def appetite_kg(stock: Stock, temperature_c: float, grams: float) -> float:
    """Give what the larvae inside can eat in a day, wet.

    Gompertz growth in physiological age from hatchling to end mass, times the day's development, over
    the wet bioconversion. Eggs do not eat.

    Args:
        stock: Effective larvae inside, by age.
        temperature_c: Temperature of the feed. [degC], -60 to 100
        grams: End mass of a larva. [g], above 0

    Returns:
        Wet feed. [kg/d]

    Source: bioconversion 9 to 13 % wet from the handbook's container (Dortmans et al. 2017); the growth
    curve's form is our choice.
    Error: ±50 %; bioconversion alone ±20 %, the number of larvae more.
    """
    rate, egg = soldierfly.development_rate("larva", temperature_c), recruits.egg_share()
    start = numeric.log(grams / value("hatchling_mass"))
    pace = numeric.log(start / -numeric.log(value("full_mass_share")))
    growth = []
    for age, number in zip(stock.ages, stock.numbers, strict=True):
        if age > egg:
            left = start * numeric.exp(-pace * (age - egg) / (1.0 - egg))
            growth.append(number * grams * numeric.exp(-left) * left * pace)
    return fsum(growth) * rate / value("bioconversion_wet") / GRAMS / value("climb_share")


def cleared_kg(log: Log) -> float:
    """Give the wet feed a day the bin was seen to clear: fed over the last days, and none of it left."""
    left, window = log.newest.get("leftover"), int(value("mix_window_days"))
    if left is None or left.data["left"] != "none" or left.day <= log.today - window:
        return 0.0
    since = max(left.day - window, log.first_day)
    eaten = fsum(feed.kg for feed in log.feeds if since <= feed.day < left.day and feed.group != "inert")
    return eaten / max(left.day - since, 1)


def ration(log: Log, place: Place, stock: Stock | None, temperature_c: float, measured: bool) -> Ration:
    """Say what may go in today, with its 80 % range, the limit that binds and what to add.

    Args:
        log: The bin's record.
        place: The place, for what its feedstocks are.
        stock: Larvae inferred to be inside; None where nobody has counted.
        temperature_c: Temperature of the feed today. [degC]
        measured: Whether that rests on the bin's own readings.
    """
    caps = [*_feeding_caps(log, stock, temperature_c), *_room_caps(log)]
    cap = min(caps, key=lambda one: one.kg)
    kg = cap.kg
    for factor, brake in _brakes(log, temperature_c):
        if factor < 1.0:
            kg, cap = kg * factor, brake
    most = value("area_rate") * log.area_m2
    ratio = _doubt_ratio(stock)
    fed = fsum(feed.kg for feed in log.feeds if feed.day == log.today and feed.group != "inert")
    left = max(0.0, kg - fed)
    limit, key = ("fed", "bin.ration.fed") if fed > 0.0 and left == 0.0 else (cap.limit, cap.key)
    return {
        "side": None,
        "kg": figure(left),
        "low": figure(max(0.0, kg / ratio - fed)),
        "high": figure(max(0.0, min(kg * ratio, max(most, kg)) - fed)),
        "limit": limit,
        "add": [*_others_to_add(log), *_moisture_to_add(log, place)],
        "because": because(
            key,
            [*(feed.id for feed in log.feeds[-3:]), *log.last("leftover"), *log.last("reading.temperature")],
            [f"soldierfly.{name}" for name in cap.constants],
            kg=figure(kg),
            fed_kg=figure(fed),
            area_m2=figure(log.area_m2),
            area_known=log.area_known,
            temperature_c=figure(temperature_c),
            temperature_known=measured,
        ),
    }


def _feeding_caps(log: Log, stock: Stock | None, temperature_c: float) -> list[_Cap]:
    """Give what larvae and area allow at a good temperature; the cold is a brake of its own."""
    start_kg = value("start_area_rate") * log.area_m2
    caps = [_Cap(value("area_rate") * log.area_m2, "area", "bin.ration.area", ("area_rate",))]
    cleared = cleared_kg(log)
    if stock is None:
        kg = max(start_kg, cleared)
        caps.append(_Cap(kg, "larvae_not_known", "bin.ration.larvae_not_known", ("start_area_rate",)))
        return caps
    eaten = appetite_kg(stock, max(temperature_c, value("best_low")), log.grams)
    key = "bin.ration.larvae" if eaten >= cleared else "bin.ration.cleared"
    kg = max(eaten, cleared, start_kg * value("some_left"))
    return [*caps, _Cap(kg, "larvae", key, ("bioconversion_wet", "climb_share"))]


def _room_caps(log: Log) -> list[_Cap]:
    depth = log.newest.get("reading.depth")
    if depth is None or log.depth_m is None or depth.day <= log.today - int(value("moisture_days")):
        return []
    free = max(0.0, log.depth_m - binlog.depth_m(depth) - value("room_spare"))
    kg = free * log.area_m2 * value("feed_density") * GRAMS
    return [_Cap(kg, "room", "bin.ration.room", ("room_spare", "feed_density"))]


def _brakes(log: Log, temperature_c: float) -> list[tuple[float, _Cap]]:
    """Give each reason to feed less, as a factor; the last that holds is named."""
    found = []
    best, stop = value("best_low"), value("growth_stops")
    if temperature_c < best:
        rate = soldierfly.development_rate("larva", max(temperature_c, stop))
        slow = 0.0 if temperature_c <= stop else rate / soldierfly.development_rate("larva", best)
        found.append((slow, _Cap(0.0, "warmth", "bin.ration.cold", ("growth_stops", "best_low"))))
    if wetness(log) == "wet":
        found.append((value("some_left"), _Cap(0.0, "moisture", "bin.ration.wet", ("moisture_high",))))
    left = log.newest.get("leftover")
    if left is not None and left.day > log.today - int(value("leftover_stale_days")):
        factor = {"none": 1.0, "some": value("some_left"), "most": 0.0}[left.data["left"]]
        found.append((factor, _Cap(0.0, "backlog", "bin.ration.leftovers", ("some_left",))))
    hot, danger = value("hot"), value("danger")
    if temperature_c > hot:
        factor = max(0.0, (danger - temperature_c) / (danger - hot))
        found.append((factor, _Cap(0.0, "heat", "bin.ration.heat", ("hot", "danger"))))
    if stops(log):
        found.append((0.0, _Cap(0.0, "signs", "bin.ration.signs", ("sign_days",))))
    return found


def stops(log: Log) -> bool:
    """Tell whether a sign seen in the last days asks for no feed, as its warning says."""
    table, since = sources.table("soldierfly")["signs"], log.today - int(value("sign_days"))
    return any(
        entry.day > since and "stop_feeding" in table[sign]["remedies"]
        for sign, entry in log.signs.items()
        if sign in table
    )


def _doubt_ratio(stock: Stock | None) -> float:
    """Give by what the ration is multiplied or divided at the ends of its 80 % range."""
    if stock is None:
        return 1.0 / value("some_left")
    eaten = value("bioconversion_spread")
    return numeric.exp(soldierfly.HALF * sqrt(stock.doubt * stock.doubt + eaten * eaten))


def wetness(log: Log) -> str:
    """Say whether the feed is wet, dry, right or not_known, by the latest reading of the last days."""
    seen = [log.newest[name] for name in ("reading.moisture_pct", "reading.squeeze") if name in log.newest]
    newest = max(seen, key=lambda one: (one.us, one.id), default=None)
    if newest is None or newest.day <= log.today - int(value("moisture_days")):
        return "not_known"
    pct = newest.data.get("moisture_pct")
    if pct is not None:
        return "wet" if pct > value("moisture_high") else "dry" if pct < value("moisture_dry") else "right"
    return _BY_HAND[newest.data["squeeze"]]


_BY_HAND = {"crumbles": "dry", "holds": "right", "drips": "right", "trickles": "wet", "runs": "wet"}


def _others_to_add(log: Log) -> list[Addition]:
    """Say what to put in with the next feed to bring fish and meat back to their share of the mix."""
    made: list[Addition] = []
    mixed = lately(log)
    for animal in ANIMAL:
        most, share = value(f"{animal}_share"), mixed.share(animal)
        need = others_needed(mixed.total_kg, share * mixed.total_kg, most)
        if need > _SLACK * mixed.total_kg:
            reason = because(
                f"bin.add.others_to_{animal}",
                [feed.id for feed in log.feeds if feed.group == animal],
                [f"soldierfly.{animal}_share"],
                share_pct=figure(100.0 * share),
                most_pct=figure(100.0 * most),
            )
            made.append({"material": "mixed_scraps", "kg": figure(need), "because": reason})
    return made


def _moisture_to_add(log: Log, place: Place) -> list[Addition]:
    """Say how much dry stuff or water brings the last days' feed to a good moisture."""
    wet, goal = wetness(log), value("moisture_goal")
    since = log.today - int(value("mix_window_days"))
    parts = [(place.material(feed.feedstock), feed.kg) for feed in log.feeds if feed.day > since]
    if wet not in ("wet", "dry") or not parts:
        return []
    material = "cardboard" if wet == "wet" else "water"
    try:
        kg = mix.amend(parts, material, moisture_pct=goal)
    except (CannotMeet, OutOfRange):
        return []
    if kg <= 0.0:
        return []
    key = "bin.add.dry" if wet == "wet" else "bin.add.water"
    ids = [*log.last("reading.moisture_pct"), *log.last("reading.squeeze")]
    reason = because(key, ids, ["soldierfly.moisture_goal"], kg=figure(kg), goal_pct=goal)
    return [{"material": material, "kg": figure(kg), "because": reason}]


def crowding(stock: Stock, area_m2: float) -> float:
    """Give larvae on a square centimetre of feed, those that will never climb out included. [1/cm2]"""
    return stock.larvae() / value("climb_share") / (area_m2 * _CM2)
