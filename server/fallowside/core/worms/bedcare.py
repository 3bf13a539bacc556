"""What a bed asks for: how much it takes today and why no more, what to add, what to watch, what to log.

A ration is the least of several allowances, each reckoned for every draw: what the worms can eat at
their best, what they eat at today's warmth and moisture, what the backlog and the room leave, and
what the scraps' carbon to nitrogen asks in bedding. Thresholds are data, so that a phone can warn by
itself.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import inf
from typing import Literal

from fallowside.core import mix, sources, wormbed
from fallowside.core.errors import FallowsideError, require
from fallowside.core.place import Place
from fallowside.core.shapes import Addition, Limit, because, figure
from fallowside.core.span import Span
from fallowside.core.warned import Level
from fallowside.core.wormbed import Conditions, Rates
from fallowside.core.worms.bedahead import Setting
from fallowside.core.worms.bedlog import Log, fed_since
from fallowside.core.worms.bedpast import Past
from fallowside.core.worms.forecast import Belief

Binding = Literal[
    "worms", "warmth", "backlog", "room", "moisture", "carbon_to_nitrogen", "heat", "fed", "signs"
]
Damp = Literal["dry", "wet", "good"]

BEDDING = "cardboard"
WATER = "water"


# -- today's feed --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Mix:
    """What is fed here of late, or what kitchen scraps usually are.

    Attributes:
        parts: Feedstock and wet mass. [kg]
        dry_share: Dry over wet mass. [1]
        moisture: Moisture with its range. [%]
        carbon_to_nitrogen: By mass; None where there is no nitrogen.
        ids: Entries it rests on; none: nothing was fed of late, and it is assumed.
    """

    parts: tuple[tuple[mix.Material, float], ...]
    dry_share: float
    moisture: Span
    carbon_to_nitrogen: Span | None
    ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Allowance:
    """Wet kilograms that may still go in today, and which limit binds.

    Attributes:
        wet_kg: 10, 50 and 90 % points over the draws. [kg]
        limit: The limit that binds at the middle.
        limits: The middle of each limit by itself. [kg]
        given_kg: What went in today already. [kg]
        days: Days of appetite it makes up for.
    """

    wet_kg: Span
    limit: Binding
    limits: Mapping[str, float]
    given_kg: float
    days: float


def recent_mix(past: Past, log: Log, place: Place) -> Mix:
    """Blend what was fed in the last weeks; with no feed, the table's mixed scraps."""
    masses: dict[str, float] = {}
    ids = []
    for fed in fed_since(log, past.day - _RECENT + 1):
        masses[fed.feedstock] = masses.get(fed.feedstock, 0.0) + fed.wet_kg
        ids.append(fed.id)
    if not masses:
        masses = {_USUAL_SCRAPS: 1.0}
    parts = tuple((place.material(name), kg) for name, kg in sorted(masses.items()))
    made = mix.blend(parts)
    moisture, ratio = mix.ranges(parts)
    return Mix(parts, made.dry_kg / made.wet_kg, moisture, ratio, tuple(ids))


def allowance(
    belief: Belief,
    past: Past,
    log: Log,
    set_: Setting,
    fed: Mix,
    temperature_c: float,
    *,
    rests: bool,
) -> Allowance:
    """Give what may go onto the feeding side today, the limit that binds, and each limit by itself.

    Args:
        belief: Weighted draws, with what was fed today.
        past: The bed today.
        log: What was logged.
        set_: Area, depth and moisture factors.
        fed: What is fed here.
        temperature_c: Temperature of the feeding side today. [degC]
        rests: Something read or seen asks for no feed.
    """
    side = past.fed
    moisture = past.sides[side].moisture_pct
    warm = wormbed.conditions(temperature_c, None)
    wet = 1.0 if moisture is None else wormbed.moisture_factor(moisture)
    earlier = (one.day for one in reversed(log.feeds) if one.side == side and one.day < past.day)
    last = next(earlier, None)
    given = fresh = 0.0
    for one in fed_since(log, past.day):
        if one.side == side:
            given += one.wet_kg
            fresh += one.dry_kg
    days = min(float(past.day - last), _GAP_DAYS) if last is not None else 1.0
    chances: dict[str, list[float]] = {
        name: [] for name in ("worms", "warmth", "moisture", "backlog", "room")
    }
    layer = 1000.0 * _LAYER_M * set_.area_m2 * _LAYER_DENSITY
    for draw, bed in zip(belief.draws, belief.beds, strict=True):
        rates, worms, scraps = draw.guess.rates, bed.worms[side], bed.scraps[side]
        eaten = rates.intake * worms
        rotted = rates.decay * max(scraps - fresh, 0.0)
        work = warm.work * wet
        chances["worms"].append((eaten + rotted) * days / fed.dry_share - given)
        chances["warmth"].append((eaten * warm.work + rotted * warm.rot) * days / fed.dry_share - given)
        chances["moisture"].append((eaten * work + rotted * warm.rot) * days / fed.dry_share - given)
        most = _most_scraps(rates, worms, work, warm.rot, set_.area_m2)
        chances["backlog"].append(max(most - scraps, 0.0) / fed.dry_share)
        depth = draw.guess.depth_m(scraps, bed.castings[side], set_.area_m2)
        litres = 1000.0 * set_.area_m2 * max(set_.depth_full_m - depth, 0.0)
        room = litres * draw.guess.scraps_density / fed.dry_share
        chances["room"].append(min(room, layer - given))
    limits = {name: max(belief.span(values).mid, 0.0) for name, values in chances.items()}
    least = [max(min(values[at] for values in chances.values()), 0.0) for at in range(len(belief.draws))]
    span = belief.span(least)
    limit: Binding = _binding(limits, warm, wet)
    if limit == "backlog" and past.sides[side].scraps_kg == 0.0:
        # Nothing waits there: too few worms live there yet to be left anything.
        limit = "worms"
    if given > 0.0 and span.mid == 0.0 and limit in ("worms", "warmth", "moisture"):
        limit = "fed"
    # The first of these that holds is named: what must be mended before anything else.
    if temperature_c >= _HEAT_STOP:
        span, limit = Span(0.0, 0.0, 0.0), "heat"
    elif temperature_c <= _COLD_STOP:
        span, limit = Span(0.0, 0.0, span.high), "warmth"
    elif moisture is not None and moisture >= _WET:
        span, limit = Span(0.0, 0.0, span.high), "moisture"
    elif rests or hardly_any_worms(past, log):
        span, limit = Span(0.0, 0.0, 0.0), "signs" if rests else "worms"
    elif moisture is not None and moisture <= _DRY:
        limit = "moisture"
    elif (ratio := _ratio(fed)) is not None and ratio < _POOREST_RATIO and limit != "fed":
        part = ratio / _POOREST_RATIO
        span = Span(span.low * part, span.mid * part, span.high)
        limits["carbon_to_nitrogen"] = span.mid
        limit = "carbon_to_nitrogen"
    return Allowance(span, limit, limits, given, days)


def _most_scraps(rates: Rates, worms: float, work: float, rot: float, area_m2: float) -> float:
    """Give the scraps that the side works off within the backlog allowed. [kg DM]."""
    speed = 1.0 / _BACKLOG_DAYS - rates.decay * rot
    if speed <= 0.0:
        return inf
    return max(rates.intake * work * worms / speed - rates.half_saturation * area_m2, 0.0)


def _binding(limits: Mapping[str, float], warm: Conditions, wet: float) -> Binding:
    least = min(limits.values())
    if limits["backlog"] <= least:
        return "backlog"
    if limits["room"] <= least:
        return "room"
    if wet < warm.work and wet < _NEARLY_BEST:
        return "moisture"
    return "warmth" if warm.work < _NEARLY_BEST else "worms"


def hardly_any_worms(past: Past, log: Log) -> bool:
    """Tell whether both sides together have too few worms to be called stocked."""
    worms = past.sides[0].worms_kg + past.sides[1].worms_kg
    return worms <= _HARDLY_ANY_WORMS * log.area_m2


def damp(moisture_pct: float | None) -> Damp:
    """Say on which side of what worms like a moisture lies; an empty side is taken to be good."""
    if moisture_pct is None or _MOIST_LOW <= moisture_pct <= _MOIST_HIGH:
        return "good"
    return "dry" if moisture_pct < _MOIST_LOW else "wet"


def _ratio(fed: Mix) -> float | None:
    return None if fed.carbon_to_nitrogen is None else fed.carbon_to_nitrogen.mid


def additions(past: Past, fed: Mix, wet_kg: float) -> list[Addition]:
    """Give what should go in with the ration: bedding for carbon or against wet, water against dry."""
    made: list[Addition] = []
    ratio = _ratio(fed)
    if ratio is not None and ratio < _RATIO_LOW and wet_kg > 0.0:
        total = 0.0
        for _, kg in fed.parts:
            total += kg
        share = _amend(fed.parts, BEDDING, carbon_to_nitrogen=_RATIO_GOAL)
        if share > 0.0:
            kg = share * wet_kg / total
            reason = because(
                "bed.add.carbon" if fed.ids else "bed.add.carbon_guess",
                list(fed.ids),
                ["worms.carbon_to_nitrogen_goal", "worms.carbon_to_nitrogen_low"],
                ratio=figure(ratio),
                goal=_RATIO_GOAL,
                kg=figure(kg),
            )
            made.append({"material": BEDDING, "kg": figure(kg), "because": reason})
    side = past.sides[past.fed]
    moisture = side.moisture_pct
    if moisture is not None and side.dry_kg > _HARDLY_ANYTHING:
        lies = (mix.Material("bed", moisture, 40.0, 1.0), side.dry_kg + side.water_kg)
        if moisture > _MOIST_HIGH:
            kg = _amend((lies,), BEDDING, moisture_pct=_MOIST_HIGH)
            reason = because(
                "bed.add.dry", [], ["worms.moisture_comfort_high"], moisture=figure(moisture), kg=figure(kg)
            )
            made.append({"material": BEDDING, "kg": figure(kg), "because": reason})
        elif moisture < _MOIST_LOW:
            kg = _amend((lies,), _WATER, moisture_pct=_MOIST_LOW)
            reason = because(
                "bed.add.water", [], ["worms.moisture_comfort_low"], moisture=figure(moisture), kg=figure(kg)
            )
            made.append({"material": WATER, "kg": figure(kg), "because": reason})
    return made


def _amend(
    parts: Sequence[tuple[mix.Material, float]],
    amendment: str | mix.Material,
    *,
    moisture_pct: float | None = None,
    carbon_to_nitrogen: float | None = None,
) -> float:
    try:
        return mix.amend(parts, amendment, moisture_pct=moisture_pct, carbon_to_nitrogen=carbon_to_nitrogen)
    except FallowsideError:
        return 0.0


# -- away ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Away:
    """What to do before leaving a bed for some days, and what a helper should do meanwhile.

    Attributes:
        days: Days away.
        before_kg: Scraps to feed before leaving. [kg wet]
        visits: Times a helper should feed; 0: nobody need come.
        visit_kg: Scraps to feed at each visit. [kg wet]
        water_kg: Water that the air takes meanwhile. [kg]
    """

    days: int
    before_kg: float
    visits: int
    visit_kg: float
    water_kg: float


def away(
    days: int,
    scraps_kg: float,
    work_kg: float,
    most_kg: float,
    layer_kg: float,
    dry_share: float,
    air_kg: float,
) -> Away:
    """Say what to feed before leaving, and how often somebody should come.

    Worms that run short eat the bedding: a bed lives for weeks without feed. So the scraps that lie
    there count, the feed before leaving never exceeds one layer or the backlog allowed, and visits
    are asked for only if the rest would run out.

    Args:
        days: Days away. [d], 1 to 60
        scraps_kg: Undecomposed scraps on the feeding side. [kg DM]
        work_kg: What goes in a day. [kg DM/d]
        most_kg: Scraps that may lie there. [kg DM]
        layer_kg: One layer. [kg wet]
        dry_share: Dry over wet mass of the feed. [1], above 0
        air_kg: Water that leaves in a day. [kg/d]

    Source: common practice, no source.

    >>> away(7, 1.0, 0.1, 2.0, 10.0, 0.2, 0.3).visits
    0
    """
    require("days away", days, 1, 60, "days")
    allowed = min(max(most_kg - scraps_kg, 0.0) / dry_share, layer_kg)
    need = max(work_kg * days - _LIVE_ON * scraps_kg, 0.0) / dry_share
    before = min(allowed, need)
    short = need - before
    visits = 0
    visit = 0.0
    if short > 0.0 and days > _VISIT_DAYS:
        visits = max(int(days / _VISIT_DAYS), 1)
        visit = min(short / visits, layer_kg)
    return Away(days, before, visits, visit, air_kg * days)


# -- thresholds a phone applies by itself --------------------------------------------------------


@lru_cache(maxsize=64)
def limits(station: str) -> list[Limit]:
    """Give the thresholds for new readings of a bed; they do not depend on the log."""
    made: list[Limit] = []
    for field, unit, name, above, level, code in _LIMITS:
        threshold = sources.value(f"worms.{name}")
        made.append(
            {
                "station": station,
                "side": None,
                "field": field,
                "unit": unit,
                "above": threshold if above else None,
                "below": None if above else threshold,
                "level": level,
                "code": code,
            }
        )
    return made


def judged(field: str, value: float) -> tuple[Level, str, str] | None:
    """Judge a reading by the thresholds: level, code and constant of the gravest it passes."""
    worst: tuple[Level, str, str] | None = None
    for name, _, constant, above, level, code in _LIMITS:
        threshold = sources.value(f"worms.{constant}")
        passed = value >= threshold if above else value <= threshold
        if name == field and passed and (worst is None or _GRAVITY[level] > _GRAVITY[worst[0]]):
            worst = (level, code, constant)
    return worst


_GRAVITY: Mapping[Level, int] = {"note": 0, "caution": 1, "danger": 2}
_LIMITS: tuple[tuple[str, str, str, bool, Level, str], ...] = (
    ("temperature", "degC", "heat_stop", True, "caution", "hot"),
    ("temperature", "degC", "heat_deadly", True, "danger", "deadly_heat"),
    ("temperature", "degC", "cold_slow", False, "note", "cool"),
    ("temperature", "degC", "cold_stop", False, "caution", "cold"),
    ("moisture_pct", "percent", "moisture_wet", True, "caution", "too_wet"),
    ("moisture_pct", "percent", "moisture_dry", False, "caution", "too_dry"),
    ("ph", "1", "ph_comfort_low", False, "caution", "sour"),
    ("ph", "1", "ph_low", False, "danger", "deadly_sour"),
    ("ph", "1", "ph_comfort_high", True, "caution", "alkaline"),
    ("ph", "1", "ph_high", True, "danger", "deadly_alkaline"),
    ("depth", "m", "depth_full", True, "caution", "too_deep"),
)
REMEDIES: Mapping[str, tuple[str, ...]] = {
    "hot": ("stop_feeding", "spread_thin", "shade", "wet_bed"),
    "deadly_heat": ("stop_feeding", "spread_thin", "shade", "wet_bed"),
    "cool": ("insulate", "smaller_ration"),
    "cold": ("stop_feeding", "insulate"),
    "too_wet": ("dry_bedding", "loosen", "drain"),
    "too_dry": ("wet_bed", "cover"),
    "sour": ("stop_feeding", "lime", "dry_bedding"),
    "deadly_sour": ("stop_feeding", "lime", "move_to_clean_bedding"),
    "alkaline": ("look_for_cause", "dry_bedding"),
    "deadly_alkaline": ("move_to_clean_bedding", "look_for_cause"),
    "too_deep": ("switch_or_scrape", "smaller_ration"),
}

_WATER = mix.Material(WATER, 100.0, 0.0, 0.0)
_USUAL_SCRAPS = "mixed_scraps"
_RECENT = int(sources.value("worms.recent_days"))
_GAP_DAYS = sources.value("worms.ration_gap_days")
_LAYER_M = sources.value("worms.layer")
_LAYER_DENSITY = sources.value("worms.layer_density")
_HEAT_STOP = sources.value("worms.heat_stop")
_COLD_STOP = sources.value("worms.cold_stop")
_WET = sources.value("worms.moisture_wet")
_DRY = sources.value("worms.moisture_dry")
_MOIST_HIGH = sources.value("worms.moisture_comfort_high")
_MOIST_LOW = sources.value("worms.moisture_comfort_low")
_RATIO_LOW = sources.value("worms.carbon_to_nitrogen_low")
_RATIO_GOAL = sources.value("worms.carbon_to_nitrogen_goal")
_POOREST_RATIO = sources.value("worms.carbon_to_nitrogen_poorest")
_BACKLOG_DAYS = sources.value("worms.backlog_feeding_days")
_NEARLY_BEST = sources.value("worms.nearly_best")
_HARDLY_ANY_WORMS = sources.value("worms.hardly_any_worms")
_HARDLY_ANYTHING = sources.value("worms.hardly_anything")
_LIVE_ON = sources.value("worms.live_on")
_VISIT_DAYS = sources.value("worms.visit_days")
