"""A pond's entries read as feed by days, water by its last readings, and what was drawn from it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from fallowside.core import sources
from fallowside.core.entries import Entry
from fallowside.core.place import Place

_PERCENT = 100.0
_GRAMS = 1000.0
_LARVAE = "larvae"


class Fed(NamedTuple):
    """One feed: wet mass, protein in it, and whether it was larvae. [kg]"""

    day: int
    kg: float
    protein_kg: float
    larvae: bool
    id: str


class Reading(NamedTuple):
    """One value read in the water, and its entry."""

    day: int
    value: float
    id: str


@dataclass(slots=True)
class Log:
    """What a pond's entries say, in order of time."""

    feeds: list[Fed] = field(default_factory=list)
    read: dict[str, Reading] = field(default_factory=dict)
    """The newest of each: temperature_c, ph, oxygen_mg_per_l, ammonia_mg_per_l."""
    temperatures: list[tuple[int, float]] = field(default_factory=list)
    solids_kg: float = 0.0
    drawn_day: int | None = None
    signs: dict[str, Entry] = field(default_factory=dict)
    """The newest entry in which each sign was seen, since the last time all was well."""

    def fed_kg(self, since_day: int) -> float:
        """Give what was fed on a day and later, wet. [kg]"""
        return _added(one.kg for one in self.feeds if one.day >= since_day)

    def protein_kg(self, since_day: int) -> float:
        """Give the protein fed on a day and later. [kg]"""
        return _added(one.protein_kg for one in self.feeds if one.day >= since_day)

    def larvae_share(self, since_day: int) -> float | None:
        """Give the share of the protein fed that came from larvae; None if nothing was fed. [1]"""
        whole = self.protein_kg(since_day)
        if whole <= 0.0:
            return None
        return _added(one.protein_kg for one in self.feeds if one.larvae and one.day >= since_day) / whole


def read(entries: Sequence[Entry], place: Place) -> Log:
    """Read a pond's entries (effective, sorted), those that brought it larvae among them."""
    log = Log()
    for entry in entries:
        data = entry.data
        if entry.kind == "feed":
            _feed(
                log,
                entry,
                data["feedstock"],
                place.mass(data["amount"], data["feedstock"], entry.us).kg,
                place,
            )
        elif entry.kind == "given" and data["what"] == _LARVAE and data["to"] == "pond":
            _feed(log, entry, _LARVAE, _larvae_kg(entry, place), place)
        elif entry.kind == "solids":
            log.solids_kg += place.mass(data["amount"], "pond_solids", entry.us).kg
            log.drawn_day = entry.day
        elif entry.kind == "reading":
            if data.get("temperature") is not None:
                celsius = place.si(data["temperature"])
                log.read["temperature_c"] = Reading(entry.day, celsius, entry.id)
                log.temperatures.append((entry.day, celsius))
            if data.get("ph") is not None:
                log.read["ph"] = Reading(entry.day, float(data["ph"]), entry.id)
        elif entry.kind == "water_test":
            for name in ("oxygen_mg_per_l", "ammonia_mg_per_l"):
                if data.get(name) is not None:
                    log.read[name] = Reading(entry.day, float(data[name]), entry.id)
        elif entry.kind == "signs":
            if "all_well" in data["signs"]:
                log.signs.clear()
            log.signs.update(dict.fromkeys(data["signs"], entry))
    return log


def protein_share(feedstock: str, place: Place) -> float:
    """Give the crude protein of a feed as it lies there, by its nitrogen; larvae by their own factor. [1]"""
    material = place.material(feedstock)
    dry = (_PERCENT - material.moisture_pct) / _PERCENT
    larvae = material.group == _LARVAE
    factor = sources.value("soldierfly.nitrogen_to_protein" if larvae else "pond.protein_factor")
    return min(1.0, dry * material.nitrogen_pct_dry / _PERCENT * factor)


def _feed(log: Log, entry: Entry, feedstock: str, kg: float, place: Place) -> None:
    larvae = place.material(feedstock).group == _LARVAE
    protein = kg * protein_share(feedstock, place)
    log.feeds.append(Fed(entry.day, kg, protein, larvae, entry.id))


def _larvae_kg(entry: Entry, place: Place) -> float:
    if entry.data.get("amount") is not None:
        return place.mass(entry.data["amount"], _LARVAE, entry.us).kg
    return float(entry.data["count"]) * sources.value("soldierfly.prepupa_mass") / _GRAMS


def _added(values: Iterable[float]) -> float:
    total = 0.0
    for one in values:
        total += one
    return total
