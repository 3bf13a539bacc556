"""A larvae bin's entries, read as days: warmth, season, what went in and what came out.

A count of self-harvested larvae stands for all that climbed out since the count before, at most for
a week. Where larvae were weighed the keeper's own mean mass turns kilograms into larvae; without one
a wide default does. Days between readings are filled in by `warmth`.
"""

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from fallowside.core import soldierfly, units, warmth
from fallowside.core.entries import Entry, spec
from fallowside.core.larvae import recruits
from fallowside.core.larvae.recruits import value
from fallowside.core.place import Place, Station
from fallowside.core.told import Told

GRAMS = 1000.0


@dataclass(slots=True)
class Catch:
    """Larvae found that climbed out: on which day, how many, how heavy, for how many days back."""

    us: int
    day: int
    id: str
    count: float
    kg: float
    span: int


class Feed(NamedTuple):
    """Something put in. `group` is fish, meat, inert or other."""

    us: int
    day: int
    id: str
    feedstock: str
    kg: float
    low: float
    high: float
    dry_kg: float
    group: str


@dataclass(slots=True)
class Log:
    """What a bin's entries say, in order of time.

    Attributes:
        first_day: First day of the record. [ordinal]
        today: The day looked at. [ordinal]
        area_m2: Surface of the feed. [m2]
        depth_m: Inner depth of the bin. [m]
        grams: The keeper's mean mass of a grown larva, or the default. [g]
        grams_entry, grams_day: The entry that gave it, and its day; '' and None for the default.
    """

    first_day: int
    today: int
    area_m2: float
    area_known: bool
    depth_m: float | None
    grams: float
    grams_entry: str = ""
    grams_day: int | None = None
    catches: list[Catch] = field(default_factory=list)
    feeds: list[Feed] = field(default_factory=list)
    temperatures: list[tuple[int, float]] = field(default_factory=list)
    airs: list[tuple[int, float]] = field(default_factory=list)
    moistures: list[tuple[int, int, float]] = field(default_factory=list)
    """Instant, day and percentage of each moisture reading."""
    newest: dict[str, Entry] = field(default_factory=dict)
    """The latest entry of each kind, and of each field of a reading (`reading.ph`)."""
    signs: dict[str, Entry] = field(default_factory=dict)
    """The latest entry in which each sign was seen."""
    clear_outs: list[Entry] = field(default_factory=list)
    rejects: list[tuple[int, float]] = field(default_factory=list)
    given: list[Entry] = field(default_factory=list)
    clutches: list[tuple[int, float]] = field(default_factory=list)

    def last(self, kind: str) -> list[str]:
        """Name the latest entry of a kind (or of a field of a reading), if there is one."""
        entry = self.newest.get(kind)
        return [entry.id] if entry is not None else []


def read(station: Station, entries: Sequence[Entry], place: Place, today: int) -> Log:
    """Read a bin's effective entries, sorted by time, into a `Log`."""
    area = station.item.si("bin_area")
    log = Log(
        first_day=_first_day(station, entries, today),
        today=today,
        area_m2=area if area is not None else value("usual_area"),
        area_known=area is not None,
        depth_m=station.item.si("bin_depth"),
        grams=value("prepupa_mass"),
    )
    fifties = _fifties(entries, place)
    if fifties:
        log.grams_day, log.grams_entry, log.grams = fifties[-1]
    _read_on(log, entries, place, fifties)
    return log


class Kept:
    """A bin's log as it was last read; a later reading goes on from there if it may."""

    def __init__(self) -> None:
        self._of: tuple[Station, Place] | None = None
        self._entries: list[Entry] = []
        self._log: Log | None = None
        self._drawn = warmth.Kept(), warmth.Kept()
        self._weather: tuple[Log, tuple[int, ...], Weather] | None = None
        self._lived: tuple[Weather, list[recruits.Day]] | None = None
        self.told = Told()
        """What was told of the log read last."""

    def log(self, station: Station, entries: Sequence[Entry], place: Place, today: int) -> Log:
        """Give what `read` gives."""
        log, there = self._log, self._entries
        new = entries[len(there) :]
        if (
            log is None
            or self._of is None
            or self._of[0] is not station
            or self._of[1] is not place
            or there != entries[: len(there)]
            or log.first_day != _first_day(station, entries, today)
            # A weighing bears on the counts before it too.
            or _fifties(new, place)
        ):
            log, self.told = read(station, entries, place, today), Told()
        else:
            log.today = today
            _read_on(log, new, place, [])
        self._of, self._entries, self._log = (station, place), list(entries), log
        return log

    def weather(self, log: Log, place: Place, last_day: int) -> "Weather":
        """Give what `weather` gives of the log read last, anew only where a temperature came to it."""
        told = last_day, len(log.temperatures), len(log.airs)
        kept = self._weather
        if kept is None or kept[0] is not log or kept[1] != told:
            kept = self._weather = log, told, weather(log, place, last_day, self._drawn)
        return kept[2]

    def lived(self, log: Log, weather_: "Weather") -> list[recruits.Day]:
        """Give the days up to today as `days` gives them; one that is as it was is the very same."""
        before: Sequence[recruits.Day] = []
        if self._lived is not None:
            before = self._lived[1][: _alike(self._lived[0], weather_)]
        made = days(log, weather_, log.first_day, log.today, before=before)
        self._lived = weather_, made
        return made


def _alike(one: "Weather", other: "Weather") -> int:
    """Count the days from the first on that both have as warm."""
    if one is other or one.first_day != other.first_day:
        return len(other.feed_c) if one is other else 0
    both = zip(one.feed_c, other.feed_c, one.noon_c, other.noon_c, strict=False)
    changed = (at for at, (feed, its, noon, that) in enumerate(both) if feed != its or noon != that)
    return next(changed, min(len(one.feed_c), len(other.feed_c)))


def _first_day(station: Station, entries: Sequence[Entry], today: int) -> int:
    return min([today, station.since_day, *(entry.day for entry in entries[:1])])


def _read_on(
    log: Log, entries: Sequence[Entry], place: Place, fifties: Sequence[tuple[int, str, float]]
) -> None:
    for entry in entries:
        log.newest[entry.kind] = entry
        take = _TAKE.get(entry.kind)
        if take is not None:
            take(log, entry, place)
    _take_catches(log, [entry for entry in entries if entry.kind == "self_harvest"], place, fifties)


def _fifties(entries: Sequence[Entry], place: Place) -> list[tuple[int, str, float]]:
    """Give each weighing of fifty as (day, entry, grams a larva)."""
    return [
        (entry.day, entry.id, place.mass(entry.data["fifty_mass"]).kg * GRAMS / value("sample"))
        for entry in entries
        if entry.kind == "self_harvest" and entry.data.get("fifty_mass") is not None
    ]


def _take_catches(
    log: Log, entries: Sequence[Entry], place: Place, fifties: Sequence[tuple[int, str, float]]
) -> None:
    longest = int(value("catch_days"))
    grams = fifties[0][2] if fifties else log.grams
    coming = deque(fifties)
    before = log.catches[-1].day if log.catches else None
    for entry in entries:
        day = entry.day
        while coming and coming[0][0] <= day:
            grams = coming.popleft()[2]
        kg, count = _larvae(entry, place, grams)
        if before == day:
            last = log.catches.pop()
            count, kg, span = count + last.count, kg + last.kg, last.span
        else:
            span = min(longest, day - before) if before is not None else 1
        log.catches.append(Catch(entry.us, day, entry.id, count, kg, span))
        before = day


def _larvae(entry: Entry, place: Place, grams: float) -> tuple[float, float]:
    """Give kilograms and number of the larvae of a self-harvest or `given` entry."""
    amount: Mapping[str, Any] | None = entry.data.get("amount")
    count = entry.data.get("count")
    kg = None if amount is None else place.mass(amount, "larvae", entry.us).kg
    if count is not None:
        return (float(count) * grams / GRAMS if kg is None else kg), float(count)
    weight = kg or 0.0
    return weight, weight * GRAMS / grams


def _take_feed(log: Log, entry: Entry, place: Place) -> None:
    name = entry.data["feedstock"]
    mass = place.mass(entry.data["amount"], name, entry.us)
    dry = mass.kg * (1.0 - place.material(name).moisture_pct / 100.0)
    log.feeds.append(
        Feed(entry.us, entry.day, entry.id, name, mass.kg, mass.low, mass.high, dry, group(place, name))
    )


def group(place: Place, feedstock: str) -> str:
    """Say whether a feedstock is fish, meat, inert (bones, shells) or other."""
    return _GROUPS.get(place.material(feedstock).group, "other")


_GROUPS = {"fish": "fish", "meat": "meat", "shell": "inert"}


_NEWEST = {name: f"reading.{name}" for name in spec()["kinds"]["reading"]["fields"]}


def _take_reading(log: Log, entry: Entry, place: Place) -> None:
    data = entry.data
    if data.get("temperature") is not None:
        log.temperatures.append((entry.day, place.si(data["temperature"])))
    if data.get("air_temperature") is not None:
        log.airs.append((entry.day, place.si(data["air_temperature"])))
    if data.get("moisture_pct") is not None:
        log.moistures.append((entry.us, entry.day, float(data["moisture_pct"])))
    for name, newest in _NEWEST.items():
        if data.get(name) is not None:
            log.newest[newest] = entry


def depth_m(entry: Entry) -> float:
    """Give the depth of what lies in the bin, from a reading that has one. [m]"""
    return units.to_si(entry.data["depth"]["value"], entry.data["depth"]["unit"])[0]


def _take_signs(log: Log, entry: Entry, place: Place) -> None:
    for sign in entry.data["signs"]:
        log.signs[sign] = entry


def _take_clear_out(log: Log, entry: Entry, place: Place) -> None:
    log.clear_outs.append(entry)


def _take_reject(log: Log, entry: Entry, place: Place) -> None:
    kg = place.mass(entry.data["amount"], entry.data["feedstock"], entry.us).kg
    log.rejects.append((entry.us, kg))


def _take_given(log: Log, entry: Entry, place: Place) -> None:
    log.given.append(entry)


def _take_eggs(log: Log, entry: Entry, place: Place) -> None:
    log.clutches.append((entry.day, float(entry.data["clutches"])))


_TAKE = {
    "feed": _take_feed,
    "reading": _take_reading,
    "signs": _take_signs,
    "clear_out": _take_clear_out,
    "reject": _take_reject,
    "given": _take_given,
    "eggs": _take_eggs,
}


@dataclass(frozen=True, slots=True)
class Weather:
    """Feed temperature and season of consecutive days, past and to come.

    Attributes:
        first_day: Local day of the first value. [ordinal]
        feed_c: Temperature of the feed. [degC]
        spread_c: Standard deviation of that figure. [K]
        noon_c: Warm part of the air's day, or None where nothing tells. [degC]
    """

    first_day: int
    feed_c: tuple[float, ...]
    spread_c: tuple[float, ...]
    noon_c: tuple[float | None, ...]


def weather(
    log: Log, place: Place, last_day: int, kept: tuple[warmth.Kept, warmth.Kept] | None = None
) -> Weather:
    """Fill in the feed's temperature and the air's warm part for each day to `last_day`.

    `kept` is what an earlier drawing of either left; this one leaves its own.
    """
    normals = _normals(place)
    of_feed, of_air = kept or (warmth.Kept(), warmth.Kept())
    feed = of_feed.between(
        warmth.daily(log.temperatures),
        log.first_day,
        last_day,
        air=warmth.daily(log.airs),
        normals=normals,
        habit=warmth.Habit(value("bin_usual"), value("bin_over_air"), value("bin_over_air_spread")),
    )
    return Weather(log.first_day, feed.mean_c, feed.spread_c, _noons(log, normals, last_day, of_air))


def _normals(place: Place) -> tuple[float, ...] | None:
    months = place.item.fields.get("air_by_month_c")
    return tuple(float(one) for one in months) if isinstance(months, list | tuple) else None


def _noons(
    log: Log, normals: tuple[float, ...] | None, last_day: int, kept: warmth.Kept
) -> tuple[float | None, ...]:
    """Give the warm part of each day's air: from the month's normal, bent towards what was logged."""
    if normals is None and not log.airs:
        return (None,) * (last_day - log.first_day + 1)
    no_lead = warmth.Habit(value("mating_air"), 0.0, 0.0)
    air = kept.between(warmth.daily(log.airs), log.first_day, last_day, normals=normals, habit=no_lead)
    above = value("noon_above_mean")
    return tuple(mean + above for mean in air.mean_c)


def gate(noon_c: float | None) -> float:
    """Give the share of the usual eggs laid on a day, by the warm part of its air.

    Nothing to speak of below 20 °C, the usual from 27 °C on, a straight line between; unknown air
    counts as warm. Source: mating at 27 to 29 °C, Julita et al. 2020; the stop is our choice.

    >>> gate(None), gate(30.0), round(gate(23.5), 2), gate(5.0)
    (1.0, 1.0, 0.5, 0.02)
    """
    if noon_c is None:
        return 1.0
    stop = value("laying_stops")
    return max(value("gate_floor"), min(1.0, (noon_c - stop) / (value("mating_air") - stop)))


def days(
    log: Log,
    weather_: Weather,
    since: int,
    until: int,
    shift_c: float = 0.0,
    before: Sequence[recruits.Day] = (),
) -> list[recruits.Day]:
    """Give the colony's days, both ends included, with what was counted on them.

    `before` are days as an earlier look had them, from `since` on, as far as they were as warm.
    """
    counts = {catch.day: catch for catch in log.catches}
    clutches = dict(log.clutches)
    made = []
    for number, day in enumerate(range(since, until + 1)):
        catch, seen = counts.get(day), clutches.get(day)
        count, span = (None, 1) if catch is None else (catch.count, catch.span)
        if number < len(before):
            was = before[number]
            if was.count == count and was.span == span and was.clutches == seen:
                made.append(was)
                continue
        at = day - weather_.first_day
        warm = min(max(weather_.feed_c[at] + shift_c, soldierfly.COLDEST_C), soldierfly.HOTTEST_C)
        rate = soldierfly.growing_rate(warm)
        made.append(recruits.Day(rate, gate(weather_.noon_c[at]), count, span, seen))
    return made
