"""The fold: from a log and an instant to a plan. Pure; the order in which entries arrived is nothing.

First set-up and corrections are read, since they decide how the rest is read; then every other entry
is judged, read and given to its station, in order of time and id; then each station's room looks at
its own entries. What can't be read is set aside by name, never dropped in silence.
"""

from bisect import bisect_right, insort
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from itertools import islice
from operator import itemgetter
from typing import Any, NamedTuple, TypedDict

from fallowside.core import (
    bed,
    bucket,
    hive,
    jobs,
    larvaebin,
    materials,
    matters,
    pond,
    roster,
    sources,
    tally,
    written,
)
from fallowside.core import place as places
from fallowside.core.accounts import balance, circle
from fallowside.core.accounts.moves import Move
from fallowside.core.bucketshapes import Route
from fallowside.core.corrections import Amendments, amendments, first_of
from fallowside.core.entries import (
    Entry,
    Moment,
    Parted,
    Problem,
    examine,
    examine_all,
    moment,
    parted,
    spec,
)
from fallowside.core.fields import OBJECT
from fallowside.core.larvae import colony
from fallowside.core.lastlook import LastLook
from fallowside.core.place import Item, Place, Station
from fallowside.core.shapes import (
    Circle,
    ContainerPlan,
    FeedstockPlan,
    PersonPlan,
    PlacePlan,
    Plan,
    SetAside,
    StationPlan,
    Tally,
    blank,
    figure,
)
from fallowside.core.told import Told
from fallowside.core.water import pondday
from fallowside.core.worms import bedmemo

MODELS = "1"
"""Version of the models; it rises when the same log gives another plan."""


@dataclass(frozen=True, slots=True)
class _Room:
    """What looks at a kind of station, and what it may remember between two looks.

    `hourly` tells where a look may come out otherwise later on the same day, with no entry in between.
    """

    look: Callable[[Station, Sequence[Entry], Place, Moment, Any], StationPlan]
    memo: Callable[[], object]
    hourly: Callable[[Place], bool] = lambda place: False


def _forgetful(
    look: Callable[[Station, Sequence[Entry], Place, Moment], StationPlan],
    hourly: Callable[[Place], bool] = lambda place: False,
) -> _Room:
    return _Room(
        lambda station, entries, place, at, memo: look(station, entries, place, at), lambda: None, hourly
    )


_ROOMS: Mapping[str, _Room] = {
    "bed": _Room(bed.look, bedmemo.Memo),
    "bin": _Room(larvaebin.look, colony.Memo),
    # Fish lie in a bath for minutes.
    "pond": _forgetful(pond.look, pondday.is_open),
    "hive": _forgetful(hive.look),
}
_SAME_US = 10 * 60 * 1_000_000
"""Rations made no longer ago than this are still today's for the next bucket."""
_DECIDING = frozenset({"setup", "correction"})
_SHARED = frozenset({"round", "hand_over", "snooze"})
_EVERYDAY = frozenset(spec()["kinds"]) - _SHARED - {"solids", "given"}
"""Kinds that are of their own station and no other."""
_US = itemgetter(0)
_FOREVER_US = 1 << 62
_MONTH_DAYS = 30
_LAST_AMONG = 300
"""Among so many of a station's newest entries the last value of each field is looked for."""


def plan(entries: Iterable[Mapping[str, Any]], at: str) -> Plan:
    """Fold a log into a plan.

    Args:
        entries: Entries as JSON gave them, in any order, doubles welcome.
        at: The instant to plan for, RFC 3339 with offset; later entries are not seen.

    Returns:
        The plan, JSON-ready; see `shapes.Plan`.

    Raises:
        ValueError: `at` is not such a time.
    """
    return Fold(entries).plan(at)


def plan_json(entries: Iterable[Mapping[str, Any]], at: str) -> str:
    """Fold a log into a plan and write it as JSON, the same text on every host."""
    return Fold(entries).plan_json(at)


def read(entries: Iterable[Mapping[str, Any]], at: str) -> tuple[Sequence[Entry], Place]:
    """Give a log's effective entries up to an instant, corrected and in order, and the place they leave."""
    now = moment(at)
    log = _sift(entries, now)
    return _until(log.entries, now), log.place


class Fold:
    """A log kept read, so that one more entry costs little; what it plans is what `plan` would."""

    def __init__(self, entries: Iterable[Mapping[str, Any]] = ()) -> None:
        self._raws: dict[str, Mapping[str, Any]] = {}
        self._nameless: list[SetAside] = []
        self._taken = 0
        """How many of them the log has taken, in the order in which they came."""
        self._log: _Log | None = None
        self._memos: dict[str, tuple[LastLook, Any]] = {}
        self._written = written.Written()
        self._tally = tally.Memo()
        self._reminded, self._weighed = Told(), Told()
        self._made: tuple[Moment, list[StationPlan]] | None = None
        self._circles = circle.Kept(balance.Books(self._tally.books)), circle.Kept(self._tally.books)
        self._summed: _Summed | None = None
        self._place: tuple[Place, PlacePlan] | None = None
        self.add(entries)

    def add(self, entries: Iterable[Mapping[str, Any]]) -> None:
        """Take entries in, in any order; those already here change nothing."""
        raws = self._raws
        for raw in entries:
            if not isinstance(raw, OBJECT) or not isinstance(name := raw.get("id"), str):
                self._nameless = [{"id": "", "why": "bad_name", "field": "id"}]
                continue
            there = raws.setdefault(name, raw)
            if there is not raw and there != raw:
                raws[name] = first_of(there, raw)
                self._log = self._made = None

    def plan(self, at: str) -> Plan:
        """Plan for an instant; see `plan`. What it holds is not to be changed: the next plan shares it."""
        now = moment(at)
        log = self._read(now)
        stations = self._stations(log, now)
        self._made = now, stations
        seen = _until(log.entries, now)
        shared = _until(log.shared, now)
        made: Plan = {
            "at": at,
            "place": self._shown(log.place),
            "stations": stations,
            "reminders": matters.matters(
                stations,
                lambda name: _until(log.by_station.get(name, []), now),
                (one for one in shared if one.kind == "snooze"),
                now,
                self._reminded,
            ),
            "roster": roster.roster(log.place, stations, shared, now),
            **self._sums(log, seen, now),
            "limits": [limit for station in stations for limit in station["limits"]],
            "constants": {},
            "made_from": {
                "entries": len(self._raws),
                "newest": seen[-1].id if seen else None,
                "models": MODELS,
                "newer_kinds": bisect_right(log.newer_us, now.us),
                "set_aside": sorted(
                    self._nameless + log.aside, key=lambda one: (one["id"], one["why"], one["field"])
                ),
            },
        }
        made["constants"] = self._written.constants(made)
        return made

    def plan_json(self, at: str) -> str:
        """Plan for an instant and write it as JSON, the same text on every host."""
        return self._written.text(self.plan(at))

    def route(self, parts: Sequence[object], at: str, freezer_kg: float | None = None) -> Route:
        """Say where a bucket goes at an instant; see `bucket.route`.

        Rations of a plan made of the same log a little earlier are used again: its instant is told.

        Raises:
            ValueError: `at` is not a time such as in `plan`.
            BadBucket: a part of the bucket can't be used.
        """
        now = moment(at)
        log = self._read(now)
        if self._made is None or not 0 <= now.us - self._made[0].us <= _SAME_US:
            self._made = now, self._stations(log, now)
        then, stations = self._made

        def feeds(station: str) -> Sequence[Entry]:
            return _until(log.by_station.get(station, []), then)

        found = bucket.route(parts, log.place, stations, feeds, then, freezer_kg)
        found["constants"] = written.constants(written.names(found))
        return found

    def tally(self, since: str, until: str, at: str) -> Tally:
        """Tally the days from one to another, both included, by what is known at an instant.

        Raises:
            ValueError: not days such as 2026-03-01, the end before the start, or not an instant.
        """
        now = moment(at)
        first, last = date.fromisoformat(since).toordinal(), date.fromisoformat(until).toordinal()
        if first > last:
            raise ValueError(f"{since} lies after {until}")
        log = self._read(now)
        return tally.tally(_until(log.entries, now), log.place, first, last, self._tally)

    def _shown(self, place: Place) -> PlacePlan:
        if self._place is None or self._place[0] is not place:
            self._place = place, _place(place)
        return self._place[1]

    def _stations(self, log: "_Log", now: Moment) -> list[StationPlan]:
        made = [
            self._station(station, log, now)
            for station in log.place.stations.values()
            if not station.item.fields.get("retired")
        ]
        return pondday.settle(made, log.place, _until(log.entries, now))

    def _sums(self, log: "_Log", seen: Sequence[Entry], now: Moment) -> "_Sums":
        """Tally the year and draw the circles, anew only where something moved since the last time."""
        place, today = log.place, now.day
        posted = self._tally.book.moves(seen, place)
        hives = {
            name: self._weighings(station, _until(log.by_station.get(name, []), now), place)
            for name, station in place.stations.items()
            if station.type == "hive"
        }
        last = self._summed
        if last is None or not last.holds(place, today, posted, hives):
            year, month = tally.year_before(today), today - _MONTH_DAYS + 1
            sums: _Sums = {
                "tally": tally.tally(seen, place, year, today, self._tally),
                # The tally's year has its books open by now.
                "circles": [
                    circle.look(posted, place, day, today, kept, hives)
                    for day, kept in zip((month, year), self._circles, strict=True)
                ],
            }
            last = self._summed = _Summed(place, today, list(posted), hives, sums)
        return last.sums

    def _weighings(self, station: Station, entries: Sequence[Entry], place: Place) -> list[hive.Weighing]:
        on = [place, station, *entries]
        return self._weighed.of(station.id, on, lambda: hive.weighings(station, entries, place))

    def _read(self, now: Moment) -> "_Log":
        taken, self._taken = self._taken, len(self._raws)
        if taken < self._taken:
            self._made = None
        if self._log is not None and self._log.holds_at(now):
            fresh = list(islice(reversed(self._raws.values()), self._taken - taken))
            if not any(raw.get("kind") in _DECIDING for raw in fresh):
                self._log.take(parted(fresh))
                return self._log
        self._log = _sift(self._raws.values(), now)
        return self._log

    def _station(self, station: Station, log: "_Log", now: Moment) -> StationPlan:
        room = _ROOMS.get(station.type)
        if room is None:
            return blank(station.id, station.type, station.name, station.order)
        entries = _until(log.by_station.get(station.id, []), now)
        # Whoever passed it on a round and found nothing to note has seen it all the same.
        seen = max([*entries[-1:], *_until(log.passed.get(station.id, []), now)[-1:]], default=None)
        name = f"{station.type} {station.id}"
        if name not in self._memos:
            self._memos[name] = LastLook(), room.memo()
        last, memo = self._memos[name]
        at = now.us if room.hourly(log.place) else now.day
        if (kept := last.plan(station, entries, seen, log.place, at)) is not None:
            return kept
        made = room.look(station, entries, log.place, now, memo)
        made["jobs"] = jobs.ordered([*made["jobs"], jobs.look_in(station, seen, now)])
        if seen is not None:
            made["last_seen"] = {"at": seen.data["at"], "by": seen.by}
        made["last"] = last.values(entries[-_LAST_AMONG:])
        last.keep(made, station, entries, seen, log.place, at)
        return made


class _Sums(TypedDict):
    """What a plan says of everything that moved."""

    tally: Tally
    circles: list[Circle]


class _Summed(NamedTuple):
    """The last sums, and all that they stand on."""

    place: Place
    today: int
    posted: list[Move]
    hives: circle.Hives
    sums: _Sums

    def holds(self, place: Place, today: int, posted: Sequence[Move], hives: circle.Hives) -> bool:
        """Tell whether they would come out the same. Moves of one log are the very same objects."""
        same = self.place is place and self.today == today
        return same and self.posted == posted and self.hives == hives


# -- reading the log -----------------------------------------------------------------------------


class _Log:
    """A log as set-up and corrections up to an instant leave it; other entries whatever their time.

    `spell` is the time in which the same set-up and corrections hold, from and until. [microseconds]
    """

    def __init__(
        self,
        set_up: list[Entry],
        changes: Amendments,
        aside: list[SetAside],
        spell: tuple[int, int],
    ) -> None:
        self.place = places.fold(set_up)
        self.entries, self.changes, self.aside, self.spell = set_up, changes, aside, spell
        self.newer_us: list[int] = []
        self.by_station: dict[str, list[Entry]] = {}
        self.shared: list[Entry] = []
        """Entries that are of no station: rounds, hand-overs, what was put off."""
        self.passed: dict[str, list[Entry]] = {}
        """The rounds that passed a station."""
        self._known = self.place.known()
        ponds = (name for name, one in self.place.stations.items() if one.type == "pond")
        self._pond = next(ponds, "")

    def holds_at(self, now: Moment) -> bool:
        """Tell whether set-up and corrections are the same at another instant."""
        return self.spell[0] <= now.us < self.spell[1]

    def _feeds_pond(self, given: Entry) -> bool:
        """Tell whether another station's larvae went to the pond."""
        to_pond = given.data["to"] == "pond" and given.data["what"] == "larvae"
        return to_pond and self._pond not in ("", given.station)

    def take(self, fresh: Parted) -> None:
        """Judge, read and sort in entries that are neither set-up nor correction."""
        refused, known, touched = partial(_set_aside, self.aside), self._known, self.changes.touched
        mended: list[Mapping[str, Any]] = []
        if touched:
            mended = [raw for some in fresh.values() for raw in some if raw["id"] in touched]
            fresh = {key: [raw for raw in some if raw["id"] not in touched] for key, some in fresh.items()}
        took, doubtful = examine_all(fresh, known)
        took += _good(doubtful, partial(examine, known=known), refused)
        took += _good(mended, lambda raw: self.changes.examine(raw, refused, known), refused)
        took.sort()
        by_station: defaultdict[str, list[Entry]] = defaultdict(list)
        for entry in took:
            by_station[entry.station].append(entry)
        shared: list[Entry] = []
        for entry in [one for one in took if one.kind not in _EVERYDAY]:
            self._take_special(entry, by_station, shared)
        _merge(self.entries, took)
        _merge(self.shared, shared)
        for name, some in by_station.items():
            _merge(self.by_station.setdefault(name, []), some)

    def _take_special(
        self, entry: Entry, by_station: defaultdict[str, list[Entry]], shared: list[Entry]
    ) -> None:
        """Take an entry that is of more than its own station, or of none, or of a kind nobody knows."""
        if entry.kind in _SHARED:
            shared.append(entry)
            for station in entry.data.get("passed", ()):
                insort(self.passed.setdefault(station, []), entry)
        elif entry.kind == "solids":
            if self._known.stations.get(entry.data["to"]) == "bed":
                # A bed feels what a pond sends it.
                insort(by_station[entry.data["to"]], entry)
        elif entry.kind == "given":
            if self._feeds_pond(entry):
                insort(by_station[self._pond], entry)
        else:
            insort(self.newer_us, entry.us)


def _merge(there: list[Entry], took: list[Entry]) -> None:
    """Merge entries in order of time and id, which no two share, into such a list."""
    behind = not there or not took or there[-1] < took[0]
    there += took
    if not behind:
        there.sort()


def _sift(raws: Iterable[Mapping[str, Any]], now: Moment) -> _Log:
    """Read a log anew: first what decides how the rest is read, then the rest."""
    aside: list[SetAside] = []
    every = parted(raws)
    corrections, setups = (
        [raw for (kind, *_), some in every.items() if kind == deciding for raw in some]
        for deciding in ("correction", "setup")
    )
    refused = partial(_set_aside, aside)
    read_now = _good(corrections, examine, refused)
    changes = amendments(one.data for one in read_now if one.us <= now.us)
    set_up = _good(setups, lambda raw: changes.examine(raw, refused), refused)
    read_now += set_up
    spell = (
        max((one.us for one in read_now if one.us <= now.us), default=-_FOREVER_US),
        min((one.us for one in read_now if one.us > now.us), default=_FOREVER_US),
    )
    log = _Log(sorted(one for one in set_up if one.us <= now.us), changes, aside, spell)
    log.take({key: some for key, some in every.items() if key[0] not in _DECIDING})
    return log


def _good(
    raws: Iterable[Mapping[str, Any]],
    judge: Callable[[Mapping[str, Any]], Entry | Problem | None],
    refused: Callable[[str, Problem], None],
) -> list[Entry]:
    """Give the entries that are good and stand; name the others."""
    good: list[Entry] = []
    for raw in raws:
        found = judge(raw)
        if isinstance(found, Problem):
            refused(raw["id"], found)
        elif found is not None:
            good.append(found)
    return good


def _set_aside(aside: list[SetAside], name: str, found: Problem) -> None:
    aside.append({"id": name, "why": found.code, "field": found.field})


def _until(entries: Sequence[Entry], now: Moment) -> Sequence[Entry]:
    """Give those of the entries, sorted by time, that lie at or before an instant."""
    if not entries or entries[-1].us <= now.us:
        return entries
    return entries[: bisect_right(entries, now.us, key=_US)]


# -- parts of the plan ---------------------------------------------------------------------------


def _place(place: Place) -> PlacePlan:
    shipped = [
        _feedstock(one.name, None, one)
        for one in materials.all()
        if one.takes and one.name not in place.feedstocks
    ]
    own = [
        _feedstock(key, item.text("name", key), place.material(key))
        for key, item in sorted(place.feedstocks.items())
        if not item.fields.get("retired")
    ]
    return {
        "name": place.item.text("name"),
        "invented": bool(place.item.fields.get("invented")),
        "time_zone": place.item.text("time_zone") or None,
        "people": [_person(one) for _, one in sorted(place.people.items())],
        "containers": [
            _container(one) for _, one in sorted(place.containers.items()) if not one.fields.get("retired")
        ],
        "feedstocks": own + shipped,
    }


def _person(item: Item) -> PersonPlan:
    return {
        "id": item.id,
        "name": item.text("name", item.id),
        "role": item.text("role", "helper"),
        "last_day": item.text("last_day") or None,
        "remind_hour": _hour(item, "remind_hour", "remind.hour"),
        "quiet_from_hour": _hour(item, "quiet_from_hour", "remind.quiet_from"),
        "quiet_until_hour": _hour(item, "quiet_until_hour", "remind.quiet_until"),
    }


def _hour(item: Item, name: str, usual: str) -> int:
    chosen = item.number(name)
    return int(sources.value(usual) if chosen is None else chosen)


def _container(item: Item) -> ContainerPlan:
    litres, full_kg = item.si("volume"), item.si("full_mass")
    return {
        "id": item.id,
        "name": item.text("name", item.id),
        "litres": None if litres is None else figure(litres),
        "full_kg": None if full_kg is None else figure(full_kg),
    }


def _feedstock(name: str, shown: str | None, material: materials.Material) -> FeedstockPlan:
    return {
        "id": name,
        "name": shown,
        "stream": material.stream,
        "takes": sorted(material.takes),
        "shares": {kind: material.takes[kind] for kind in sorted(material.takes)},
        "moisture_pct": figure(material.moisture_pct),
        "kg_per_l": material.bulk_density_kg_per_l,
        "cautions": list(material.cautions),
    }
