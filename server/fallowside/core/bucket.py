"""A bucket at this place today: weighed, routed, and told in words' keys and ready-made amounts.

`router` knows stations only as takers; here they are made of what the plan says of each station and of
what was fed there of late. A bed's resting side takes nothing; a station without a ration is no taker.
Cardboard and water count as at hand: they are named as what should go in too.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import fsum, isfinite
from typing import Any, Final, Literal

from fallowside.core import mix, router, sources
from fallowside.core.bucketshapes import (
    Route,
    RouteAddition,
    RoutePart,
    RouteShare,
    RouteStation,
)
from fallowside.core.entries import Entry, Moment, unfed
from fallowside.core.errors import BadBucket
from fallowside.core.fields import OBJECT
from fallowside.core.larvae import binration
from fallowside.core.materials import Material
from fallowside.core.place import Place, Station
from fallowside.core.router import Routing, Share, Taker
from fallowside.core.shapes import Because, StationPlan, Warning, because, figure, iso
from fallowside.core.worms.bedcare import BEDDING, WATER

Feeds = Callable[[str], Sequence[Entry]]
"""Gives the entries of a station, in order of time, none later than the instant asked for."""

_BEDDING: Final = frozenset({"bedding", "paper"})
_NO_END: Final = 1000.0
_PLENTY_KG: Final = 1000.0
_REACH: Final = {"bed": "worms.recent_days", "bin": "soldierfly.mix_window_days"}
"""The days over which what was fed counts as waiting; elsewhere only today's."""
_OF_LIMIT: Final = {
    "router.wet": ("soldierfly.moisture_high",),
    "router.dry": ("soldierfly.moisture_dry",),
    "router.carbon_low": ("worms.carbon_to_nitrogen_low",),
}
_OF_KIND: Final = {
    "bed": ["worms.carbon_to_nitrogen_low"],
    "bin": ["soldierfly.moisture_high", "soldierfly.moisture_dry"],
}
_FULL: Final = frozenset({"router.full", "router.day_share"})


@dataclass(frozen=True, slots=True)
class _Part:
    """One part of the bucket: what it is, its amount as asked, and what that weighs."""

    material: Material
    amount: Mapping[str, Any]
    kg: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class _Fed:
    """Something fed of late."""

    material: Material
    kg: float
    today: bool
    id: str


@dataclass(frozen=True, slots=True)
class _Open:
    """A station that takes part: its taker, what was fed there of late, what the plan says of it."""

    taker: Taker
    name: str
    side_name: str
    fed: tuple[_Fed, ...]
    because: Because

    @property
    def ids(self) -> list[str]:
        """Name the entries it rests on."""
        return [one.id for one in self.fed]


def route(
    bucket: Sequence[object],
    place: Place,
    plans: Sequence[StationPlan],
    feeds: Feeds,
    at: Moment,
    freezer_kg: float | None = None,
) -> Route:
    """Say where a bucket goes at this place, with the reason of each share.

    Args:
        bucket: Parts as JSON gave them: `{"feedstock", "amount"}`, the amount as in a feed entry.
        place: The place.
        plans: What the plan says of each station at `at`; rations come from there.
        feeds: The entries of a station, by its id.
        at: The instant of the plans.
        freezer_kg: Room in the freezer; the place's, or a usual one, if None. [kg]

    Raises:
        BadBucket: an empty bucket, or a part that is unknown or can't be weighed.
        OutOfRange: more than a million kilograms of something.
    """
    parts = _parts(bucket, place)
    least_kg = sources.value("mix.worth_adding")
    open_ = [one for plan in plans for one in _opened(plan, place, feeds, at)]
    found = router.route(
        [(one.material, one.kg) for one in parts],
        [one.taker for one in open_],
        at_hand=[(BEDDING, _PLENTY_KG), (WATER, _PLENTY_KG)],
        keep_kg=_room(place, freezer_kg),
    )
    return {
        "at": at.text,
        "bucket": [_weighed(one) for one in parts],
        "shares": _shares(found, parts, open_, plans, place, at),
        "together": [_addition(one, open_) for one in found.together if one.kg >= least_kg],
        "stations": [*(_mixed(one, found, place) for one in open_), *_resting(plans, place)],
        "warnings": _warnings(found, parts, open_),
        "constants": {},
    }


def _parts(bucket: Sequence[object], place: Place) -> list[_Part]:
    if not bucket:
        raise BadBucket("missing", "bucket", "the bucket is empty: say what is in it, and how much", {})
    known = place.known()
    parts = []
    for n, raw in enumerate(bucket):
        if not isinstance(raw, OBJECT):
            said = "a part of a bucket is a JSON object: a feedstock and its amount"
            raise BadBucket("not_an_object", f"bucket.{n}", said, {})
        found = unfed(raw, known)
        if found is not None:
            raise BadBucket(found.code, f"bucket.{n}.{found.field}", found.message, found.values)
        mass = place.mass(raw["amount"], raw["feedstock"])
        material = place.material(raw["feedstock"])
        parts.append(_Part(material, raw["amount"], mass.kg, mass.low, mass.high))
    return parts


def _room(place: Place, freezer_kg: float | None) -> float:
    if freezer_kg is not None:
        return freezer_kg
    set_up = place.item.si("freezer_room")
    return sources.value("mix.freezer_room") if set_up is None else set_up


# -- stations as takers --------------------------------------------------------------------------


def _opened(plan: StationPlan, place: Place, feeds: Feeds, at: Moment) -> list[_Open]:
    ration, station = plan["ration"], place.stations[plan["id"]]
    if ration is None:
        return []
    fed = tuple(_fed_of_late(station, ration["side"], feeds(station.id), place, at))
    today = [one for one in fed if one.today and one.material.stream not in _BEDDING]
    taker = Taker(
        station.id,
        station.type,
        ration["kg"],
        ration["side"],
        waiting=[(one.material, one.kg) for one in fed if one.material.stream not in _BEDDING],
        bedding=[(one.material, one.kg) for one in fed if one.material.stream in _BEDDING],
        today=[(one.material, one.kg) for one in today],
        day_kg=ration["kg"] + fsum(one.kg for one in today),
    )
    if station.type == "bed":
        low = sources.value("worms.carbon_to_nitrogen_low")
        taker = replace(taker, carbon_to_nitrogen=(low, _NO_END))
    elif station.type == "bin":
        window = sources.value("soldierfly.moisture_dry"), sources.value("soldierfly.moisture_high")
        taker = replace(taker, moisture_pct=window, strict=frozenset(binration.ANIMAL))
    return [_Open(taker, station.name, _side_name(station, ration["side"]), fed, ration["because"])]


def _fed_of_late(
    station: Station, side: str | None, entries: Sequence[Entry], place: Place, at: Moment
) -> list[_Fed]:
    days = int(sources.value(_REACH[station.type])) if station.type in _REACH else 1
    found = []
    for entry in reversed(entries):
        if entry.day <= at.day - days:
            break
        if entry.kind == "feed" and (side is None or entry.side == side):
            name = entry.data["feedstock"]
            kg = place.mass(entry.data["amount"], name, entry.us).kg
            found.append(_Fed(place.material(name), kg, entry.day == at.day, entry.id))
    return found[::-1]


def _side_name(station: Station, side: str | None) -> str:
    return station.item.text(f"side_{side}_name") if side else ""


# -- what was found, told ------------------------------------------------------------------------


def _weighed(part: _Part) -> RoutePart:
    return {
        "material": part.material.name,
        "kg": figure(part.kg),
        "low": figure(part.low),
        "high": figure(part.high),
    }


def _shares(
    found: Routing,
    parts: Sequence[_Part],
    open_: Sequence[_Open],
    plans: Sequence[StationPlan],
    place: Place,
    at: Moment,
) -> list[RouteShare]:
    left = [[part, part.kg] for part in parts]
    shares: list[RouteShare] = []
    for one in found.shares:
        material = next(part.material for part in parts if part.material.name == one.material)
        shares.append(
            {
                "material": one.material,
                "kg": figure(one.kg),
                "where": one.where,
                "station": one.station,
                "side": one.side,
                "amounts": _amounts(one, left),
                "until": None if one.days is None else iso(at.day + one.days),
                "cautions": list(material.cautions),
                "because": _reason(one, material, open_, plans, place),
            }
        )
    return shares


def _amounts(share: Share, left: list[list[Any]]) -> list[dict[str, object]]:
    """Take a share out of what is left of each part, in the way that part was measured."""
    wanted, amounts = share.kg, []
    for row in left:
        part, kg = row
        taken = min(wanted, kg)
        if part.material.name != share.material or taken <= 0.0:
            continue
        whole = kg - taken <= _DUST * part.kg and kg == part.kg
        amounts.append(dict(part.amount) if whole else _scaled(part.amount, taken / part.kg))
        row[1], wanted = kg - taken, wanted - taken
        if wanted <= _DUST * share.kg:
            break
    return amounts


def _scaled(amount: Mapping[str, Any], share: float) -> dict[str, object]:
    """Give a share of an amount: of a container's fill, or of the number, in its own unit."""
    name = "filled" if "container" in amount else "value"
    return {**amount, name: figure(float(amount.get(name, 1.0)) * share)}


_DUST: Final = 1e-9
"""Of a mass: below it a rest is rounding."""


def _reason(
    one: Share, material: Material, open_: Sequence[_Open], plans: Sequence[StationPlan], place: Place
) -> Because:
    blamed = str(one.values.get("station", one.station or ""))
    there = next((o for o in open_ if o.taker.station == blamed), None)
    values: dict[str, str | float] = {**one.values}
    key, limit = one.reason, str(one.values.get("limit", one.reason))
    if there is not None:
        values |= {"station": there.name, "side": there.side_name}
        if limit in _FULL and not there.taker.day_kg:
            key = "router.no_ration" if key == limit else key
    if key == "router.unsuitable":
        silent = next(
            (plan for plan in plans if plan["ration"] is None and plan["type"] in material.takes), None
        )
        if silent is not None:
            key, values = "router.ration_unknown", {"station": place.stations[silent["id"]].name}
    constants = [*_OF_LIMIT.get(limit, ())]
    if limit == "router.share" and material.group in binration.ANIMAL:
        constants.append(f"soldierfly.{material.group}_share")
    if one.where == "keep":
        constants.append("mix.keep_days")
    return because(key, there.ids if there is not None else [], constants, **values)


def _addition(one: router.Together, open_: Sequence[_Open]) -> RouteAddition:
    there = next(o for o in open_ if (o.taker.station, o.taker.side) == (one.station, one.side))
    names = _OF_KIND.get(there.taker.kind, [])
    return {
        "material": one.material,
        "kg": figure(one.kg),
        "station": one.station,
        "side": one.side,
        "because": because(one.reason, there.ids, names, station=there.name, side=there.side_name),
    }


def _mixed(one: _Open, found: Routing, place: Place) -> RouteStation:
    taker = one.taker
    put_in = [share for share in found.shares if (share.station, share.side) == (taker.station, taker.side)]
    added = [two for two in found.together if (two.station, two.side) == (taker.station, taker.side)]
    heap: list[tuple[str | Material, float]] = [
        *taker.waiting,
        *taker.bedding,
        *((place.material(share.material), share.kg) for share in put_in),
        *((two.material, two.kg) for two in added),
    ]
    blend = mix.blend(heap) if any(kg > 0.0 for _, kg in heap) else None
    ratio = blend.carbon_to_nitrogen if blend is not None else None
    return {
        "station": taker.station,
        "name": one.name,
        "side": taker.side,
        "side_name": one.side_name,
        "ration_kg": figure(taker.ration_kg),
        "kg": figure(fsum(share.kg for share in put_in)),
        "moisture_pct": None if blend is None else figure(blend.moisture_pct),
        "carbon_to_nitrogen": figure(ratio) if ratio is not None and isfinite(ratio) else None,
        "because": one.because,
    }


def _resting(plans: Sequence[StationPlan], place: Place) -> list[RouteStation]:
    """Name the sides of beds that rest: nothing goes there."""
    rows: list[RouteStation] = []
    for plan in plans:
        ration = plan["ration"]
        if plan["type"] != "bed" or ration is None or ration["side"] is None:
            continue
        side = "b" if ration["side"] == "a" else "a"
        station = place.stations[plan["id"]]
        rows.append(
            {
                "station": station.id,
                "name": station.name,
                "side": side,
                "side_name": _side_name(station, side),
                "ration_kg": 0.0,
                "kg": 0.0,
                "moisture_pct": None,
                "carbon_to_nitrogen": None,
                "because": because("router.rests", station=station.name, side=_side_name(station, side)),
            }
        )
    return rows


# -- warnings ------------------------------------------------------------------------------------


def _warnings(found: Routing, parts: Sequence[_Part], open_: Sequence[_Open]) -> list[Warning]:
    warnings = [_never_alone(animal, found, parts, open_) for animal in binration.ANIMAL]
    return [one for one in warnings if one is not None]


def _never_alone(
    animal: str, found: Routing, parts: Sequence[_Part], open_: Sequence[_Open]
) -> Warning | None:
    """Warn where fish or meat waits for other scraps, and say how much of these it takes."""
    names = {part.material.name for part in parts if part.material.group == animal}
    waits = [s for s in found.shares if s.material in names and s.where != "station"]
    there = next((one for one in open_ if animal in one.taker.strict), None)
    if not waits or there is None or not there.taker.day_kg:
        return None
    share = sources.value(f"soldierfly.{animal}_share")
    animal_kg = fsum(part.kg for part in parts if part.material.group == animal)
    put_in_kg = fsum(
        s.kg for s in found.shares if s.station == there.taker.station and s.material not in names
    )
    others_kg = 0.0
    for heap in (there.taker.waiting, there.taker.today):
        lies = [(mix.known(material), kg) for material, kg in heap]
        total = fsum(kg for _, kg in lies) + animal_kg + put_in_kg
        mine = fsum(kg for material, kg in lies if material.group == animal) + animal_kg
        others_kg = max(others_kg, binration.others_needed(total, mine, share))
    alone = len(names) == len({part.material.name for part in parts})
    if others_kg < sources.value("mix.worth_adding"):
        return None
    level: Literal["note", "caution"] = "caution" if alone else "note"
    return {
        "code": f"{animal}_alone" if alone else f"{animal}_much",
        "level": level,
        "side": there.taker.side,
        "because": because(
            f"router.warn.{animal}_{'alone' if alone else 'much'}",
            there.ids,
            [f"soldierfly.{animal}_share"],
            station=there.name,
            share_pct=figure(100.0 * share),
            kg=figure(animal_kg),
            others_kg=figure(others_kg),
        ),
        "remedies": ["router.remedy.mix", "router.remedy.freeze"],
    }
