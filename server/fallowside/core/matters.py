"""What to remind of: the few matters of a plan that a person would want to be told, each once.

A matter has an id that stays the same while the matter is the same. For a forecast it is the thing
itself (`trough:switch_sides:b`), so that a date that moves moves and does not double; for a routine
job also the day it was due, so that the next time is another matter; for a limit crossed its code. A job
that counts from nothing (a bed never fed, a hive not weighed before winter) is due on whatever day one
asks: it is one matter for as long as it is asked for.
What was done drops out by itself, since the plan no longer asks for it. What was put off (`snooze`
entries, the later one wins) stays in the list with the day it comes back; a danger can't be put off.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from functools import partial

from fallowside.core import sources
from fallowside.core.entries import Entry, Moment
from fallowside.core.shapes import Ahead, Job, Matter, StationPlan, Warning, iso
from fallowside.core.told import Told

_AHEAD = ("switch_sides", "harvest_castings")
"""Forecasts that are matters of their own; the jobs of that name and those below say the same."""
_LARVAE, _COUNTED_BY = "self_harvest", "count_larvae"
_LOOK = "look_in"
_ADVICE = "hold_prepupae"
"""Advice for a season, of no day: it stands at the station, and nobody is reminded."""
_NO_ROUTINE = frozenset({*_AHEAD, "scrape_in_passes", _COUNTED_BY, _ADVICE})
_FROM_NOTHING = frozenset({"feed", "feed_fish", "lay_bedding", "weigh_fifty", "weigh_hive"})
"""Jobs that, while they name no entry, are due on whatever day one asks."""
_ANY_DAY = "see_to_held"
"""Due every day for as long as it is asked for."""
_GRAVE = ("danger", "caution", "note")
_LAST_AMONG = 300
"""Among so many of a station's newest entries the one behind a warning is looked for."""
_GRACE_DAYS = int(sources.value("remind.grace"))


def matters(
    stations: Iterable[StationPlan],
    entries: Callable[[str], Sequence[Entry]],
    snoozes: Iterable[Entry],
    at: Moment,
    told: Told | None = None,
) -> list[Matter]:
    """Give what to remind of, what asks for somebody now first.

    Args:
        stations: Each station's part of the plan.
        entries: Gives a station's entries up to `at`, in order of time.
        snoozes: `snooze` entries up to `at`, in order of time and id.
        at: The instant of the plan.
        told: Kept from earlier plans of the same log: a station that stands as it stood has the same matters.
    """
    told = told or Told()
    put_off = {entry.data["matter"]: entry for entry in snoozes}
    made: dict[str, Matter] = {}
    for station in stations:
        noted = entries(station["id"])
        stands_on = at.day, station, list(noted)
        for one in told.of(station["id"], stands_on, partial(_of_station, station, noted, at)):
            made[one["id"]] = _put_off(one, put_off, at)
    # Whoever comes for anything else has looked in.
    busy = {one["station"] for one in made.values() if _brings_somebody(one)}
    kept = (one for one in made.values() if one["what"] != _LOOK or one["station"] not in busy)
    return sorted(kept, key=_rank)


def _brings_somebody(one: Matter) -> bool:
    """Tell whether somebody has to come for a matter now; one that may wait for ever brings nobody."""
    dated = one["due"] is not None or one["kind"] == "limit"
    return one["late"] and dated and one["put_off_until"] is None and one["what"] != _LOOK


def _rank(one: Matter) -> tuple[bool, bool, int, str, str]:
    """Rank what asks for somebody first, the gravest of it before the rest, then by day."""
    grave = _GRAVE.index(one["level"]) if one["late"] else 0
    return one["put_off_until"] is not None, not one["late"], grave, one["remind"], one["id"]


def _of_station(station: StationPlan, entries: Sequence[Entry], at: Moment) -> list[Matter]:
    return list(_matters(station, entries, at))


def _matters(station: StationPlan, entries: Sequence[Entry], at: Moment) -> Iterator[Matter]:
    yield from _crossed(station, entries[-_LAST_AMONG:], at)
    yield from (
        _forecast(station, one, at) for one in station["ahead"] if one["what"] in _AHEAD and one["due"]
    )
    yield from _larvae(station, at)
    for job in station["jobs"]:
        if job["what"] not in _NO_ROUTINE and (entries or job["what"] == _LOOK):
            undated = _has_no_day(job, entries, at)
            yield _undated(station, job, entries, at) if undated else _routine(station, job, at)


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


def _has_no_day(job: Job, entries: Sequence[Entry], at: Moment) -> bool:
    """Tell whether a job is due on whatever day one asks, since there is nothing it counts from."""
    if job["due"] != iso(at.day):
        return False
    if job["what"] == "take_temperature":
        return not any("temperature" in entry.data for entry in reversed(entries))
    return job["what"] == _ANY_DAY or (job["what"] in _FROM_NOTHING and not job["because"]["entries"])


def _undated(station: StationPlan, job: Job, entries: Sequence[Entry], at: Moment) -> Matter:
    """Remind of a job without a day of its own: counted from what it names, else from the station's start."""
    named = set(job["because"]["entries"])
    since = next((entry.day for entry in reversed(entries) if entry.id in named), entries[0].day)
    remind = since + _GRACE_DAYS
    made = _routine(station, job, at)
    return {
        **made,
        "id": f"{station['id']}:{job['what']}:{job['side'] or ''}",
        "remind": iso(remind),
        "due": None,
        "late": remind <= at.day,
    }


def _put_off(one: Matter, put_off: Mapping[str, Entry], at: Moment) -> Matter:
    entry = put_off.get(one["id"])
    if entry is None or one["level"] == "danger" or entry.data["until"] <= iso(at.day):
        return one
    return {**one, "put_off_until": entry.data["until"], "put_off_by": entry.by or None}


def _day(text: str) -> int:
    return date.fromisoformat(text[:10]).toordinal()
