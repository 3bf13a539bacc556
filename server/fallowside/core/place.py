"""The place as it is set up: stations, people, containers and feedstocks, folded from `setup` entries.

Set-up is folded field by field: the entry that happened later wins, ties by id. What a newer phone
set and this version does not know is kept in `fields`, unread.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from fallowside.core import materials, sources, units
from fallowside.core.entries import Entry, Known, moment

StationType = Literal["bed", "bin", "pond", "hive"]


@dataclass(frozen=True, slots=True)
class Mass:
    """A mass as far as it is known.

    Attributes:
        kg: Best figure, wet. [kg]
        low, high: 80 % range; equal to `kg` where it was weighed. [kg]
        how: weighed, by_volume (litres times a density) or by_container (a calibrated fill).
    """

    kg: float
    low: float
    high: float
    how: Literal["weighed", "by_volume", "by_container"]


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

    def material(self, feedstock: str) -> materials.Material:
        """Give what is known of a feedstock: the place's own figures over those of what it is like.

        Raises:
            UnknownName: neither the place nor the table has it.
        """
        return self.own_materials.get(feedstock) or materials.get(feedstock)

    def mass(self, amount: Mapping[str, Any], feedstock: str = "") -> Mass:
        """Turn an amount as entered (a mass, a volume, a filled container) into kilograms.

        Args:
            amount: `{"value", "unit"}` or `{"container", "filled"}`.
            feedstock: What it is, for a volume; '' means water (1 kg/L).

        Returns:
            The mass with its 80 % range. [kg]
        """
        if "container" in amount:
            filled = float(amount.get("filled", 1.0))
            container = self.containers[amount["container"]]
            full = container.si("full_mass")
            if full is not None:
                return _ranged(full * filled, _FILL_SPREAD, "by_container")
            return _ranged(
                self._litres_mass(container.si("volume", 0.0) or 0.0, feedstock) * filled,
                _DENSITY_SPREAD,
                "by_container",
            )
        value, unit = units.to_si(amount["value"], amount["unit"])
        if unit == "kg":
            return Mass(value, value, value, "weighed")
        if not feedstock:
            return Mass(value, value, value, "by_volume")
        return _ranged(self._litres_mass(value, feedstock), _DENSITY_SPREAD, "by_volume")

    def si(self, quantity: Mapping[str, Any]) -> float:
        """Turn a quantity as entered into SI (kg, L, m, m^2, degC)."""
        return units.to_si(quantity["value"], quantity["unit"])[0]

    def litres(self, amount: Mapping[str, Any]) -> float:
        """Turn an amount of water or liquid as entered into litres; a mass counts 1 kg/L. [L]"""
        if "container" in amount:
            container = self.containers[amount["container"]]
            volume = container.si("volume")
            full = volume if volume is not None else container.si("full_mass", 0.0)
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
        )

    def _litres_mass(self, litres: float, feedstock: str) -> float:
        density = self.material(feedstock).bulk_density_kg_per_l if feedstock else 1.0
        return litres * (density or 0.0)


def fold(setups: Iterable[Entry]) -> Place:
    """Fold `setup` entries, in any order, into the place as they leave it."""
    fields: dict[tuple[str, str], dict[str, Any]] = {}
    first: dict[tuple[str, str], tuple[int, int]] = {}
    for entry in sorted(setups, key=lambda one: (one.us, one.id)):
        key = (entry.data["what"], entry.data["item"])
        fields.setdefault(key, {}).update(entry.data["set"])
        first.setdefault(key, (entry.us, entry.day))
    kept: dict[str, dict[str, Item]] = {}
    for (what, name), found in fields.items():
        kept.setdefault(what, {})[name] = Item(name, found)
    stations = {
        name: _station(item, *first["station", name]) for name, item in kept.get("station", {}).items()
    }
    place, feedstocks = kept.get("place", {}), kept.get("feedstock", {})
    shipped = {one.name for one in materials.all()}
    return Place(
        item=place[min(place)] if place else Item("place", {}),
        stations=dict(sorted(stations.items(), key=lambda pair: (pair[1].order, pair[0]))),
        people=kept.get("person", {}),
        containers=kept.get("container", {}),
        feedstocks=feedstocks,
        own_materials={
            name: materials.adapted(name, like if like in shipped else _LIKE, item.fields)
            for name, item in feedstocks.items()
            for like in [item.text("like")]
        },
    )


def _station(item: Item, us: int, day: int) -> Station:
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
    )


_LIKE = "mixed_scraps"
_FILL_SPREAD = sources.value("tally.fill_spread")
_DENSITY_SPREAD = sources.value("tally.density_spread")


def _ranged(kg: float, spread: float, how: Literal["by_volume", "by_container"]) -> Mass:
    return Mass(kg, kg * (1.0 - spread), kg * (1.0 + spread), how)
