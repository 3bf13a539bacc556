"""What to remind of: the few matters of a plan that a person would want to be told, each once.

A matter has an id that stays the same while the matter is the same. For a forecast it is the thing
itself (`trough:switch_sides:b`), so that a date that moves moves and does not double; for a routine
job also the day it was due, so that the next time is another matter; for a limit crossed its code.
What was done drops out by itself, since the plan no longer asks for it. What was put off (`snooze`
entries, the later one wins) stays in the list with the day it comes back; a danger can't be put off.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date

from fallowside.core import sources
from fallowside.core.entries import Entry, Moment
from fallowside.core.shapes import Ahead, Job, Matter, StationPlan, Warning, iso

_AHEAD = ("switch_sides", "harvest_castings")
"""Forecasts that are matters of their own; the jobs of that name and those below say the same."""
_LARVAE, _COUNTED_BY = "self_harvest", "count_larvae"
_SAID_AHEAD = frozenset({*_AHEAD, "scrape_in_passes", _COUNTED_BY})
_LOOK = "look_in"
_GRAVE = ("danger", "caution", "note")
_LAST_AMONG = 300
"""Among so many of a station's newest entries the one behind a warning is looked for."""
_GRACE_DAYS = int(sources.value("remind.grace"))


def matters(
    stations: Iterable[StationPlan],
    entries: Callable[[str], Sequence[Entry]],
    snoozes: Iterable[Entry],
    at: Moment,
) -> list[Matter]:
    """Give what to remind of, what asks for somebody now first.

    Args:
        stations: Each station's part of the plan.
        entries: Gives a station's entries up to `at`, in order of time.
        snoozes: `snooze` entries up to `at`, in order of time and id.
        at: The instant of the plan.
    """
    put_off = {entry.data["matter"]: entry for entry in snoozes}
    made = {
        one["id"]: _put_off(one, put_off, at)
        for station in stations
        for one in _of_station(station, entries(station["id"]), at)
    }
    return sorted(made.values(), key=_rank)


def _rank(one: Matter) -> tuple[bool, bool, int, str, str]:
    """Rank what asks for somebody first, the gravest of it before the rest, then by day."""
    grave = _GRAVE.index(one["level"]) if one["late"] else 0
    return one["put_off_until"] is not None, not one["late"], grave, one["remind"], one["id"]


def _of_station(station: StationPlan, entries: Sequence[Entry], at: Moment) -> Iterator[Matter]:
    found = [
        *_crossed(station, entries[-_LAST_AMONG:], at),
        *(_forecast(station, one, at) for one in station["ahead"] if one["what"] in _AHEAD and one["due"]),
        *_larvae(station, at),
        *(
            _routine(station, job, at)
            for job in station["jobs"]
            if job["what"] not in _SAID_AHEAD and not _floats(job, at)
        ),
    ]
    # Whoever comes for anything else has looked in.
    busy = any(one["late"] and one["what"] != _LOOK for one in found)
    return (one for one in found if not (busy and one["what"] == _LOOK))


def _crossed(station: StationPlan, entries: Sequence[Entry], at: Moment) -> Iterator[Matter]:
    """Remind of limits that are crossed, and of whatever is dangerous; notes are for those who look."""
    limits = {limit["code"] for limit in station["limits"]}
    for warning in station["warnings"]:
        if warning["level"] == "danger" or (warning["level"] == "caution" and warning["code"] in limits):
            yield _limit(station, warning, entries, at)


def _limit(station: StationPlan, warning: Warning, entries: Sequence[Entry], at: Moment) -> Matter:
    named = set(warning["because"]["entries"])
    told = next((entry for entry in reversed(entries) if entry.id in named), None)
    day = told.day if told else _day(station["last_seen"]["at"]) if station["last_seen"] else at.day
    return {
        "id": f"{station['id']}:limit:{warning['code']}:{warning['side'] or ''}",
        "kind": "limit",
        "what": warning["code"],
        "station": station["id"],
        "side": warning["side"],
        "level": warning["level"],
        "remind": iso(min(day, at.day)),
        "since": told.data["at"] if told else None,
        "due": None,
        "earliest": None,
        "latest": None,
        "late": True,
        "put_off_until": None,
        "put_off_by": None,
        "because": warning["because"],
    }


def _forecast(station: StationPlan, one: Ahead, at: Moment) -> Matter:
    due = one["due"] or iso(at.day)
    return {
        "id": f"{station['id']}:{one['what']}:{one['side'] or ''}",
        "kind": "forecast",
        "what": one["what"],
        "station": station["id"],
        "side": one["side"],
        "level": "note",
        "remind": due,
        "since": None,
        "due": one["due"],
        "earliest": one["earliest"],
        "latest": one["latest"],
        "late": due <= iso(at.day),
        "put_off_until": None,
        "put_off_by": None,
        "because": one["because"],
    }


def _larvae(station: StationPlan, at: Moment) -> Iterator[Matter]:
    """Remind of larvae: before the first catch when they are expected, later when nobody has counted."""
    ahead = next((one for one in station["ahead"] if one["what"] == _LARVAE and one["due"]), None)
    job = next((one for one in station["jobs"] if one["what"] == _COUNTED_BY), None)
    if job is not None and job["because"]["entries"]:
        made = _routine(station, job, at)
        if ahead is not None:
            made["earliest"], made["latest"] = ahead["earliest"], ahead["latest"]
        yield {**made, "what": _LARVAE}
    elif ahead is not None:
        yield _forecast(station, ahead, at)


def _routine(station: StationPlan, job: Job, at: Moment) -> Matter:
    remind = iso(_day(job["due"]) + _GRACE_DAYS)
    return {
        "id": f"{station['id']}:{job['what']}:{job['side'] or ''}:{job['due']}",
        "kind": "routine",
        "what": job["what"],
        "station": station["id"],
        "side": job["side"],
        "level": "note",
        "remind": remind,
        "since": None,
        "due": job["due"],
        "earliest": job["earliest"],
        "latest": job["latest"],
        "late": remind <= iso(at.day),
        "put_off_until": None,
        "put_off_by": None,
        "because": job["because"],
    }


def _floats(job: Job, at: Moment) -> bool:
    """Tell whether a job counts from nothing and so is due on whatever day one asks: never overdue."""
    return job["due"] == iso(at.day) and not job["because"]["entries"]


def _put_off(one: Matter, put_off: Mapping[str, Entry], at: Moment) -> Matter:
    entry = put_off.get(one["id"])
    if entry is None or one["level"] == "danger" or entry.data["until"] <= iso(at.day):
        return one
    return {**one, "put_off_until": entry.data["until"], "put_off_by": entry.by or None}


def _day(text: str) -> int:
    return date.fromisoformat(text[:10]).toordinal()
