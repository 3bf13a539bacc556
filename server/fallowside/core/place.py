"""The place as it is set up: stations, people, containers and feedstocks, folded from `setup` entries.

Set-up is folded field by field: the entry that happened later wins, ties by id. What a newer phone
set and this version does not know is kept in `fields`, unread.
"""

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import sqrt
from operator import attrgetter
from typing import Any, Literal, NamedTuple

from fallowside.core import drying, materials, sources, units
from fallowside.core.entries import Entry, Known, moment

_REMEMBERED = 2000

StationType = Literal["bed", "bin", "pond", "hive"]


class Doubt(NamedTuple):
    """The error all amounts of one origin share: it does not average out, however many there are.

    Attributes:
        origin: What it comes from: one weighing of a container, or one published density.
        low, high: Half an 80 % range below and above, as shares of the mass.
    """

    origin: str
    low: float
    high: float


class Mass(NamedTuple):
    """A mass as far as it is known; a named tuple, since a log makes one of each amount.

    Attributes:
        kg: Best figure, wet. [kg]
        low, high: 80 % range; equal to `kg` where it was weighed. [kg]
        how: weighed, by_volume (litres times a density) or by_container (a calibrated fill).
        doubt: The part of the range it shares with others of its origin.
        own_kg: Half the 80 % range of its own: reading the level, the day's packing. [kg]
    """

    kg: float
    low: float
    high: float
    how: Literal["weighed", "by_volume", "by_container"]
    doubt: Doubt
    own_kg: float


@dataclass(frozen=True, slots=True)
class Measure:
    """What a container holds when full, from one calibration to the next."""

    since_us: int
    """[microseconds]"""
    litres: float | None
    full_kg: float | None
    doubt: Doubt
    """Of the weighing; a container known by its volume has the doubt of the density instead."""


@dataclass(frozen=True, slots=True)
class Item:
    """One thing set up: its id and its fields as entered."""

    id: str
    fields: Mapping[str, Any]

    def text(self, name: str, default: str = "") -> str:
        """Give a text field, or the default."""
        value = self.fields.get(name)
        return value if isinstance(value, str) and value else default

    def number(self, name: str, default: float | None = None) -> float | None:
        """Give a plain number, or the default."""
        value = self.fields.get(name)
        return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else default

    def si(self, name: str, default: float | None = None) -> float | None:
        """Give a quantity in SI (kg, L, m, m^2, degC), or the default."""
        value = self.fields.get(name)
        if not isinstance(value, Mapping):
            return default
        return units.to_si(value["value"], value["unit"])[0]


@dataclass(frozen=True, slots=True)
class Station:
    """One thing tended. `fields` as in `core/data/entries.toml`, table `setup.station`."""

    id: str
    type: str
    name: str
    order: float
    item: Item
    since_us: int
    """When it was first set up, or its `started` if that is known. [microseconds]"""
    since_day: int
    """Local day of `since_us`, a proleptic ordinal."""
    named_day: int
    """Local day on which it was first set up here, a proleptic ordinal."""


@dataclass(frozen=True, slots=True)
class Place:
    """A holding: everything set up at one instant."""

    item: Item
    stations: Mapping[str, Station]
    people: Mapping[str, Item]
    containers: Mapping[str, Item]
    feedstocks: Mapping[str, Item]
    """The place's own feedstocks only; `material` also finds the shipped ones."""
    own_materials: Mapping[str, materials.Material]
    measures: Mapping[str, tuple[Measure, ...]]
    """Calibrations of each container that has one, in order of time."""

    def material(self, feedstock: str) -> materials.Material:
        """Give what is known of a feedstock: the place's own figures over those of what it is like.

        Raises:
            UnknownName: neither the place nor the table has it.
        """
        return self.own_materials.get(feedstock) or materials.get(feedstock)

    def stream_like(self, own: Item) -> str:
        """Give the stream of the shipped feedstock that one of the place's own is like."""
        like = own.text("like")
        return materials.get(like if like in _SHIPPED else _LIKE).stream

    def mass(self, amount: Mapping[str, Any], feedstock: str = "", us: int | None = None) -> Mass:
        """Turn an amount as entered (a mass, a volume, a filled container) into kilograms.

        Args:
            amount: `{"value", "unit"}` or `{"container", "filled"}`.
            feedstock: What it is, for a volume; '' means water (1 kg/L).
            us: When it was entered, for a container calibrated more than once: an amount keeps the
                calibration of its time. None takes the latest. [microseconds]

        Returns:
            The mass with its 80 % range. [kg]
        """
        if "container" in amount:
            filled = float(amount.get("filled", 1.0))
            full, doubt = self._full(amount["container"], feedstock, us)
            return _estimate(full * filled, doubt, full * _FILL_SPREAD, "by_container")
        if (mass := _weighed_in(amount["value"], amount["unit"])) is not None:
            return mass
        value = self.si(amount)
        if not feedstock:
            return Mass(value, value, value, "by_volume", _NO_DOUBT, 0.0)
        kg, doubt = self._litres_mass(value, feedstock)
        return _estimate(kg, doubt, 0.0, "by_volume")

    def si(self, quantity: Mapping[str, Any]) -> float:
        """Turn a quantity as entered into SI (kg, L, m, m^2, degC)."""
        return units.to_si(quantity["value"], quantity["unit"])[0]

    def litres(self, amount: Mapping[str, Any], us: int | None = None) -> float:
        """Turn an amount of water or liquid as entered into litres; a mass counts 1 kg/L. [L]"""
        if "container" in amount:
            measure = self._measure(amount["container"], us)
            full = measure.litres if measure.litres is not None else measure.full_kg
            return (full or 0.0) * float(amount.get("filled", 1.0))
        return units.to_si(amount["value"], amount["unit"])[0]

    def known(self) -> Known:
        """Say what entries of this place may point to."""
        own = self.own_materials
        shipped = materials.all()
        dense = {key for key, found in own.items() if found.bulk_density_kg_per_l is not None}
        dense |= {one.name for one in shipped if one.bulk_density_kg_per_l is not None}
        return Known(
            stations={key: station.type for key, station in self.stations.items()},
            containers=frozenset(self.containers),
            feedstocks=frozenset(own) | {one.name for one in shipped},
            densities=frozenset(dense),
            weighed=frozenset(self.weighed()),
            unmeasured=frozenset(self.containers.keys() - self.measures.keys()),
        )

    def weighed(self) -> Iterable[str]:
        """Name the containers that were weighed full at least once: they need no density."""
        return (
            name
            for name, measures in self.measures.items()
            if any(one.full_kg is not None for one in measures)
        )

    def _litres_mass(self, litres: float, feedstock: str) -> tuple[float, Doubt]:
        if not feedstock:
            return litres, _NO_DOUBT
        material = self.material(feedstock)
        density = material.bulk_density_kg_per_l
        if not density:
            return 0.0, _NO_DOUBT
        low, high = material.ranges.get("bulk_density_kg_per_l", (density, density))
        # The same published figure is one error, whatever it is used for.
        return litres * density, Doubt(f"density {density:g}", 1.0 - low / density, high / density - 1.0)

    def _full(self, container: str, feedstock: str, us: int | None) -> tuple[float, Doubt]:
        measure = self._measure(container, us)
        if measure.full_kg is None and feedstock and not self.material(feedstock).bulk_density_kg_per_l:
            # Nothing but a weighing tells: the first there was.
            measure = next(
                (one for one in self.measures.get(container, ()) if one.full_kg is not None), measure
            )
        if measure.full_kg is not None:
            return measure.full_kg, measure.doubt
        return self._litres_mass(measure.litres or 0.0, feedstock)

    def _measure(self, container: str, us: int | None) -> Measure:
        """Give the calibration of a container at an instant; before the first, the first."""
        measures = self.measures.get(container, _UNMEASURED)
        if us is None or len(measures) == 1:
            return measures[-1]
        return measures[max(0, bisect_right(measures, us, key=_SINCE) - 1)]


@lru_cache(maxsize=_REMEMBERED)
def weighed(kg: float) -> Mass:
    """Give a mass that is known as it is; the same one for the same figure. [kg]"""
    kg = float(kg) + 0.0
    return Mass(kg, kg, kg, "weighed", _NO_DOUBT, 0.0)


@lru_cache(maxsize=_REMEMBERED)
def _weighed_in(value: float, unit: str) -> Mass | None:
    """Give the mass of an amount as entered, None where it is a volume."""
    si, si_unit = units.to_si(value, unit)
    return weighed(si) if si_unit == "kg" else None


def fold(setups: Iterable[Entry]) -> Place:
    """Fold `setup` entries, in any order, into the place as they leave it."""
    fields: dict[tuple[str, str], dict[str, Any]] = {}
    first: dict[tuple[str, str], tuple[int, int]] = {}
    measures: dict[str, list[Measure]] = {}
    for entry in sorted(setups, key=lambda one: (one.us, one.id)):
        key = (entry.data["what"], entry.data["item"])
        fields.setdefault(key, {}).update(entry.data["set"])
        first.setdefault(key, (entry.us, entry.day))
        if key[0] == "container" and not _MEASURED.isdisjoint(entry.data["set"]):
            _calibrate(measures.setdefault(key[1], []), Item(key[1], fields[key]), entry.us)
    kept: dict[str, dict[str, Item]] = {}
    for (what, name), found in fields.items():
        kept.setdefault(what, {})[name] = Item(name, found)
    stations = {
        name: _station(item, *first["station", name]) for name, item in kept.get("station", {}).items()
    }
    place, feedstocks = kept.get("place", {}), kept.get("feedstock", {})
    return Place(
        item=place[min(place)] if place else Item("place", {}),
        stations=dict(sorted(stations.items(), key=lambda pair: (pair[1].order, pair[0]))),
        # Hours alone, which anybody may set of themselves, make nobody one of the place.
        people={
            name: one for name, one in kept.get("person", {}).items() if not one.fields.keys() <= OWN_HOURS
        },
        containers=kept.get("container", {}),
        feedstocks=feedstocks,
        own_materials={
            name: materials.adapted(name, like if like in _SHIPPED else _LIKE, _measured(item))
            for name, item in feedstocks.items()
            for like in [item.text("like")]
        },
        measures={name: tuple(found) for name, found in measures.items() if found},
    )


def _calibrate(measures: list[Measure], item: Item, us: int) -> None:
    litres, full_kg = item.si("volume"), item.si("full_mass")
    if litres is None and full_kg is None:
        return
    times = max(1.0, item.number("weighed_times", 1.0) or 1.0)
    spread = _CALIBRATION_SPREAD / sqrt(times)
    measures.append(Measure(us, litres, full_kg, Doubt(f"container {item.id} {us}", spread, spread)))


def _measured(item: Item) -> Mapping[str, Any]:
    """Give the fields of a feedstock, its moisture by the sample that was dried if there is one."""
    moisture = drying.moisture_pct(item.fields)
    return item.fields if moisture is None else {**item.fields, "moisture_pct": moisture}


def _station(item: Item, us: int, named_day: int) -> Station:
    day = named_day
    started = item.fields.get("started")
    if isinstance(started, str):
        begun = moment(started)
        us, day = begun.us, begun.day
    return Station(
        item.id,
        item.text("type"),
        item.text("name", item.id),
        item.number("order", 0.0) or 0.0,
        item,
        us,
        day,
        named_day,
    )


OWN_HOURS = frozenset({"remind_hour", "quiet_from_hour", "quiet_until_hour"})
"""What anybody may set of themselves."""
_LIKE = "mixed_scraps"
_SHIPPED = frozenset(one.name for one in materials.all())
_MEASURED = frozenset({"volume", "full_mass", "weighed_times"})
_FILL_SPREAD = sources.value("tally.fill_spread")
_PACKING_SPREAD = sources.value("tally.packing_spread")
_CALIBRATION_SPREAD = sources.value("tally.calibration_spread")
_NO_DOUBT = Doubt("", 0.0, 0.0)
_UNMEASURED = (Measure(0, None, None, _NO_DOUBT),)
_SINCE = attrgetter("since_us")


def _estimate(kg: float, doubt: Doubt, reading_kg: float, how: Literal["by_volume", "by_container"]) -> Mass:
    """Put together an estimate: what it shares, and of its own the day's packing and the level read."""
    packing_kg = kg * _PACKING_SPREAD
    own = packing_kg * packing_kg + reading_kg * reading_kg
    below, above = kg * doubt.low, kg * doubt.high
    low, high = kg - sqrt(own + below * below), kg + sqrt(own + above * above)
    return Mass(kg, max(0.0, low), high, how, doubt, sqrt(own))
