"""Jobs that every kind of station shares, and the order in which jobs are shown."""

from collections.abc import Iterable

from fallowside.core import sources
from fallowside.core.entries import Entry, Moment
from fallowside.core.place import Station
from fallowside.core.shapes import Job, because, iso


def look_in(station: Station, seen: Entry | None, at: Moment) -> Job:
    """Say when somebody should next look at a station: so many days after it was last `seen`.

    Never seen: due on the day it was set up here, however long it had been going by then; today if that is
    still to come.
    """
    name = f"jobs.look_{station.type}"
    days = int(sources.value(name))
    due = min(station.named_day, at.day) if seen is None else seen.day + days
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
        "because": because(key, [] if seen is None else [seen.id], [name], days=days),
        "cautions": [],
    }


def ordered(jobs: Iterable[Job]) -> list[Job]:
    """Sort jobs: late ones first, then by due day, then by id."""
    return sorted(jobs, key=lambda job: (not job["late"], job["due"], job["id"]))
