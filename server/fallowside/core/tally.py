"""The tally: what was kept out of landfill in a period, and what came out of the stations.

Counted is what was fed to a bed or a bin and would have gone to landfill; taken off is what left
again for landfill (rejects, residue), in the period in which it left, so that a month may fall
below zero and says so. Castings, larvae and frass are outputs, never added to the input, and
larvae or castings handed on are not counted again: nothing is counted twice because only `feed`
entries add. Days are local days as written in each entry, so months add up to years whatever the
time zone.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from math import sqrt
from typing import Any

from fallowside.core import sources
from fallowside.core.entries import Entry
from fallowside.core.place import Mass, Place
from fallowside.core.shapes import Month, Stream, Tally, because, figure, iso

_NOT_COUNTED = frozenset(sources.table("tally")["streams"]["not_counted"])
_GRAMS = 1000.0


def year_before(day: int) -> int:
    """Give the first day of the month eleven months before `day`: a year of whole months. [ordinal]

    >>> from datetime import date
    >>> date.fromordinal(year_before(date(2026, 3, 15).toordinal())).isoformat()
    '2025-04-01'
    """
    today = date.fromordinal(day)
    month = today.year * 12 + today.month - 1 - 11
    return date(month // 12, month % 12 + 1, 1).toordinal()


def tally(entries: Iterable[Entry], place: Place, since_day: int, until_day: int) -> Tally:
    """Tally the entries of a period.

    Args:
        entries: Effective entries of the whole place, in any order.
        place: The place they belong to.
        since_day, until_day: First and last local day, both included. [ordinal]

    Returns:
        Sums in wet kilograms; ranges are 80 %.
    """
    book = _Book(place, since_day, until_day)
    ordered = sorted(entries, key=lambda one: (one.us, one.id))
    grams = _larva_grams(ordered, place)
    for entry in ordered:
        if since_day <= entry.day <= until_day:
            rule = _RULES.get(entry.kind)
            if rule is not None:
                rule(book, entry)
            elif entry.kind == "self_harvest":
                book.put_out("larvae", _larvae_kg(entry, place, grams))
    return book.close()


class _Book:
    """Running sums of one period."""

    def __init__(self, place: Place, since_day: int, until_day: int) -> None:
        self.place, self.since_day, self.until_day = place, since_day, until_day
        self.streams: dict[str, _Sum] = {}
        self.months: dict[str, dict[str, float]] = {}
        self.rejects: dict[str, float] = {}
        self.rejected = _Sum()
        self.stations: dict[str, float] = {}
        self.people: dict[str, float] = {}
        self.outputs: dict[str, float] = {}
        self.not_counted: dict[str, float] = {}
        self.touched: list[str] = []

    def feed(self, entry: Entry) -> None:
        stream = self.place.material(entry.data["feedstock"]).stream
        mass = self.place.mass(entry.data["amount"], entry.data["feedstock"])
        station = self.place.stations.get(entry.station)
        if station is not None and station.type == "pond":
            stream = "feed"
        if stream in _NOT_COUNTED:
            self.not_counted[stream] = self.not_counted.get(stream, 0.0) + mass.kg
            return
        self.streams.setdefault(stream, _Sum()).add(mass, _origin(entry))
        month = self.months.setdefault(entry.data["at"][:7], {})
        month[stream] = month.get(stream, 0.0) + mass.kg
        self.stations[entry.station] = self.stations.get(entry.station, 0.0) + mass.kg
        if entry.by:
            self.people[entry.by] = self.people.get(entry.by, 0.0) + mass.kg
        self.touched.append(entry.id)

    def reject(self, entry: Entry) -> None:
        if entry.data["to"] != "landfill":
            return
        feedstock = entry.data.get("feedstock", _RESIDUE)
        mass = self.place.mass(entry.data["amount"], feedstock)
        self.rejected.add(mass, _origin(entry))
        month = entry.data["at"][:7]
        self.rejects[month] = self.rejects.get(month, 0.0) + mass.kg
        self.touched.append(entry.id)

    def clear_out(self, entry: Entry) -> None:
        if entry.data["to"] == "landfill":
            self.reject(entry)
        else:
            self.put_out("frass", self.place.mass(entry.data["amount"], _RESIDUE).kg)

    def castings(self, entry: Entry) -> None:
        self.put_out("castings", self.place.mass(entry.data["amount"], "finished_castings").kg)

    def honey(self, entry: Entry) -> None:
        self.put_out("honey", self.place.mass(entry.data["amount"], "").kg)

    def catch(self, entry: Entry) -> None:
        if entry.data["fate"] == "killed" and entry.data.get("mass") is not None:
            self.put_out("fish", self.place.mass(entry.data["mass"], "").kg)

    def put_out(self, what: str, kg: float) -> None:
        self.outputs[what] = self.outputs.get(what, 0.0) + kg

    def close(self) -> Tally:
        total = _Sum()
        for one in self.streams.values():
            total.take(one)
        gross, rejected = total.kg, self.rejected.kg
        total.take(self.rejected)
        half = total.half_width()
        net = gross - rejected
        return {
            "since": iso(self.since_day),
            "until": iso(self.until_day),
            "net": {
                "value": figure(net),
                "low": figure(net - half),
                "high": figure(net + half),
                "unit": "kg",
                "because": because(
                    "tally.net_because" if net >= 0.0 else "tally.net_below_zero_because",
                    self.touched,
                    ["tally.fill_spread", "tally.density_spread"],
                    gross_kg=figure(gross),
                    rejected_kg=figure(rejected),
                    measured_kg=figure(total.measured),
                ),
            },
            "gross_kg": figure(gross),
            "rejected_kg": figure(rejected),
            "streams": [one.stream(name) for name, one in sorted(self.streams.items())],
            "stations": _rounded(self.stations),
            "people": _rounded(self.people),
            "months": self._months(),
            "outputs": {f"{what}_kg": kg for what, kg in _rounded(self.outputs).items()},
            "not_counted_kg": _rounded(self.not_counted),
        }

    def _months(self) -> list[Month]:
        months: list[Month] = []
        day = date.fromordinal(self.since_day).replace(day=1)
        until = date.fromordinal(self.until_day)
        while day <= until:
            name = day.isoformat()[:7]
            streams, rejected = self.months.get(name, {}), self.rejects.get(name, 0.0)
            net = _plain_sum(streams.values()) - rejected
            months.append(
                {
                    "month": name,
                    "streams": _rounded(streams),
                    "rejected_kg": figure(rejected),
                    "net_kg": figure(net),
                }
            )
            day = date(day.year + day.month // 12, day.month % 12 + 1, 1)
        return months


class _Sum:
    """A sum of masses whose errors are common within one origin and independent between origins."""

    def __init__(self) -> None:
        self.kg = 0.0
        self.measured = 0.0
        self._halves: dict[str, float] = {}

    def add(self, mass: Mass, origin: str) -> None:
        self.kg += mass.kg
        if mass.how == "weighed":
            self.measured += mass.kg
        else:
            half = (mass.high - mass.low) / 2.0
            self._halves[origin] = self._halves.get(origin, 0.0) + half

    def take(self, other: "_Sum") -> None:
        self.kg += other.kg
        self.measured += other.measured
        for origin, half in other._halves.items():
            self._halves[origin] = self._halves.get(origin, 0.0) + half

    def half_width(self) -> float:
        return sqrt(_plain_sum(half * half for half in self._halves.values()))

    def stream(self, name: str) -> Stream:
        half = self.half_width()
        return {
            "stream": name,
            "kg": figure(self.kg),
            "low": figure(max(self.measured, self.kg - half)),
            "high": figure(self.kg + half),
            "measured_kg": figure(self.measured),
        }


def _origin(entry: Entry) -> str:
    """Name what an estimate's error comes from: the container filled, or the density assumed."""
    amount = entry.data["amount"]
    container = amount.get("container")
    return f"container {container}" if container else f"density {entry.data.get('feedstock', _RESIDUE)}"


def _larva_grams(entries: Sequence[Entry], place: Place) -> Mapping[str, float]:
    """Give each bin's own mean mass of a prepupa, from its latest weighing of fifty. [g]"""
    latest: dict[str, tuple[int, str, float]] = {}
    for entry in entries:
        fifty = entry.data.get("fifty_mass") if entry.kind == "self_harvest" else None
        if fifty is not None:
            found = (entry.us, entry.id, place.mass(fifty).kg * _GRAMS / 50.0)
            latest[entry.station] = max(latest.get(entry.station, found), found)
    return {station: found[2] for station, found in latest.items()}


def _larvae_kg(entry: Entry, place: Place, grams: Mapping[str, float]) -> float:
    amount: Mapping[str, Any] | None = entry.data.get("amount")
    if amount is not None:
        return place.mass(amount, "larvae").kg
    mean = grams.get(entry.station, sources.value("tally.prepupa_mass"))
    return float(entry.data["count"]) * mean / _GRAMS


def _plain_sum(values: Iterable[float]) -> float:
    total = 0.0
    for one in values:
        total += one
    return total


def _rounded(values: Mapping[str, float]) -> dict[str, float]:
    return {key: figure(value) for key, value in sorted(values.items())}


_RESIDUE = "larvae_residue"
_RULES = {
    "feed": _Book.feed,
    "reject": _Book.reject,
    "clear_out": _Book.clear_out,
    "castings": _Book.castings,
    "hive_harvest": _Book.honey,
    "catch": _Book.catch,
}
