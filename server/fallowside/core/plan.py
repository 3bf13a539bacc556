"""The fold: from a log and an instant to a plan. Pure; the order in which entries arrived is nothing.

First set-up and corrections are read, since they decide how the rest is read; then every other entry
is judged, read and given to its station, in order of time and id; then each station's room looks at
its own entries. What can't be read is set aside by name, never dropped in silence.
"""

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from operator import itemgetter
from typing import Any

from fallowside.core import bed, hive, jobs, larvaebin, materials, pond, sources, tally
from fallowside.core import place as places
from fallowside.core.entries import (
    Amendments,
    Entry,
    Moment,
    Problem,
    amendments,
    examine,
    moment,
    problem,
    read,
    spec,
    unique,
)
from fallowside.core.place import Item, Place, Station
from fallowside.core.shapes import (
    ConstantPlan,
    ContainerPlan,
    FeedstockPlan,
    MadeFrom,
    PersonPlan,
    PlacePlan,
    Plan,
    SetAside,
    StationPlan,
    blank,
    figure,
)

MODELS = "1"
"""Version of the models; it rises when the same log gives another plan."""

_ROOMS: Mapping[str, Callable[[Station, Sequence[Entry], Place, Moment], StationPlan]] = {
    "bed": bed.look,
    "bin": larvaebin.look,
    "pond": pond.look,
    "hive": hive.look,
}
_ORDER = itemgetter(0, 1)
_ENVELOPE = frozenset(
    {"id", "kind", "station", "side", "at", "noted_at", "by", "device", "note", "seq", "received_at"}
)


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
    now = moment(at)
    log = _sift(entries, now)
    stations = [
        _station(station, log.by_station.get(station.id, []), log.place, now)
        for station in log.place.stations.values()
        if not station.item.fields.get("retired")
    ]
    made: Plan = {
        "at": at,
        "place": _place(log.place),
        "stations": stations,
        "tally": tally.tally(log.entries, log.place, tally.year_before(now.day), now.day),
        "limits": [limit for station in stations for limit in station["limits"]],
        "constants": {},
        "made_from": log.made_from,
    }
    made["constants"] = _constants(made)
    return made


def plan_json(entries: Iterable[Mapping[str, Any]], at: str) -> str:
    """Fold a log into a plan and write it as JSON, the same text on every host."""
    return json.dumps(plan(entries, at), ensure_ascii=False, allow_nan=False, separators=(",", ":"))


# -- reading the log -----------------------------------------------------------------------------


class _Log:
    """A log as it stands at an instant: place, entries in order, and what was set aside."""

    def __init__(self, place: Place, entries: list[Entry], made_from: MadeFrom) -> None:
        self.place, self.entries, self.made_from = place, entries, made_from
        self.by_station: dict[str, list[Entry]] = {}
        for entry in entries:
            if entry.station:
                self.by_station.setdefault(entry.station, []).append(entry)


def _sift(entries: Iterable[Mapping[str, Any]], now: Moment) -> _Log:
    aside: list[SetAside] = []
    named = [raw for raw in entries if _has_name(raw, aside)]
    raws = unique(named)
    setups: list[Mapping[str, Any]] = []
    corrections: list[Mapping[str, Any]] = []
    others: list[Mapping[str, Any]] = []
    sorted_out = {"setup": setups, "correction": corrections}
    for raw in raws.values():
        kind = raw.get("kind")
        sorted_out.get(kind if isinstance(kind, str) else "", others).append(raw)

    changes = amendments(raw for raw in corrections if _good(raw, aside) and moment(raw["at"]).us <= now.us)
    standing = (_standing(raw, changes, aside) for raw in setups if _good(raw, aside))
    set_up = [entry for entry in standing if entry is not None and entry.us <= now.us]
    place = places.fold(set_up)

    known = place.known()
    kinds = spec()["kinds"]
    read_in: list[Entry] = set_up
    newer = 0
    for raw in others:
        changed = raw if raw["id"] not in changes.touched else changes.apply(raw)
        if changed is None:
            continue
        entry = examine(changed, known=known)
        if isinstance(entry, Problem):
            aside.append({"id": raw["id"], "why": entry.code, "field": entry.field})
        elif entry.us <= now.us:
            newer += entry.kind not in kinds
            read_in.append(entry)
    read_in.sort(key=_ORDER)
    made_from: MadeFrom = {
        "entries": len(raws),
        "newest": read_in[-1].id if read_in else None,
        "models": MODELS,
        "newer_kinds": newer,
        "set_aside": sorted(aside, key=lambda one: (one["id"], one["why"], one["field"])),
    }
    return _Log(place, read_in, made_from)


def _has_name(raw: object, aside: list[SetAside]) -> bool:
    if isinstance(raw, Mapping) and isinstance(raw.get("id"), str):
        return True
    aside.append({"id": "", "why": "bad_name", "field": "id"})
    return False


def _good(raw: Mapping[str, Any], aside: list[SetAside]) -> bool:
    found = problem(raw)
    if found is not None:
        aside.append({"id": raw["id"], "why": found.code, "field": found.field})
    return found is None


def _standing(raw: Mapping[str, Any], changes: Amendments, aside: list[SetAside]) -> Entry | None:
    changed = changes.apply(raw)
    if changed is None or (changed is not raw and not _good(changed, aside)):
        return None
    return read(changed)


# -- parts of the plan ---------------------------------------------------------------------------


def _station(station: Station, entries: Sequence[Entry], place: Place, now: Moment) -> StationPlan:
    room = _ROOMS.get(station.type)
    if room is None:
        return blank(station.id, station.type, station.name, station.order)
    made = room(station, entries, place, now)
    made["jobs"] = jobs.ordered([*made["jobs"], jobs.look_in(station, entries, now)])
    if entries:
        newest = entries[-1]
        made["last_seen"] = {"at": newest.data["at"], "by": newest.by}
    made["last"] = _last(entries)
    return made


def _last(entries: Sequence[Entry]) -> dict[str, object]:
    """Give the newest value of each field, as entered: `kind.field`, with the side where there is one."""
    last: dict[str, object] = {}
    for entry in entries:
        prefix = f"{entry.kind}.{entry.side}." if entry.side else f"{entry.kind}."
        for name, value in entry.data.items():
            if name not in _ENVELOPE and value is not None:
                last[prefix + name] = value
    return dict(sorted(last.items()))


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
    }


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
        "cautions": list(material.cautions),
    }


def _constants(made: Plan) -> dict[str, ConstantPlan]:
    """Collect every constant that a working of the plan names."""
    names: set[str] = set()
    waiting: list[object] = [made["stations"], made["tally"]]
    while waiting:
        one = waiting.pop()
        if isinstance(one, dict):
            for key, value in one.items():
                if key == "constants" and isinstance(value, list):
                    names.update(value)
                elif isinstance(value, dict | list):
                    waiting.append(value)
        elif isinstance(one, list):
            waiting.extend(item for item in one if isinstance(item, dict | list))
    return {name: _constant(name) for name in sorted(names)}


def _constant(name: str) -> ConstantPlan:
    found = sources.constant(name)
    return {
        "value": found.value,
        "unit": found.unit,
        "low": found.low,
        "high": found.high,
        "cite": found.cite,
        "where": found.where,
        "basis": found.basis,
        "confidence": found.confidence,
        "note": found.note,
    }
