"""The hive: its stack, honey by box and year, stores for winter, and signs an authority wants to hear of.

Weight less what the hive weighs bare is stores; what a winter asks of them is common practice by the
coldest month. Signs of disease lead to the authority, never to a treatment.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final, NamedTuple

from fallowside.core import hivestack, sources, warned
from fallowside.core.entries import Entry, Moment
from fallowside.core.hivestack import Honey, Stack
from fallowside.core.place import Place, Station
from fallowside.core.shapes import (
    MOST_ENTRIES,
    Because,
    Figure,
    Job,
    Limit,
    Series,
    StationPlan,
    Value,
    Warning,
    because,
    blank,
    figure,
    iso,
)
from fallowside.core.span import Span
from fallowside.core.warned import Level, Warner
from fallowside.core.water.watershapes import StackBox

_warning: Final = Warner("hive", "hive")

_SERIES_POINTS: Final = 200
_MONTHS: Final = 12
_BEFORE_WINTER: Final = (0, 1, 2, 3)
"""Months before the coldest one in which a hive must have its stores."""
_NOTIFY: Final[dict[str, Level]] = {
    "sunken_cappings": "danger",
    "ropy_brood": "danger",
    "foul_brood_smell": "danger",
    "small_beetles": "danger",
    "many_dead_bees": "danger",
    "brood_odd": "caution",
    "chalky_brood": "caution",
    "crippled_wings": "caution",
    "mites": "caution",
}
"""Signs that may be of a disease or pest the law wants reported, somewhere if not here."""
_OTHER_SIGNS: Final[dict[str, tuple[Level, tuple[str, ...]]]] = {
    "robbing": ("caution", ("narrow_entrance", "no_open_honey")),
    "few_bees": ("note", ("look_again", "heft")),
    "ants": ("note", ("stand_feet",)),
    "vermin": ("note", ("narrow_entrance",)),
    "mould": ("note", ("tilt",)),
}


@dataclass(frozen=True, slots=True)
class Checks:
    """The last weight and hefting, with the boxes there were, and honey taken since. [kg]"""

    weight: Entry | None
    weight_kg: float
    boxes: int
    taken_since_kg: float
    hefting: Entry | None
    weights: tuple[tuple[int, float], ...]


def look(station: Station, entries: Sequence[Entry], place: Place, at: Moment) -> StationPlan:
    """Fold a hive's entries (effective, sorted, none after `at`) into its part of the plan.

    `state` holds: `boxes` in the stack, `stack` from the top down (name, since when, what it holds),
    `honey_kg` in all, `honey_year_kg` in the year of `at`, `years` and `by_box`, the last `water_pct`,
    `weight_kg` and `hefting`, `stores_kg`, `winter_kg` (what must be left) and `spare_kg`.
    """
    stack = hivestack.read(station, entries, place)
    checks = _checks(station, entries, place)
    stores = _stores(station, checks)
    harvest = next((one for one in reversed(entries) if one.kind == "hive_harvest"), None)
    water = next((one for one in reversed(entries) if one.data.get("water_pct") is not None), None)
    fresh = checks.weight is not None and checks.weight.day > at.day - int(_value("check_days"))
    winter, winter_name = _winter(place)
    plan = blank(station.id, station.type, station.name, station.order)
    plan["state"] = {
        "boxes": len(stack.boxes),
        "stack": _stack(stack, at.day),
        "honey_kg": figure(_added(one.kg for one in stack.years.values())),
        "honey_year_kg": figure(_taken(stack.years, at.text[:4])),
        "years": {year: _honey_figure(one) for year, one in sorted(stack.years.items())},
        "by_box": {box: _honey_figure(one) for box, one in sorted(stack.by_box.items())},
        "water_pct": None if water is None else float(water.data["water_pct"]),
        "weight_kg": None if checks.weight is None else figure(checks.weight_kg),
        "hefting": None if checks.hefting is None else checks.hefting.data["hefting"],
        "stores_kg": None if stores is None else _stores_figure(stores, checks, station),
        "winter_kg": _spread(
            winter, because("hive.winter.because", [], [winter_name], **_coldest_values(place))
        ),
        "spare_kg": None if stores is None or not fresh else _spare(stores, winter, checks, winter_name),
        "ripe": [one.name for one in hivestack.ripe(stack, at.day)],
    }
    plan["warnings"] = warned.ordered(
        _warnings(stack, entries, place, at, stores if fresh else None, checks, harvest)
    )
    plan["limits"] = [_water_limit(station)]
    plan["jobs"] = list(_jobs(station, stack, place, checks.weight if fresh else None, at.day))
    if checks.weights:
        plan["series"] = [_series(checks.weights[-_SERIES_POINTS:])]
    return plan


# -- the stack and its honey --------------------------------------------------------------------------


def _stack(stack: Stack, today: int) -> list[StackBox]:
    return [
        {
            "box": box.name,
            "since": iso(box.day),
            "days": today - box.day,
            "holds": hivestack.holds(stack, at, today),
            "honey_kg": figure(_taken(stack.by_box, box.name)),
            "because": because(
                f"hive.holds.{hivestack.holds(stack, at, today)}",
                [box.id] if box.id else [],
                ["hive.new_days", "hive.honey_days", "hive.boxes_left"],
                days=today - box.day,
                under=len(stack.boxes) - 1 - at,
            ),
        }
        for at, box in enumerate(stack.boxes)
    ]


def _taken(sums: Mapping[str, Honey], name: str) -> float:
    found = sums.get(name)
    return 0.0 if found is None else found.kg


def _honey_figure(honey: Honey) -> Figure:
    count = len(honey.ids)
    why = because("hive.honey.because", honey.ids[-MOST_ENTRIES:], [], count=count)
    return _spread(Span(honey.kg, honey.kg, honey.kg), why)


# -- stores -------------------------------------------------------------------------------------------


def _checks(station: Station, entries: Sequence[Entry], place: Place) -> Checks:
    weight = hefting = None
    weight_kg = since = 0.0
    boxes = 0
    weights: list[tuple[int, float]] = []
    stack = hivestack.at_start(station)
    for entry in entries:
        if entry.kind == "hive_box":
            hivestack.change(stack, entry)
        elif entry.kind == "hive_harvest":
            since += place.mass(entry.data["amount"], "", entry.us).kg
        elif entry.kind == "hive_check":
            if entry.data.get("weight") is not None:
                weight, weight_kg, since = entry, place.mass(entry.data["weight"]).kg, 0.0
                boxes = len(stack.boxes)
                weights.append((entry.day, weight_kg))
            if entry.data.get("hefting") is not None:
                hefting = entry
    return Checks(weight, weight_kg, boxes, since, hefting, tuple(weights))


class Weighing(NamedTuple):
    """What a hive had stored when it was weighed. [kg]"""

    day: int
    us: int
    id: str
    stores_kg: float


def weighings(station: Station, entries: Sequence[Entry], place: Place) -> list[Weighing]:
    """Give the stores a hive had each time it was weighed, the middle of what they may have been."""
    stack = hivestack.at_start(station)
    found = []
    for entry in entries:
        if entry.kind == "hive_box":
            hivestack.change(stack, entry)
        elif entry.kind == "hive_check" and entry.data.get("weight") is not None:
            kg = place.mass(entry.data["weight"]).kg
            stores = _less_wood(station, kg, len(stack.boxes), 0.0)
            found.append(Weighing(entry.day, entry.us, entry.id, stores.mid))
    return found


def stores_kg(
    weight_kg: float, boxes: int, box_kg: Span, bare_kg: Span, bees_kg: Span, taken_kg: float
) -> Span:
    """Give what bees have stored: a hive's weight less what it weighs without stores.

    Args:
        weight_kg: Of the whole hive. [kg]
        boxes: In the stack when it was weighed.
        box_kg, bare_kg, bees_kg: A box with empty comb; floor and roof; bees and brood. [kg]
        taken_kg: Honey taken since. [kg]

    Returns:
        Stores, never below 0. [kg]

    Common practice, no source; weigh your own wood and it narrows.

    >>> box, bare, bees = Span(3.0, 4.0, 5.0), Span(7.0, 7.0, 7.0), Span(1.0, 2.0, 3.0)
    >>> stores_kg(45.0, 3, box, bare, bees, 0.0)
    Span(low=20.0, mid=24.0, high=28.0)
    """

    def less(box: float, bare: float, bees: float) -> float:
        return max(0.0, weight_kg - boxes * box - bare - bees - taken_kg)

    return Span(
        less(box_kg.high, bare_kg.high, bees_kg.high),
        less(box_kg.mid, bare_kg.mid, bees_kg.mid),
        less(box_kg.low, bare_kg.low, bees_kg.low),
    )


def _stores(station: Station, checks: Checks) -> Span | None:
    if checks.weight is None:
        return None
    return _less_wood(station, checks.weight_kg, checks.boxes, checks.taken_since_kg)


def _less_wood(station: Station, weight_kg: float, boxes: int, taken_kg: float) -> Span:
    box, bare = _own(station, "box_mass"), _own(station, "bare_mass")
    return stores_kg(weight_kg, boxes, box, bare, _span("bees_mass"), taken_kg)


def _own(station: Station, name: str) -> Span:
    weighed = station.item.si(name)
    return _span(name) if weighed is None else Span(weighed, weighed, weighed)


def _stores_figure(stores: Span, checks: Checks, station: Station) -> Figure:
    named = ["box_mass", "bare_mass"]
    constants = ["hive.bees_mass", *(f"hive.{one}" for one in named if station.item.si(one) is None)]
    ids = [] if checks.weight is None else [checks.weight.id]
    values: dict[str, Value] = {
        "weight_kg": figure(checks.weight_kg),
        "boxes": checks.boxes,
        "taken_kg": figure(checks.taken_since_kg),
    }
    return _spread(stores, because("hive.stores.because", ids, constants, **values))


def _spare(stores: Span, winter: Span, checks: Checks, winter_name: str) -> Figure:
    spare = Span(
        max(0.0, stores.low - winter.high),
        max(0.0, stores.mid - winter.mid),
        max(0.0, stores.high - winter.low),
    )
    ids = [] if checks.weight is None else [checks.weight.id]
    values: dict[str, Value] = {"stores_kg": figure(stores.mid), "winter_kg": figure(winter.mid)}
    return _spread(spare, because("hive.spare.because", ids, [winter_name], **values))


def _months(place: Place) -> Sequence[float] | None:
    """Give the mean air of the twelve months, if the place set it. [degC]"""
    table = place.item.fields.get("air_by_month_c")
    return table if isinstance(table, list) and len(table) == _MONTHS else None


def _winter(place: Place) -> tuple[Span, str]:
    """Give the stores a winter here asks for, and the constant; a cool winter where nobody said."""
    months = _months(place)
    coldest = None if months is None else min(months)
    if coldest is None:
        name = "winter_cool"
    elif coldest < _value("cold_month"):
        name = "winter_cold"
    else:
        name = "winter_mild" if coldest > _value("mild_month") else "winter_cool"
    return _span(name), f"hive.{name}"


def _coldest_values(place: Place) -> dict[str, Value]:
    months = _months(place)
    return {"coldest_c": None if months is None else figure(min(months))}


def _before_winter(place: Place, today: int) -> bool:
    """Tell whether the hive must have its winter stores by now."""
    months = _months(place)
    latitude = place.item.number("latitude_deg")
    if months is not None:
        coldest = min(range(_MONTHS), key=lambda one: (months[one], one))
    elif latitude is not None:
        coldest = 0 if latitude >= 0.0 else _MONTHS // 2
    else:
        return False
    month = date.fromordinal(today).month - 1
    return (coldest - month) % _MONTHS in _BEFORE_WINTER


# -- warnings -------------------------------------------------------------------------------------------


def _warnings(
    stack: Stack,
    entries: Sequence[Entry],
    place: Place,
    at: Moment,
    stores: Span | None,
    checks: Checks,
    harvest: Entry | None,
) -> Iterator[Warning]:
    yield from _signs(entries, at.day)
    yield from _honey(stack, harvest, at)
    winter, name = _winter(place)
    if stores is not None and checks.weight is not None and _before_winter(place, at.day):
        if stores.mid < winter.mid:
            yield _warning(
                "few_stores",
                "caution",
                [checks.weight.id],
                [name.partition(".")[2]],
                ["leave_honey", "ask_keeper"],
                stores_kg=figure(stores.mid),
                winter_kg=figure(winter.mid),
            )
    elif _is_light(checks, at.day) and checks.hefting is not None:
        ids = [checks.hefting.id]
        yield _warning("light", "caution", ids, [], ["leave_honey", "ask_keeper"])
    since = at.day - int(_value("check_days"))
    for odd in stack.odd:
        if odd.day > since:
            level: Level = "note" if odd.code == "above" else "caution"
            remedies = ["below_next_time"] if odd.code == "above" else ["mend_box"]
            yield _warning(f"box_{odd.code}", level, [odd.id], [], remedies, box=odd.box or "?")


def _is_light(checks: Checks, today: int) -> bool:
    light = checks.hefting is not None and checks.hefting.data["hefting"] == "light"
    return light and checks.hefting is not None and checks.hefting.day > today - int(_value("check_days"))


def _signs(entries: Sequence[Entry], today: int) -> Iterator[Warning]:
    seen: dict[str, Entry] = {}
    for entry in entries:
        if entry.kind == "signs":
            if "all_well" in entry.data["signs"]:
                seen.clear()
            seen.update(dict.fromkeys(entry.data["signs"], entry))
    for sign, entry in sorted(seen.items()):
        if entry.day <= today - int(_value("sign_days")):
            continue
        if sign in _NOTIFY:
            remedies = ["notify_authority", "close_hive", "nothing_moves", "tools_apart"]
            yield _warning(sign, _NOTIFY[sign], [entry.id], ["sign_days"], remedies)
        elif sign in _OTHER_SIGNS:
            level, remedies_of = _OTHER_SIGNS[sign]
            yield _warning(sign, level, [entry.id], [], remedies_of)


def _honey(stack: Stack, harvest: Entry | None, at: Moment) -> Iterator[Warning]:
    year = _taken(stack.years, at.text[:4])
    if year > _value("much_honey"):
        yield _warning(
            "much_honey",
            "note",
            [] if harvest is None else [harvest.id],
            ["much_honey"],
            ["look_at_weight"],
            kg=figure(year),
            limit=_value("much_honey"),
        )
    if harvest is None or harvest.data.get("water_pct") is None:
        return
    water, limit = float(harvest.data["water_pct"]), _value("water_limit")
    if water > limit and harvest.day > at.day - int(_value("check_days")):
        yield _warning(
            "wet_honey",
            "caution",
            [harvest.id],
            ["water_limit", "water_limit_heather"],
            ["leave_uncapped", "eat_soon"],
            water_pct=water,
            limit_pct=limit,
            heather_pct=_value("water_limit_heather"),
        )


def _water_limit(station: Station) -> Limit:
    return {
        "station": station.id,
        "side": None,
        "field": "water_pct",
        "unit": "percent",
        "above": _value("water_limit"),
        "below": None,
        "level": "caution",
        "code": "wet_honey",
    }


# -- jobs -------------------------------------------------------------------------------------------------


def _jobs(station: Station, stack: Stack, place: Place, weighed: Entry | None, today: int) -> Iterator[Job]:
    months = _months(place)
    builds = months is not None and months[date.fromordinal(today).month - 1] >= _value("flight_month")
    if builds and stack.boxes:
        lowest = stack.boxes[-1]
        due = lowest.day + int(_value("new_days"))
        # Long past, the bees have not needed one: there is nothing to be late for.
        if abs(due - today) <= int(_value("new_days")) and not _before_winter(place, today):
            yield _job(station, "box_below", due, today, [lowest.id] if lowest.id else [], ["new_days"])
    if months is not None and _before_winter(place, today):
        due, ids = (today, []) if weighed is None else (weighed.day + int(_value("check_days")), [weighed.id])
        yield _job(station, "weigh_hive", due, today, ids, ["check_days"])


def _job(
    station: Station, what: str, due: int, today: int, ids: Sequence[str], constants: Sequence[str]
) -> Job:
    return {
        "id": f"{station.id}:{what}",
        "what": what,
        "station": station.id,
        "side": None,
        "due": iso(due),
        "earliest": None,
        "latest": None,
        "late": today > due,
        "because": because(
            f"hive.job.{what}.because",
            list(ids),
            [f"hive.{one}" for one in constants],
            days=_value(constants[0]),
        ),
        "cautions": ["hive.caution.stings", "hive.caution.lifting"],
    }


def _series(weights: Sequence[tuple[int, float]]) -> Series:
    return {
        "name": "weight",
        "side": None,
        "unit": "kg",
        "days": [iso(day) for day, _ in weights],
        "values": [figure(kg) for _, kg in weights],
    }


def _spread(span: Span, why: Because) -> Figure:
    return {
        "value": figure(span.mid),
        "low": figure(span.low),
        "high": figure(span.high),
        "unit": "kg",
        "because": why,
    }


def _span(name: str) -> Span:
    found = sources.constant(f"hive.{name}")
    return Span(found.low, found.value, found.high)


def _added(values: Iterable[float]) -> float:
    total = 0.0
    for one in values:
        total += one
    return total


def _value(name: str) -> float:
    return sources.value(f"hive.{name}")
