"""The fish of a pond by kind: how many there are, where each is, what they weigh.

Each fish counted is in one place at a time: in the pond, held apart, killed, or died. A fish let go
goes back to the pond. Fish taken that nobody had put in are counted as found: they were there all the
time. What fish weigh is read from the last weighing of their kind, be it a catch or a sample.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from fallowside.core import sources
from fallowside.core.entries import Entry
from fallowside.core.numeric import log
from fallowside.core.place import Place, Station

Whereabouts = Literal["pond", "held", "killed", "died"]
WHEREABOUTS: tuple[Whereabouts, ...] = ("pond", "held", "killed", "died")

_GRAMS = 1000.0
_TRACE_KG = 1e-6
_PERCENT = 100.0
_FATES: Mapping[str, Whereabouts] = {"killed": "killed", "held": "held", "died": "died", "released": "pond"}


class Weighing(NamedTuple):
    """What fish of one kind weighed on a day: mean of so many. [g]"""

    day: int
    grams: float
    number: int
    id: str


class Over(NamedTuple):
    """A catch that was more than the pond was thought to hold: by number, or by weight. [kg]"""

    id: str
    species: str
    caught: float
    thought: float
    unit: Literal["kg", "fish"]


class Growth(NamedTuple):
    """How fish grew between two weighings: a day's gain [g], and per cent of their weight a day."""

    grams_per_day: float
    pct_per_day: float
    days: int
    ids: tuple[str, ...]


@dataclass(slots=True)
class Shoal:
    """All fish of one kind; the numbers of `now` and `released_times` are whole."""

    species: str
    put_in: int = 0
    found: int = 0
    """Taken though nobody had put them in."""
    released_times: int = 0
    now: dict[Whereabouts, int] = field(default_factory=lambda: dict.fromkeys(WHEREABOUTS, 0))
    killed_kg: float = 0.0
    killed_unweighed: int = 0
    weighings: list[Weighing] = field(default_factory=list)
    ids: list[str] = field(default_factory=list)

    @property
    def grams(self) -> float | None:
        """Weight of one fish at the last weighing. [g]"""
        return self.weighings[-1].grams if self.weighings else None

    def kg(self, where: Whereabouts) -> float | None:
        """Weight of all fish at a whereabouts, at the last weighing's mean. [kg]"""
        if not self.now[where]:
            return 0.0
        return None if self.grams is None else self.now[where] * self.grams / _GRAMS

    def growth(self) -> Growth | None:
        """Give the growth over the last weighings, some weeks apart where there are such.

        A few fish say more of which were picked than of growth, so only weighings of enough count.
        """
        counting = [one for one in self.weighings if one.number >= _LEAST]
        if len(counting) < 2:
            return None
        last = counting[-1]
        apart = [one for one in counting[:-1] if last.day - one.day >= _APART_DAYS]
        first = apart[-1] if apart else counting[0]
        days = last.day - first.day
        if days <= 0:
            return None
        rate = (log(last.grams) - log(first.grams)) / days * _PERCENT
        return Growth((last.grams - first.grams) / days, rate, days, (first.id, last.id))


@dataclass(slots=True)
class Stock:
    """The pond's fish, and their weight as the books say where no number is known."""

    shoals: dict[str, Shoal]
    start_kg: float | None
    books_kg: float | None
    """What was in it at the start and put in since, less what was taken. [kg]"""
    over: list[Over]

    def in_pond_kg(self) -> float | None:
        """Give the weight of fish in the pond: counted and weighed, or by the books where those hold more.

        Books know no growth, counts no fish that nobody put in: each is a least figure. [kg]
        """
        counted = _added([kg for one in self.shoals.values() if (kg := one.kg("pond"))])
        if self.books_kg is None:
            return counted or None
        return max(counted, self.books_kg, 0.0)


def read(station: Station, entries: Sequence[Entry], place: Place) -> Stock:
    """Read a pond's entries (effective, sorted) into its stock."""
    item = station.item
    start_kg = item.si("fish_stock")
    stock = Stock({}, start_kg, start_kg, [])
    named, number = item.text("fish_species"), int(item.number("fish_number", 0.0) or 0.0)
    if named and number:
        shoal = _shoal(stock, named)
        shoal.put_in = shoal.now["pond"] = number
        if start_kg and start_kg > _TRACE_KG:
            shoal.weighings.append(Weighing(station.since_day, start_kg * _GRAMS / number, number, ""))
    for entry in entries:
        reader = _READERS.get(entry.kind)
        if reader is not None:
            reader(stock, entry, place)
    return stock


def put_together(species: str) -> str:
    """Give the one spelling under which a fish is counted.

    >>> put_together("  Silver  Perch "), put_together("")
    ('silver perch', '?')
    """
    return " ".join(species.casefold().split()) or "?"


# -- entries --------------------------------------------------------------------------------------


def _shoal(stock: Stock, species: str) -> Shoal:
    name = put_together(species)
    found = stock.shoals.get(name)
    if found is None:
        found = stock.shoals[name] = Shoal(name)
    return found


def _weigh(shoal: Shoal, entry: Entry, place: Place) -> float | None:
    """Note the mean weight an entry gives, if it was weighed; give the whole. [kg]"""
    quantity, number = entry.data.get("mass"), entry.data["number"]
    if quantity is None:
        return None
    kg = place.mass(quantity).kg
    if kg > _TRACE_KG:
        shoal.weighings.append(Weighing(entry.day, kg * _GRAMS / number, number, entry.id))
    return kg


def _stocking(stock: Stock, entry: Entry, place: Place) -> None:
    shoal = _shoal(stock, entry.data["species"])
    shoal.ids.append(entry.id)
    shoal.put_in += entry.data["number"]
    shoal.now["pond"] += entry.data["number"]
    kg = _weigh(shoal, entry, place)
    if kg is not None:
        stock.books_kg = kg + (stock.books_kg or 0.0)


def _sample(stock: Stock, entry: Entry, place: Place) -> None:
    shoal = _shoal(stock, entry.data["species"])
    shoal.ids.append(entry.id)
    _weigh(shoal, entry, place)


def _catch(stock: Stock, entry: Entry, place: Place) -> None:
    data = entry.data
    shoal, number = _shoal(stock, data["species"]), data["number"]
    shoal.ids.append(entry.id)
    fate = _FATES[data["fate"]]
    source: Whereabouts = "held" if data.get("from") == "holding" else "pond"
    thought = stock.in_pond_kg()
    kg = _weigh(shoal, entry, place)
    if source == "pond" and kg is not None and thought and kg > thought:
        stock.over.append(Over(entry.id, shoal.species, kg, thought, "kg"))
    if shoal.put_in and number > shoal.now[source]:
        stock.over.append(Over(entry.id, shoal.species, number, shoal.now[source], "fish"))
    _take(shoal, source, number)
    shoal.now[fate] += number
    if data["fate"] == "released":
        shoal.released_times += number
    if fate == "killed":
        shoal.killed_kg += kg or 0.0
        shoal.killed_unweighed += 0 if kg is not None else number
    # Fish held apart still swim here, so that the books lose a fish only when it dies.
    if fate in ("killed", "died") and stock.books_kg is not None:
        lost = kg if kg is not None else number * (shoal.grams or 0.0) / _GRAMS
        stock.books_kg -= lost


def _take(shoal: Shoal, source: Whereabouts, number: int) -> None:
    """Take fish from where they are; those nobody knew of were in the pond all the time."""
    here = min(number, shoal.now[source])
    shoal.now[source] -= here
    if source == "held" and number > here:
        from_pond = min(number - here, shoal.now["pond"])
        shoal.now["pond"] -= from_pond
        here += from_pond
    shoal.found += number - here


def _added(values: Sequence[float]) -> float:
    total = 0.0
    for one in values:
        total += one
    return total


_READERS = {"stocking": _stocking, "fish_sample": _sample, "catch": _catch}
_LEAST = int(sources.value("pond.sample_least"))
_APART_DAYS = int(sources.value("pond.weighings_apart"))
