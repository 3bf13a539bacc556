"""The clock of a place: its days and hours, also across the change to and from daylight saving time."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import cache
from zoneinfo import ZoneInfo

from fallowside.core.shapes import PersonPlan, Plan

_STEP = timedelta(days=1)
_SECOND = timedelta(seconds=1)


def zone_of(plan: Plan) -> tzinfo:
    """Give the time zone of a place; where none is set, or none is called so, the newest entry's offset."""
    named = plan["place"]["time_zone"]
    found = _zone(named) if named else None
    if found is not None:
        return found
    seen = [datetime.fromisoformat(one["last_seen"]["at"]) for one in plan["stations"] if one["last_seen"]]
    return max(seen, default=datetime.fromisoformat(plan["at"])).tzinfo or UTC


def is_zone(name: str) -> bool:
    """Tell whether there is a time zone of this name.

    >>> is_zone("Europe/Lisbon"), is_zone("Middle/Nowhere"), is_zone("../secret")
    (True, False, False)
    """
    return _zone(name) is not None


@cache
def _zone(name: str) -> ZoneInfo | None:
    try:
        return ZoneInfo(name)
    except (KeyError, OSError, ValueError):  # unknown, a folder of names, a path that leads elsewhere
        return None


def now_at(plan: Plan, now_us: int) -> datetime:
    """Give an instant by the clock of the place."""
    return datetime.fromtimestamp(now_us / 1e6, UTC).astimezone(zone_of(plan))


def at_hour(day: date, hour: int, zone: tzinfo) -> datetime:
    """Give an hour of a day; one that a change of the clock leaves out is the first instant after it.

    >>> at_hour(date(2026, 3, 29), 1, ZoneInfo("Europe/Lisbon")).isoformat()
    '2026-03-29T02:00:00+01:00'
    """
    wanted = datetime.combine(day, time(hour), zone)
    # Going there and back through UTC moves an hour that isn't there to one that is.
    return wanted.astimezone(UTC).astimezone(zone)


def is_quiet(person: PersonPlan, hour: int) -> bool:
    """Tell whether an hour of the day is one of somebody's quiet ones; none are where both ends are one.

    The first quiet hour belongs to them, the last does not.
    """
    begins, ends = person["quiet_from_hour"], person["quiet_until_hour"]
    if begins <= ends:
        return begins <= hour < ends
    return hour >= begins or hour < ends


def told_at_hour(person: PersonPlan) -> int:
    """Give the hour at which somebody is reminded: as they chose, or when their quiet hours end."""
    hour = person["remind_hour"]
    return person["quiet_until_hour"] if is_quiet(person, hour) else hour


def changes(zone: tzinfo, since: date, until: date) -> Iterator[tuple[datetime, timedelta, timedelta]]:
    """Give each change of a zone's offset between two days: the instant, and the offsets before and after."""
    at = datetime.combine(since, time(), UTC)
    end = datetime.combine(until, time(), UTC)
    while at < end:
        before, after = _offset(zone, at), _offset(zone, at + _STEP)
        if before != after:
            low, high = at, at + _STEP
            while high - low > _SECOND:
                middle = low + (high - low) // 2
                low, high = (middle, high) if _offset(zone, middle) == before else (low, middle)
            yield high.replace(microsecond=0), before, after
        at += _STEP


def _offset(zone: tzinfo, at: datetime) -> timedelta:
    return at.astimezone(zone).utcoffset() or timedelta()
