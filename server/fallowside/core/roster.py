"""Who walks the round: the week by the roster, hand-overs, and what the last rounds left for the next."""

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from fallowside.core import sources
from fallowside.core.entries import DAY_US, Entry, Moment
from fallowside.core.place import Item, Place
from fallowside.core.shapes import LeftStation, Roster, RosterDay, StationPlan, iso

WEEK = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_LOOK_SHARE = sources.value("remind.look_share")
_CARRIED_DAYS = int(sources.value("remind.carried"))


def roster(place: Place, stations: Sequence[StationPlan], shared: Sequence[Entry], at: Moment) -> Roster:
    """Say who walks in the seven days from today, and which stations wait for a round.

    A station waits today until somebody notes something there or passes it on a round. It is carried
    over if an earlier round did not pass it and half the time to its next look has gone (a hive is not
    left out of a round that never meant to go there), or if a day somebody was to walk went by while
    its look was due; and nobody has been there since.

    Args:
        place: The place as set up.
        stations: Each station's part of the plan, in walking order.
        shared: Entries of the place rather than of a station, up to `at`, in order of time and id.
        at: The instant of the plan.
    """
    lately = shared[bisect_left(shared, at.us - (_CARRIED_DAYS + 1) * DAY_US, key=lambda one: one.us) :]
    handed = _handed(lately, place)
    rounds = [one for one in lately if one.kind == "round" and one.day <= at.day]
    days = [_walkers(place, handed, at.day + ahead) for ahead in range(len(WEEK))]
    walked = [one for one in _rostered(place, handed, at) if one < at.day]
    waiting = [_waiting(one, rounds, walked, at) for one in stations]
    left = [one for one in waiting if one is not None]
    return {
        "days": days,
        "seen": [one["id"] for one, waits in zip(stations, waiting, strict=True) if waits is None],
        "left": left,
        "next": _next(place, days),
    }


def _walkers(place: Place, handed: Mapping[int, str], day: int) -> RosterDay:
    present = list(_present(place, day))
    # Handed to somebody who has left by then, the round stays whose it was: else nobody is reminded.
    if any(one.id == handed.get(day) for one in present):
        return {"day": iso(day), "people": [handed[day]], "handed_over": True}
    weekday = WEEK[(day - 1) % len(WEEK)]  # day 1, 0001-01-01, was a Monday
    people = [
        one.id for one in present if isinstance(walks := one.fields.get("walks"), list) and weekday in walks
    ]
    return {"day": iso(day), "people": people, "handed_over": False}


def _present(place: Place, day: int) -> Iterator[Item]:
    """Give the people of the place on a day, by their id."""
    for _, one in sorted(place.people.items()):
        last = one.text("last_day")
        if not last or last >= iso(day):
            yield one


def _handed(lately: Sequence[Entry], place: Place) -> dict[int, str]:
    """Say to whom the round of a day was handed; the last word counts."""
    return {
        date.fromisoformat(entry.data["day"]).toordinal() if entry.data.get("day") else entry.day: entry.data[
            "person"
        ]
        for entry in lately
        if entry.kind == "hand_over" and entry.data["person"] in place.people
    }


def _rostered(place: Place, handed: Mapping[int, str], at: Moment) -> Iterator[int]:
    for day in range(at.day - _CARRIED_DAYS, at.day):
        if _walkers(place, handed, day)["people"]:
            yield day


def _waiting(
    station: StationPlan, rounds: Sequence[Entry], walked: Sequence[int], at: Moment
) -> LeftStation | None:
    """Say that a station waits, and since which round; None if somebody has been there today."""
    last = station["last_seen"]
    seen = date.fromisoformat(last["at"][:10]).toordinal() if last else 0
    if seen >= at.day:
        return None
    look = next((job["due"] for job in station["jobs"] if job["what"] == "look_in"), None)
    due = at.day if look is None else date.fromisoformat(look).toordinal()
    wanted = at.day - seen >= _LOOK_SHARE * (due - seen)
    missed = [one.day for one in rounds if wanted and seen < one.day < at.day]
    missed += [day for day in walked if seen < day and due <= day]
    return {"station": station["id"], "carried_since": iso(min(missed)) if missed else None}


def _next(place: Place, days: Sequence[RosterDay]) -> str | None:
    """Name whom to hand over to: who walks next by the roster, else a helper who is here."""
    now = days[0]["people"]
    rostered = [person for one in days[1:] for person in one["people"] if person not in now]
    today = date.fromisoformat(days[0]["day"]).toordinal()
    here = [one.id for one in _present(place, today) if one.id not in now and one.text("role") != "host"]
    return next(iter([*(one for one in rostered if place.people.get(one)), *here]), None)
