"""A worm bed's entries, read as what was done and what was seen on each day and side."""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice
from operator import attrgetter, itemgetter
from typing import Literal, NamedTuple

from fallowside.core import sources
from fallowside.core.entries import Entry
from fallowside.core.place import Place, Station
from fallowside.core.shapes import MOST_ENTRIES
from fallowside.core.wormbed import NAMES

What = Literal["feed", "water", "switch", "harvest", "scrape", "moisture", "depth", "leftover", "count"]

FIRST, SECOND = 0, 1
BOTH = -1
NEVER = 1 << 30


class Act(NamedTuple):
    """Something done to, or seen on, one side.

    Attributes:
        day: Local day, a proleptic ordinal.
        what: What it was; `harvest` empties a side, `scrape` takes its top layers.
        side: 0 or 1; -1 for a reading of the bed as a whole.
        dry_kg: Dry matter fed or taken. [kg]
        water_kg: Water that came along. [kg]
        nitrogen_kg: Nitrogen that came along. [kg]
        value: Moisture [%], depth [m], share left (0 none, 0.5 some, 1 most); else 0.
        spread: Half the 80 % range of `value` or, of an amount, relative to it.
        id: The entry.
    """

    day: int
    what: What
    side: int
    dry_kg: float = 0.0
    water_kg: float = 0.0
    nitrogen_kg: float = 0.0
    value: float = 0.0
    spread: float = 0.0
    id: str = ""


class Fed(NamedTuple):
    """One feed as entered, for mixes: feedstock and wet mass."""

    day: int
    side: int
    feedstock: str
    wet_kg: float
    dry_kg: float
    id: str


@dataclass(slots=True)
class Count:
    """Scoops counted on one day: worms in each scoop of either side, and the volume scooped. [L]"""

    day: int
    counts: tuple[list[int], list[int]] = field(default_factory=lambda: ([], []))
    litres: list[float] = field(default_factory=lambda: [0.0, 0.0])
    ids: list[str] = field(default_factory=list)

    @property
    def paired(self) -> bool:
        """Both sides were counted."""
        return bool(self.counts[FIRST]) and bool(self.counts[SECOND])


@dataclass(slots=True)
class Log:
    """What a bed's entries say, in order of time.

    Attributes:
        first_day: First day of the record. [ordinal]
        today: The day looked at. [ordinal]
        area_m2: Surface of one side. [m2]
        start_side: The side fed before any switch; `start_sure` if set up or shown by an entry.
        start_worms_kg: Worms put in at the start, or None if nobody said. [kg]
    """

    first_day: int
    today: int
    area_m2: float
    area_known: bool
    side_depth_m: float | None
    start_side: int
    start_sure: bool
    start_worms_kg: float | None
    acts: list[Act] = field(default_factory=list)
    feeds: list[Fed] = field(default_factory=list)
    counts: list[Count] = field(default_factory=list)
    temperatures: tuple[list[tuple[int, float]], list[tuple[int, float]]] = field(
        default_factory=lambda: ([], [])
    )
    airs: list[tuple[int, float]] = field(default_factory=list)
    newest: dict[str, Entry] = field(default_factory=dict)
    """The latest entry of each field of a reading (`reading.ph`), also by side (`reading.ph.a`)."""
    signs: dict[str, Entry] = field(default_factory=dict)
    """The latest entry in which each sign was seen."""
    all_well_us: int = 0
    switches: list[Act] = field(default_factory=list)
    fed: int = FIRST
    """The side fed, as far as was read."""
    astray: list[Act] = field(default_factory=list)
    """Feeds in a row that went to the other side."""
    day: int = 0
    """The day reached; no entry counts for an earlier one, whatever zone its time was written in."""
    early: bool = False
    """An entry was written for a day after `today`, in another zone; it counts for today."""
    touched: int = NEVER
    """The earliest day that entries read of late have changed; who keeps a log sets it back."""


def read(station: Station, entries: Sequence[Entry], place: Place, today: int) -> Log:
    """Read a bed's entries (effective, sorted, none after `today`).

    A switch that nobody logged is taken to have happened when several feeds in a row, and none on the
    side thought to be fed, went to the other side.
    """
    log = _blank(station, entries, today)
    take(log, entries, place)
    return log


def take(log: Log, entries: Sequence[Entry], place: Place) -> None:
    """Read on in a bed's entries, later ones than those read before."""
    day = None
    for entry in entries:
        if entry.day != day:
            day = entry.day
            log.early = log.early or day > log.today
            log.day = min(max(day, log.day), log.today)
            log.touched = min(log.touched, log.day)
        reader = _READERS.get(entry.kind)
        if reader is not None:
            reader(log, entry, place)


def before(log: Log, day: int) -> Log:
    """Give a log without what was done or seen on a day and after it."""
    temperatures = tuple(_up_to(readings, day) for readings in log.temperatures)
    return replace(
        log,
        acts=log.acts[: bisect_left(log.acts, day, key=_day)],
        feeds=log.feeds[: bisect_left(log.feeds, day, key=_day)],
        counts=log.counts[: bisect_left(log.counts, day, key=_day)],
        switches=log.switches[: bisect_left(log.switches, day, key=_day)],
        temperatures=(temperatures[FIRST], temperatures[SECOND]),
        airs=_up_to(log.airs, day),
    )


def between(log: Log, first_day: int, end_day: int) -> list[Act]:
    """Give what was done and seen from a day until before another."""
    start = bisect_left(log.acts, first_day, key=_day)
    return log.acts[start : bisect_left(log.acts, end_day, start, key=_day)]


def fed_since(log: Log, day: int) -> list[Fed]:
    """Give the feeds from a day on."""
    return log.feeds[bisect_left(log.feeds, day, key=_day) :]


def fed_last(log: Log, side: int) -> list[Fed]:
    """Give the newest feeds of a side, as many as a working names."""
    newest = (one for one in reversed(log.feeds) if one.side == side)
    return list(islice(newest, MOST_ENTRIES))[::-1]


def _up_to(readings: list[tuple[int, float]], day: int) -> list[tuple[int, float]]:
    return readings[: bisect_left(readings, day, key=itemgetter(0))]


def first_day(station: Station, entries: Sequence[Entry], today: int) -> int:
    """Give the first day of a bed's record."""
    return min([station.since_day, today, *(entry.day for entry in entries[:1])])


def _blank(station: Station, entries: Sequence[Entry], today: int) -> Log:
    item = station.item
    area = item.si("side_area")
    opened = first_day(station, entries, today)
    first = next((entry for entry in entries if entry.kind in ("feed", "switch") and entry.side), None)
    named = item.text("feeding_side")
    sure = bool(named) or first is not None
    if not named and first is not None:
        named = first.side if first.kind == "feed" else "a" if first.side == "b" else "b"
    return Log(
        first_day=opened,
        today=today,
        area_m2=area if area else _AREA_USUAL,
        area_known=bool(area),
        side_depth_m=item.si("side_depth"),
        start_side=_index(named),
        start_sure=sure,
        start_worms_kg=item.si("start_worms"),
        fed=_index(named),
        day=opened,
    )


def _index(side: str) -> int:
    return NAMES.index("b") if side == "b" else FIRST


def _feed(log: Log, entry: Entry, place: Place) -> None:
    side = _index(entry.side)
    act = _put_on(log, entry, place, entry.data["feedstock"], side)
    log.astray = [] if side == log.fed else [*log.astray, act]
    if len(log.astray) >= _IMPLIED_FEEDS:
        first = log.astray[0]
        at = next(at for at in range(len(log.acts) - 1, -1, -1) if log.acts[at] is first)
        turn = Act(first.day, "switch", side, id=first.id)
        log.acts.insert(at, turn)
        log.touched = min(log.touched, turn.day)
        _turn(log, turn)


def _solids(log: Log, entry: Entry, place: Place) -> None:
    """Pour what was drawn from a pond on the side being fed: a wet feed rich in nitrogen."""
    _put_on(log, entry, place, "pond_solids", log.fed)


def _put_on(log: Log, entry: Entry, place: Place, feedstock: str, side: int) -> Act:
    mass = place.mass(entry.data["amount"], feedstock, entry.us)
    material = place.material(feedstock)
    kg = mass.kg
    dry = kg * (1.0 - material.moisture_pct / 100.0)
    spread = 0.5 * (mass.high - mass.low) / kg if kg > 0.0 else 0.0
    nitrogen = dry * material.nitrogen_pct_dry / 100.0
    act = Act(log.day, "feed", side, dry, kg - dry, nitrogen, 0.0, spread, entry.id)
    log.acts.append(act)
    log.feeds.append(Fed(log.day, side, feedstock, kg, dry, entry.id))
    return act


def _water(log: Log, entry: Entry, place: Place) -> None:
    litres = place.litres(entry.data["amount"], entry.us)
    log.acts.append(Act(log.day, "water", _index(entry.side), water_kg=litres, id=entry.id))


def _switch(log: Log, entry: Entry, place: Place) -> None:
    log.astray = []
    act = Act(log.day, "switch", _index(entry.side), id=entry.id)
    if act.side != log.fed:
        log.acts.append(act)
        _turn(log, act)


def _turn(log: Log, act: Act) -> None:
    log.switches.append(act)
    log.fed, log.astray = act.side, []


def _castings(log: Log, entry: Entry, place: Place) -> None:
    mass = place.mass(entry.data["amount"], "finished_castings", entry.us)
    dry = mass.kg * (1.0 - _CASTINGS_MOISTURE / 100.0)
    what: What = "harvest" if entry.data["method"] == "after_migration" else "scrape"
    spread = 0.5 * (mass.high - mass.low) / mass.kg if mass.kg > 0.0 else 0.0
    act = Act(log.day, what, _index(entry.side), dry, mass.kg - dry, spread=spread, id=entry.id)
    # A side is emptied pail by pail: what one day took from it is one harvest.
    for at in range(len(log.acts) - 1, -1, -1):
        earlier = log.acts[at]
        if earlier.day != act.day:
            break
        if (earlier.what, earlier.side) == (act.what, act.side):
            dry, water = earlier.dry_kg + act.dry_kg, earlier.water_kg + act.water_kg
            log.acts[at] = earlier._replace(dry_kg=dry, water_kg=water, spread=max(earlier.spread, spread))
            return
    log.acts.append(act)


def _reading(log: Log, entry: Entry, place: Place) -> None:
    data = entry.data
    side = _index(entry.side) if entry.side else BOTH
    for name, newest, of_side in _NEWEST:
        if data.get(name) is not None:
            log.newest[newest] = entry
            if entry.side:
                log.newest[of_side[side]] = entry
    if data.get("temperature") is not None:
        celsius = place.si(data["temperature"])
        for one in (FIRST, SECOND) if side == BOTH else (side,):
            log.temperatures[one].append((log.day, celsius))
    if data.get("air_temperature") is not None:
        log.airs.append((log.day, place.si(data["air_temperature"])))
    if data.get("moisture_pct") is not None:
        moisture, spread = float(data["moisture_pct"]), _METER_SPREAD
        log.acts.append(Act(log.day, "moisture", side, value=moisture, spread=spread, id=entry.id))
    elif data.get("squeeze") in _SQUEEZE:
        low, moisture, high = _SQUEEZE[data["squeeze"]]
        log.acts.append(
            Act(log.day, "moisture", side, value=moisture, spread=0.5 * (high - low), id=entry.id)
        )
    if data.get("depth") is not None and side != BOTH:
        log.acts.append(Act(log.day, "depth", side, value=place.si(data["depth"]), id=entry.id))


def _leftover(log: Log, entry: Entry, place: Place) -> None:
    value = _LEFT.get(entry.data["left"])
    if value is not None:
        log.acts.append(Act(log.day, "leftover", _index(entry.side), value=value, id=entry.id))


def _count(log: Log, entry: Entry, place: Place) -> None:
    if not log.counts or log.counts[-1].day != log.day:
        log.counts.append(Count(log.day))
    count = log.counts[-1]
    side = _index(entry.side)
    scoops = entry.data["counts"]
    count.counts[side].extend(scoops)
    count.litres[side] += len(scoops) * place.si(entry.data["scoop"])
    count.ids.append(entry.id)


def _signs(log: Log, entry: Entry, place: Place) -> None:
    for sign in entry.data["signs"]:
        if sign == "all_well":
            log.all_well_us = entry.us
        log.signs[sign] = entry


_NEWEST = tuple(
    (name, f"reading.{name}", tuple(f"reading.{name}.{side}" for side in NAMES))
    for name in ("temperature", "air_temperature", "moisture_pct", "squeeze", "ph", "depth")
)
"""Fields of a reading, and the names under which the newest is kept: of the bed, of either side."""
_READERS = {
    "feed": _feed,
    "solids": _solids,
    "water": _water,
    "switch": _switch,
    "castings": _castings,
    "reading": _reading,
    "leftover": _leftover,
    "side_count": _count,
    "signs": _signs,
}
_day = attrgetter("day")
_LEFT: Mapping[str, float] = {"none": 0.0, "some": 0.5, "most": 1.0}
_SQUEEZE: Mapping[str, tuple[float, float, float]] = {
    name: (row["low"], row["value"], row["high"]) for name, row in sources.table("worms")["squeeze"].items()
}
_AREA_USUAL = sources.value("worms.side_area_usual")
_METER_SPREAD = sources.value("worms.moisture_meter_spread")
_CASTINGS_MOISTURE = sources.value("worms.castings_moisture")
_IMPLIED_FEEDS = int(sources.value("worms.implied_switch_feeds"))
