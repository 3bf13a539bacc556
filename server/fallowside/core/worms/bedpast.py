"""A worm bed from its first day to today: the log's acts between the model's days."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import sqrt
from typing import NamedTuple

from fallowside.core import sources, warmth, wormbed
from fallowside.core.numeric import exp
from fallowside.core.place import Place
from fallowside.core.wormbed import Conditions, Rates, Side
from fallowside.core.worms.bedlog import BOTH, FIRST, SECOND, Act, Log, between

AHEAD_DAYS = 366
_STOCKING = sources.value("worms.start_stocking")
_UNSURE = sources.value("worms.moisture_unsure")
_DRIFT = sources.value("worms.moisture_drift")
_AIRY_SPREAD = sources.value("worms.spread_evaporation")
_AIRY_MOST = 8.0
_WETTEST = 95.0


@dataclass(slots=True)
class Balance:
    """What went in, came out and was put right, both sides together, since the first day. [kg].

    `found_water_kg` is what moisture readings added to (or took from) the computed water.
    """

    fed_kg: float = 0.0
    fed_nitrogen_kg: float = 0.0
    water_kg: float = 0.0
    gas_kg: float = 0.0
    nitrogen_gas_kg: float = 0.0
    evaporated_kg: float = 0.0
    drained_kg: float = 0.0
    taken_kg: float = 0.0
    taken_nitrogen_kg: float = 0.0
    taken_water_kg: float = 0.0
    found_water_kg: float = 0.0


class Morning(NamedTuple):
    """A past day: the sides and the side fed before the day's acts, the conditions after them.

    `wet` holds the moisture factor of either side, which `conditions` has in its work already.
    """

    sides: tuple[Side, Side]
    fed: int
    conditions: tuple[Conditions, Conditions]
    wet: tuple[float, float]


@dataclass(slots=True)
class Past:
    """A bed as it stands after today's acts, and how it came there.

    Attributes:
        day: Today. [ordinal]
        sides: Both sides.
        fed: Which side is fed.
        since: Day on which each side began its present turn of feeding or resting.
        harvested: Day each side was last harvested since it rests, or None.
        bedded: Day each side was bedded after that harvest, or None.
        unsure: Standard deviation of each side's moisture. [%]
        airy: How fast this bed dries over the default, as moisture readings have it.
        airy_doubt: Variance of the logarithm of that.
        dried: What left each side by the air since its last moisture reading. [kg]
        before: Every day from the first to today.
    """

    day: int
    sides: list[Side]
    fed: int
    since: list[int]
    harvested: list[int | None] = field(default_factory=lambda: [None, None])
    bedded: list[int | None] = field(default_factory=lambda: [None, None])
    unsure: list[float] = field(default_factory=lambda: [_UNSURE, _UNSURE])
    airy: float = 1.0
    airy_doubt: float = _AIRY_SPREAD * _AIRY_SPREAD
    dried: list[float] = field(default_factory=lambda: [0.0, 0.0])
    balance: Balance = field(default_factory=Balance)
    before: list[Morning] = field(default_factory=list)


def warmths(log: Log, place: Place, kept: Sequence[warmth.Kept]) -> tuple[warmth.Warmth, warmth.Warmth]:
    """Give the temperature of both sides from the first day to a year from today.

    `kept` is what an earlier drawing of either side left; this one leaves its own.
    """
    normals = _normals(place)
    airs = warmth.daily(log.airs)

    def between(side: int) -> warmth.Warmth:
        days = warmth.daily(log.temperatures[side])
        return kept[side].between(days, log.first_day, log.today + AHEAD_DAYS, air=airs, normals=normals)

    first = between(FIRST)
    same = log.temperatures[FIRST] == log.temperatures[SECOND]
    return first, first if same else between(SECOND)


def start(log: Log) -> Past:
    """Give the bed on its first morning: empty, with its worms on the side fed first."""
    worms = log.start_worms_kg
    sides = [Side(), Side()]
    sides[log.start_side] = Side(worms_kg=_STOCKING * log.area_m2 if worms is None else worms)
    return Past(log.first_day, sides, log.start_side, [log.first_day, log.first_day])


def copy(past: Past) -> Past:
    """Give a bed that can be carried on without changing this one."""
    return replace(
        past,
        sides=list(past.sides),
        since=list(past.since),
        harvested=list(past.harvested),
        bedded=list(past.bedded),
        unsure=list(past.unsure),
        dried=list(past.dried),
        balance=replace(past.balance),
        before=list(past.before),
    )


def run_to(past: Past, day: int, log: Log, warm: Sequence[warmth.Warmth], rates: Rates) -> Past:
    """Carry a bed to the morning of a day, acts of the log and days of the model in turn."""
    acts = between(log, past.day, day)
    at = 0
    while past.day < day:
        todays = at
        while at < len(acts) and acts[at].day == past.day:
            at += 1
        today = _acts(past, acts[todays:at], log, warm, rates)
        fed, resting = past.fed, 1 - past.fed
        past.sides[fed], past.sides[resting], out = wormbed.advance(
            past.sides[fed], past.sides[resting], (today[fed], today[resting]), rates, log.area_m2
        )
        past.balance.gas_kg += out.gas_kg
        past.balance.nitrogen_gas_kg += out.nitrogen_gas_kg
        past.balance.evaporated_kg += out.evaporated_kg[FIRST] + out.evaporated_kg[SECOND]
        past.dried[fed] += out.evaporated_kg[FIRST]
        past.dried[resting] += out.evaporated_kg[SECOND]
        past.day += 1
    return past


def live_today(past: Past, log: Log, warm: Sequence[warmth.Warmth], rates: Rates) -> Past:
    """Carry a bed from this morning through what was done today so far."""
    _acts(past, between(log, past.day, past.day + 1), log, warm, rates)
    return past


def _acts(
    past: Past, acts: Sequence[Act], log: Log, warm: Sequence[warmth.Warmth], rates: Rates
) -> tuple[Conditions, Conditions]:
    """Do a day's acts and write the day down; give the conditions under which it goes on."""
    sides, turn = (past.sides[FIRST], past.sides[SECOND]), past.fed
    for act in acts:
        _do(past, act, rates)
    for side in (FIRST, SECOND):
        past.sides[side], ran = wormbed.drain(past.sides[side])
        past.balance.drained_kg += ran
        past.unsure[side] = min(past.unsure[side] + _DRIFT, _UNSURE)
    at = past.day - log.first_day
    warmest = [wormbed.conditions(path.mean_c[at], None) for path in warm]
    wet = [1.0 if one is None else wormbed.moisture_factor(one) for one in _moistures(past)]
    today = (
        _under(warmest[FIRST], wet[FIRST], past.airy),
        _under(warmest[SECOND], wet[SECOND], past.airy),
    )
    past.before.append(Morning(sides, turn, today, (wet[FIRST], wet[SECOND])))
    return today


def _under(warm: Conditions, wet: float, airy: float) -> Conditions:
    work, rot, crossing, half_survival, drying = warm
    return Conditions(work * wet, rot, crossing, half_survival, drying * airy)


def _moistures(past: Past) -> tuple[float | None, float | None]:
    return past.sides[FIRST].moisture_pct, past.sides[SECOND].moisture_pct


def _do(past: Past, act: Act, rates: Rates) -> None:
    if act.what == "feed" or act.what == "water":
        _put(past, act)
    elif act.what == "switch":
        past.sides[act.side] = wormbed.end_rest(past.sides[act.side])
        past.sides[1 - act.side] = wormbed.begin_rest(past.sides[1 - act.side], rates)
        past.fed = act.side
        past.since = [act.day, act.day]
        past.harvested[act.side] = past.bedded[act.side] = None
    elif act.what == "harvest" or act.what == "scrape":
        _take(past, act)
    elif act.what == "moisture":
        for side in (FIRST, SECOND) if act.side == BOTH else (act.side,):
            _wet(past, side, act)


def _put(past: Past, act: Act) -> None:
    _, what, side, dry_kg, water_kg, nitrogen_kg, _, _, _ = act
    past.sides[side] = wormbed.put_in(past.sides[side], dry_kg, water_kg, nitrogen_kg)
    balance = past.balance
    balance.fed_kg += dry_kg
    balance.fed_nitrogen_kg += nitrogen_kg
    balance.water_kg += water_kg
    if what == "feed" and side != past.fed and past.harvested[side] is not None:
        past.bedded[side] = past.bedded[side] or act.day


def _take(past: Past, act: Act) -> None:
    """Take castings: a rested side is emptied; top layers, or a side still fed, give what was weighed."""
    side = past.sides[act.side]
    emptied = act.what == "harvest" and act.side != past.fed
    share = 1.0 if emptied else min(act.dry_kg / side.dry_kg, 1.0) if side.dry_kg > 0.0 else 0.0
    if emptied and past.harvested[act.side] is not None and past.bedded[act.side] is not None:
        return
    past.sides[act.side], gone = wormbed.take_out(side, share, worms_too=emptied)
    past.balance.taken_kg += gone.dry_kg
    past.balance.taken_nitrogen_kg += gone.scraps_nitrogen_kg + gone.castings_nitrogen_kg
    past.balance.taken_water_kg += gone.water_kg
    if emptied:
        past.harvested[act.side] = act.day


def _wet(past: Past, index: int, act: Act) -> None:
    """Move a side's water towards a reading, as far as the reading is surer than the model."""
    side = past.sides[index]
    computed = side.moisture_pct
    if computed is None:
        return
    spread, dry_kg = act.spread, side.dry_kg
    doubt = past.unsure[index] * past.unsure[index]
    error = spread * spread
    gain = doubt / (doubt + error)
    surprise = act.value - computed
    _learn_drying(past, index, surprise, doubt + error)
    moisture = min(computed + gain * surprise, _WETTEST) / 100.0
    water = dry_kg * moisture / (1.0 - moisture)
    past.balance.found_water_kg += water - side.water_kg
    past.sides[index] = side._replace(water_kg=water)
    past.unsure[index] = sqrt(gain) * spread


def _learn_drying(past: Past, index: int, surprise: float, variance: float) -> None:
    """Dry a bed faster or slower from now on when its readings keep coming out drier or wetter."""
    side, doubt = past.sides[index], past.airy_doubt
    dry_kg = side.dry_kg
    wet_kg = dry_kg + side.water_kg
    slope = -100.0 * past.dried[index] * dry_kg / (wet_kg * wet_kg)
    gain = doubt * slope / (slope * slope * doubt + variance)
    past.airy = min(max(past.airy * exp(gain * surprise), 1.0 / _AIRY_MOST), _AIRY_MOST)
    past.airy_doubt = doubt * (1.0 - gain * slope)
    past.dried[index] = 0.0


def _normals(place: Place) -> tuple[float, ...] | None:
    values = place.item.fields.get("air_by_month_c")
    return tuple(float(value) for value in values) if isinstance(values, list) and len(values) == 12 else None
