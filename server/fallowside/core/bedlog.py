"""A worm bed's entries, read as what was done and what was seen on each day and side."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from fallowside.core import sources
from fallowside.core.entries import Entry
from fallowside.core.place import Place, Station
from fallowside.core.wormbed import NAMES

What = Literal["feed", "water", "switch", "harvest", "scrape", "moisture", "depth", "leftover", "count"]

FIRST, SECOND = 0, 1
BOTH = -1


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


@dataclass(frozen=True, slots=True)
class Fed:
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
        start_side: The side fed before any switch.
        start_worms_kg: Worms put in at the start, or None if nobody said. [kg]
    """

    first_day: int
    today: int
    area_m2: float
    area_known: bool
    side_depth_m: float | None
    start_side: int
    start_worms_kg: float | None
    acts: list[Act] = field(default_factory=list)
    feeds: list[Fed] = field(default_factory=list)
    counts: list[Count] = field(default_factory=list)
    temperatures: tuple[list[tuple[int, float]], list[tuple[int, float]]] = field(
        default_factory=lambda: ([], [])
    )
    airs: list[tuple[int, float]] = field(default_factory=list)
    newest: dict[str, Entry] = field(default_factory=dict)
    """The latest entry of each kind and of each field of a reading (`reading.ph`), also by side
    (`reading.temperature.a`)."""
    signs: dict[str, Entry] = field(default_factory=dict)
    """The latest entry in which each sign was seen."""
    all_well_us: int = 0
    switches: list[Act] = field(default_factory=list)


def read(station: Station, entries: Sequence[Entry], place: Place, today: int) -> Log:
    """Read a bed's entries (effective, sorted, none after `today`).

    A switch that nobody logged is taken to have happened when several feeds in a row, and none on the
    side thought to be fed, went to the other side.
    """
    log = _blank(station, entries, today)
    for entry in entries:
        log.newest[entry.kind] = entry
        if entry.side:
            log.newest[f"{entry.kind}.{entry.side}"] = entry
        reader = _READERS.get(entry.kind)
        if reader is not None:
            reader(log, entry, place)
    _settle_switches(log)
    log.counts.sort(key=lambda one: one.day)
    return log


def _blank(station: Station, entries: Sequence[Entry], today: int) -> Log:
    item = station.item
    area = item.si("side_area")
    first_day = min([station.since_day, today, *(entry.day for entry in entries[:1])])
    named = item.text("feeding_side")
    if not named:
        named = next(
            (entry.side for entry in entries if entry.kind in ("feed", "switch") and entry.side), "a"
        )
        first = next((entry for entry in entries if entry.kind in ("feed", "switch")), None)
        if first is not None and first.kind == "switch":
            named = "b" if named == "a" else "a"
    return Log(
        first_day=first_day,
        today=today,
        area_m2=area if area else _AREA_USUAL,
        area_known=bool(area),
        side_depth_m=item.si("side_depth"),
        start_side=_index(named),
        start_worms_kg=item.si("start_worms"),
    )


def _index(side: str) -> int:
    return NAMES.index("b") if side == "b" else FIRST


def _feed(log: Log, entry: Entry, place: Place) -> None:
    feedstock = entry.data["feedstock"]
    mass = place.mass(entry.data["amount"], feedstock, entry.us)
    material = place.material(feedstock)
    dry = mass.kg * (1.0 - material.moisture_pct / 100.0)
    side = _index(entry.side)
    log.acts.append(
        Act(
            entry.day,
            "feed",
            side,
            dry,
            mass.kg - dry,
            dry * material.nitrogen_pct_dry / 100.0,
            0.0,
            0.5 * (mass.high - mass.low) / mass.kg if mass.kg > 0.0 else 0.0,
            entry.id,
        )
    )
    log.feeds.append(Fed(entry.day, side, feedstock, mass.kg, dry, entry.id))


def _water(log: Log, entry: Entry, place: Place) -> None:
    litres = place.litres(entry.data["amount"], entry.us)
    log.acts.append(Act(entry.day, "water", _index(entry.side), water_kg=litres, id=entry.id))


def _switch(log: Log, entry: Entry, place: Place) -> None:
    log.acts.append(Act(entry.day, "switch", _index(entry.side), id=entry.id))


def _castings(log: Log, entry: Entry, place: Place) -> None:
    mass = place.mass(entry.data["amount"], "finished_castings", entry.us)
    dry = mass.kg * (1.0 - _CASTINGS_MOISTURE / 100.0)
    what: What = "harvest" if entry.data["method"] == "after_migration" else "scrape"
    spread = 0.5 * (mass.high - mass.low) / mass.kg if mass.kg > 0.0 else 0.0
    act = Act(entry.day, what, _index(entry.side), dry, mass.kg - dry, spread=spread, id=entry.id)
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
    for name in ("temperature", "air_temperature", "moisture_pct", "squeeze", "ph", "depth"):
        if data.get(name) is not None:
            log.newest[f"reading.{name}"] = entry
            if entry.side:
                log.newest[f"reading.{name}.{entry.side}"] = entry
    if data.get("temperature") is not None:
        celsius = place.si(data["temperature"])
        for one in (FIRST, SECOND) if side == BOTH else (side,):
            log.temperatures[one].append((entry.day, celsius))
    if data.get("air_temperature") is not None:
        log.airs.append((entry.day, place.si(data["air_temperature"])))
    if data.get("moisture_pct") is not None:
        moisture, spread = float(data["moisture_pct"]), _METER_SPREAD
        log.acts.append(Act(entry.day, "moisture", side, value=moisture, spread=spread, id=entry.id))
    elif data.get("squeeze") in _SQUEEZE:
        low, moisture, high = _SQUEEZE[data["squeeze"]]
        log.acts.append(
            Act(entry.day, "moisture", side, value=moisture, spread=0.5 * (high - low), id=entry.id)
        )
    if data.get("depth") is not None and side != BOTH:
        log.acts.append(Act(entry.day, "depth", side, value=place.si(data["depth"]), id=entry.id))


def _leftover(log: Log, entry: Entry, place: Place) -> None:
    value = _LEFT.get(entry.data["left"])
    if value is not None:
        log.acts.append(Act(entry.day, "leftover", _index(entry.side), value=value, id=entry.id))


def _count(log: Log, entry: Entry, place: Place) -> None:
    if not log.counts or log.counts[-1].day != entry.day:
        log.counts.append(Count(entry.day))
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


def _settle_switches(log: Log) -> None:
    """Keep the switches that change the side fed, and add those that feeding shows."""
    fed = log.start_side
    astray: list[Act] = []
    kept: list[Act] = []
    for act in log.acts:
        if act.what == "switch":
            astray = []
            if act.side != fed:
                fed = act.side
                kept.append(act)
        elif act.what == "feed":
            astray = [] if act.side == fed else [*astray, act]
            if len(astray) >= _IMPLIED_FEEDS:
                fed = act.side
                kept.append(astray[0]._replace(what="switch", dry_kg=0.0, water_kg=0.0, nitrogen_kg=0.0))
                astray = []
    log.switches = kept
    implied = {act.id: act for act in kept}
    acts = []
    for act in log.acts:
        if act.what == "switch":
            if act.id in implied:
                acts.append(act)
        else:
            if act.what == "feed" and act.id in implied:
                acts.append(implied[act.id])
            acts.append(act)
    log.acts = acts


_READERS = {
    "feed": _feed,
    "water": _water,
    "switch": _switch,
    "castings": _castings,
    "reading": _reading,
    "leftover": _leftover,
    "side_count": _count,
    "signs": _signs,
}
_LEFT: Mapping[str, float] = {"none": 0.0, "some": 0.5, "most": 1.0}
_SQUEEZE: Mapping[str, tuple[float, float, float]] = {
    name: (row["low"], row["value"], row["high"]) for name, row in sources.table("worms")["squeeze"].items()
}
_AREA_USUAL = sources.value("worms.side_area_usual")
_METER_SPREAD = sources.value("worms.moisture_meter_spread")
_CASTINGS_MOISTURE = sources.value("worms.castings_moisture")
_IMPLIED_FEEDS = int(sources.value("worms.implied_switch_feeds"))
