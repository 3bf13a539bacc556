"""Jobs that every kind of station shares, and the order in which jobs are shown."""

from collections.abc import Iterable, Sequence

from fallowside.core import sources
from fallowside.core.entries import Entry, Moment
from fallowside.core.place import Station
from fallowside.core.shapes import Job, because, iso


def look_in(station: Station, entries: Sequence[Entry], at: Moment) -> Job:
    """Say when somebody should next look at a station: so many days after the last entry there.

    Never seen: due on the day it was set up, or today if that is still to come.
    """
    name = f"jobs.look_{station.type}"
    days = int(sources.value(name))
    seen = entries[-1].day if entries else None
    due = min(station.since_day, at.day) if seen is None else seen + days
    key = "job.look_in.never" if seen is None else "job.look_in.because"
    return {
        "id": f"{station.id}:look_in",
        "what": "look_in",
        "station": station.id,
        "side": None,
        "due": iso(due),
        "earliest": None,
        "latest": None,
        "late": at.day > due,
        "because": because(key, [entries[-1].id] if entries else [], [name], days=days),
        "cautions": [],
    }


def ordered(jobs: Iterable[Job]) -> list[Job]:
    """Sort jobs: late ones first, then by due day, then by id."""
    return sorted(jobs, key=lambda job: (not job["late"], job["due"], job["id"]))
