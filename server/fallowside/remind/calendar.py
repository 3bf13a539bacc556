"""A person's calendar: what to remind them of and the rounds they walk, as RFC 5545 has it.

Each matter is one event whose UID comes from the matter's own id, so that a date that moves moves the
event and a matter that is done leaves the calendar. Events stand in the place's own time: their zone
is described with every change of the clock in it, so that eight o'clock stays eight o'clock.
"""

import hashlib
import uuid
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from icalendar import Alarm, Calendar, Event, Timezone, TimezoneDaylight, TimezoneStandard
from icalendar.prop import vDDDTypes, vDuration

from fallowside.core.shapes import Matter, PersonPlan, Plan
from fallowside.remind import clocks, wording

PRODUCT = "-//Fallowside//reminders//EN"
_LASTS = timedelta(minutes=15)
_FETCH_AGAIN = timedelta(hours=4)
_HORIZON_DAYS = 400
_ZONE_YEARS = 2


@dataclass(frozen=True, slots=True)
class Planned:
    """One event before it is written.

    Attributes:
        uid: Stays the same while the matter is the same.
        start: When; a plain day for something of the whole day.
        title: What it is, in a line.
        text: More of it.
        path: The screen of the app that shows it.
        alarm: Whether it rings.
    """

    uid: str
    start: datetime | date
    title: str
    text: str
    path: str
    alarm: bool

    @property
    def digest(self) -> str:
        """Give what changes when anything a person sees changes."""
        seen = "\n".join((self.start.isoformat(), self.title, self.text, self.path))
        return hashlib.sha256(seen.encode()).hexdigest()

    @property
    def start_us(self) -> int | None:
        """Give when it rings; None if it doesn't. [microseconds]"""
        return int(self.start.timestamp()) * 1_000_000 if isinstance(self.start, datetime) else None


@dataclass(frozen=True, slots=True)
class Revision:
    """How often an event has changed, and when it last did."""

    sequence: int
    changed_us: int


def in_time(
    events: Sequence[Planned], known: Mapping[str, int], person: PersonPlan, now: datetime
) -> list[Planned]:
    """Move what nobody can be reminded of any more to where it still rings, once.

    A calendar program rings for what is to come when it fetches. A matter that is first heard of after
    its hour, since a phone had no signal or a date came nearer at once, would never ring: it begins at the
    person's next hour. What was fetched before its hour has had its chance and stays where it was.

    Args:
        events: As planned.
        known: When events were last said to begin, by UID, each still to come then. [microseconds]
        person: Whose calendar it is.
        now: The instant, by the clock of the place.
    """
    return [_in_time(one, known.get(one.uid), person, now) for one in events]


def _in_time(one: Planned, known_us: int | None, person: PersonPlan, now: datetime) -> Planned:
    if not one.alarm or not isinstance(one.start, datetime) or one.start > now:
        return one
    if known_us is not None:
        return replace(one, start=datetime.fromtimestamp(known_us // 1_000_000, UTC).astimezone(now.tzinfo))
    hour, zone = clocks.told_at_hour(person), now.tzinfo or UTC
    days = (clocks.at_hour(now.date() + timedelta(days=ahead), hour, zone) for ahead in range(2))
    return replace(one, start=next(at for at in days if at > now))


def uid_of(log_name: str, matter: str) -> str:
    """Give the UID of a matter: a UUID made of its id, other in each log."""
    return str(uuid.uuid5(uuid.UUID(log_name), matter))


def planned(plan: Plan, person: PersonPlan, log_name: str, language: str = "en") -> list[Planned]:
    """Give the events of a person's calendar, in order of time.

    Args:
        plan: The plan of the place, as of now.
        person: Whose calendar it is.
        log_name: The log's own name, a UUID: events of another log are others.
        language: Of the words.
    """
    zone = clocks.zone_of(plan)
    last = (date.fromisoformat(plan["at"][:10]) + timedelta(days=_HORIZON_DAYS)).isoformat()
    events = [
        Planned(
            uid=uid_of(log_name, matter["id"]),
            start=_start(matter, person, zone),
            title=wording.title(matter, plan, language),
            text=wording.detail(matter, plan, language),
            path=f"#/station/{matter['station']}",
            alarm=True,
        )
        for matter in plan["reminders"]
        if matter["remind"] <= last
    ]
    events += _rounds(plan, person, log_name, language)
    return sorted(events, key=lambda one: (one.start.isoformat(), one.uid))


def _start(matter: Matter, person: PersonPlan, zone: tzinfo) -> datetime:
    """Say when somebody is reminded: at their hour of the day, or the first one after a reading."""
    hour = clocks.told_at_hour(person)
    day = date.fromisoformat(matter["put_off_until"] or matter["remind"])
    start = clocks.at_hour(day, hour, zone)
    since = matter["since"]
    if since and not matter["put_off_until"] and start < datetime.fromisoformat(since):
        start = clocks.at_hour(day + timedelta(days=1), hour, zone)
    return start


def _rounds(plan: Plan, person: PersonPlan, log_name: str, language: str) -> Iterator[Planned]:
    for one in plan["roster"]["days"]:
        if person["id"] in one["people"]:
            yield Planned(
                uid=uid_of(log_name, f"round {one['day']} {person['id']}"),
                start=date.fromisoformat(one["day"]),
                title=wording.say("remind.round", {}, language),
                text="",
                path="#/round",
                alarm=False,
            )


def written(
    plan: Plan,
    events: Sequence[Planned],
    revision: Callable[[Planned], Revision],
    base: str,
    language: str = "en",
) -> bytes:
    """Write a calendar.

    Args:
        plan: The plan of the place.
        events: What is in it.
        revision: Says how often an event has changed.
        base: The address of the app, for links into it.
        language: Of the words.
    """
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    name = wording.say("remind.calendar", {"place": plan["place"]["name"] or "Fallowside"}, language)
    calendar.add("name", name)
    calendar.add("x-wr-calname", name)
    calendar.add("refresh-interval", vDuration(_FETCH_AGAIN), parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", vDuration(_FETCH_AGAIN))
    zone = clocks.zone_of(plan)
    zone_name = getattr(zone, "key", None)
    if zone_name:
        calendar.add_component(zone_described(zone, zone_name, date.fromisoformat(plan["at"][:10]).year))
    for one in events:
        calendar.add_component(_event(one, revision(one), zone_name, base))
    return bytes(calendar.to_ical())


def _event(one: Planned, revision: Revision, zone_name: str | None, base: str) -> Event:
    event = Event()
    changed = datetime.fromtimestamp(revision.changed_us // 1_000_000, UTC)
    event.add("uid", one.uid)
    event.add("dtstamp", changed)
    event.add("last-modified", changed)
    event.add("sequence", revision.sequence)
    event.add("summary", one.title)
    if isinstance(one.start, datetime):
        _add_time(event, "dtstart", one.start, zone_name)
        _add_time(event, "dtend", one.start + _LASTS, zone_name)
    else:
        event.add("dtstart", one.start)
    if one.text:
        event.add("description", one.text)
    event.add("url", f"{base.rstrip('/')}/{one.path}")
    event.add("transp", "TRANSPARENT")
    event.add("class", "PRIVATE")
    if one.alarm:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", one.title)
        alarm.add("trigger", timedelta())
        event.add_component(alarm)
    return event


def _add_time(event: Event, name: str, at: datetime, zone_name: str | None) -> None:
    """Write a time in its zone, or in UTC where the place has none."""
    if zone_name is None:
        event.add(name, at.astimezone(UTC))
    else:
        event.add(name, vDDDTypes(at.replace(tzinfo=None)), parameters={"TZID": zone_name})


def zone_described(zone: tzinfo, name: str, year: int) -> Timezone:
    """Describe a zone with every change of its clock from last year's start to the end of the next two."""
    described = Timezone()
    described.add("tzid", name)
    since, until = date(year - 1, 1, 1), date(year + _ZONE_YEARS, 12, 31)
    begin = datetime.combine(since, time(), UTC).astimezone(zone)
    first = begin.utcoffset() or timedelta()
    _observance(described, begin, datetime.combine(since, time()), first, first)
    for at, before, after in clocks.changes(zone, since, until):
        _observance(described, at.astimezone(zone), (at + before).replace(tzinfo=None), before, after)
    return described


def _observance(
    described: Timezone, at: datetime, onset: datetime, before: timedelta, after: timedelta
) -> None:
    """Add an observance; its onset is written in the offset it ends, as RFC 5545, 3.6.5, asks."""
    part = TimezoneDaylight() if at.dst() else TimezoneStandard()
    part.add("dtstart", onset)
    part.add("tzoffsetfrom", before)
    part.add("tzoffsetto", after)
    if at.tzname():
        part.add("tzname", at.tzname())
    described.add_component(part)


def person_of(plan: Plan, person: str) -> PersonPlan | None:
    """Find somebody of the place who is here on the plan's day."""
    found: Mapping[str, PersonPlan] = {one["id"]: one for one in plan["place"]["people"]}
    who = found.get(person)
    if who is None or (who["last_day"] is not None and who["last_day"] < plan["at"][:10]):
        return None
    return who
