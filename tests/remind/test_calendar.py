"""The feed as another library reads it: vobject parses what icalendar wrote; dateutil reads the zones.

Rules of the form: RFC 5545 (iCalendar), sections 3.6.1 VEVENT, 3.6.5 VTIMEZONE, 3.6.6 VALARM.
"""

import io
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import vobject
from dateutil.tz import tzical

from fallowside.core.shapes import Plan
from fallowside.remind import calendar
from fallowside.remind.calendar import Planned, Revision
from tests.logs import entry
from tests.remind.places import DAY, LOG, ZONE, log, person, planned, who

AT = "2026-03-20T09:00:00+00:00"
BASE = "https://garden.example/"


def events(made: Plan, name: str = "ana") -> list[Planned]:
    return calendar.planned(made, who(made, name), LOG)


def feed(made: Plan, name: str = "ana", sequence: int = 0) -> bytes:
    return calendar.written(
        made, events(made, name), lambda _: Revision(sequence, 1_770_000_000_000_000), BASE
    )


def read(content: bytes) -> Any:
    return vobject.readOne(content.decode())


def by_title(content: bytes) -> dict[str, Any]:
    return {event.summary.value: event for event in read(content).vevent_list}


def test_another_library_reads_every_event_with_what_the_form_asks_for() -> None:
    made = planned(log(), AT)
    found = read(feed(made))
    assert (found.version.value, found.method.value) == ("2.0", "PUBLISH")
    assert found.validate(raiseException=True)
    assert len(found.vevent_list) == len(events(made)) > 5
    assert len({event.uid.value for event in found.vevent_list}) == len(found.vevent_list)
    for event in found.vevent_list:
        assert event.dtstamp.value.tzinfo is not None
        assert event.sequence.value == "0"
        assert event.url.value.startswith(f"{BASE}#/")
        assert event.dtend.value - event.dtstart.value == timedelta(minutes=15)
        assert event.valarm.action.value == "DISPLAY"
        assert event.valarm.trigger.value == timedelta()


def test_lines_are_folded_and_end_as_the_form_says() -> None:
    """RFC 5545, 3.1: lines end in CRLF and hold at most 75 octets."""
    content = feed(planned([*log(), person(name="ana", minutes=2, name_="Ana")], AT))
    assert content.endswith(b"\r\n")
    assert b"\n" not in content.replace(b"\r\n", b"")
    assert max(map(len, content.split(b"\r\n"))) <= 75


def test_eight_o_clock_stays_eight_o_clock_across_the_change_of_the_clock() -> None:
    """Portugal changes its clock on 29 March and 25 October 2026 at 01:00 UTC (Directive 2000/84/EC)."""
    starts: dict[date, datetime] = {}
    for day in (28, 29, 30):
        put_off = entry("snooze", 20 * DAY, matter="hive:look_in::2026-03-16", until=f"2026-03-{day}")
        found = by_title(feed(planned([*log(), put_off], "2026-03-21T09:00:00+00:00")))
        start = found["Hive: Look in"].dtstart.value
        starts[start.date()] = start
        assert (start.hour, start.minute) == (8, 0)
    utc = {day.day: start.astimezone(UTC).hour for day, start in starts.items()}
    assert utc == {28: 8, 29: 7, 30: 7}


@pytest.mark.parametrize(
    "name",
    [ZONE, "Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Africa/Johannesburg", "Asia/Kolkata"],
)
def test_a_zone_as_described_is_that_zone_at_every_hour(name: str) -> None:
    """The description, read by dateutil, against the zone itself; three years, hour by hour near changes."""
    described = calendar.zone_described(ZoneInfo(name), name, 2026).to_ical().decode()
    body = f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//\r\n{described}END:VCALENDAR\r\n"
    read_back = tzical(io.StringIO(body)).get(name)
    zone = ZoneInfo(name)
    for hour in range(0, 3 * 365 * 24, 7):
        at = datetime(2025, 1, 2, tzinfo=UTC) + timedelta(hours=hour)
        local = at.astimezone(zone)
        if local.fold or not _exists(local):
            continue  # dateutil knows no second reading of an hour that comes twice
        naive = local.replace(tzinfo=None)
        assert naive.replace(tzinfo=read_back).utcoffset() == local.utcoffset(), local


def _exists(local: datetime) -> bool:
    """Tell whether an hour comes once only: its two readings are one."""
    return local.replace(fold=0).utcoffset() == local.replace(fold=1).utcoffset()


def test_the_onset_of_summer_time_is_written_in_winter_time() -> None:
    """RFC 5545, 3.6.5: DTSTART of an observance is the onset, in the offset that ends there."""
    described = calendar.zone_described(ZoneInfo(ZONE), ZONE, 2026).to_ical().decode()
    assert "BEGIN:DAYLIGHT\r\nDTSTART:20260329T010000\r\n" in described
    assert "BEGIN:STANDARD\r\nDTSTART:20261025T020000\r\n" in described


def test_a_place_that_set_no_zone_has_its_events_in_utc() -> None:
    content = feed(planned(log(zone=None), "2026-03-20T09:00:00+02:00"))
    assert b"VTIMEZONE" not in content
    start = by_title(content)["Hive: Look in"].dtstart.value
    assert start.astimezone(UTC) == datetime(2026, 3, 17, 6, 0, tzinfo=UTC)


def test_a_zone_nobody_knows_is_as_none() -> None:
    assert b"VTIMEZONE" not in feed(planned(log(zone="Middle/Nowhere"), AT))


def test_a_date_that_moves_moves_its_event_and_makes_no_other() -> None:
    early, late = planned(log(), AT), planned(log(), "2026-04-08T09:00:00+01:00")
    uid = calendar.uid_of(LOG, "bed:switch_sides:b")
    starts = [[one.start for one in events(made) if one.uid == uid] for made in (early, late)]
    assert [len(some) for some in starts] == [1, 1]
    assert starts[0] != starts[1]


def test_what_is_done_leaves_the_calendar() -> None:
    matter = calendar.uid_of(LOG, "hive:look_in::2026-03-16")
    assert matter in {one.uid for one in events(planned(log(), AT))}
    done = entry("signs", 18 * DAY, station="hive", signs=["all_well"])
    assert matter not in {one.uid for one in events(planned([*log(), done], AT))}


def test_a_reading_after_the_hour_of_reminders_rings_on_the_next_morning() -> None:
    hot = {"value": 36, "unit": "degC"}
    for minutes, day in ((18 * DAY + 8 * 60, 20), (18 * DAY - 2 * 60, 19)):
        reading = entry("reading", minutes, station="bed", side="a", temperature=hot)
        made = planned([*log(), reading], AT)
        uid = calendar.uid_of(LOG, "bed:limit:deadly_heat:a")
        start = next(one.start for one in events(made) if one.uid == uid)
        assert isinstance(start, datetime)
        assert (start.day, start.hour) == (day, 8)


def test_nobody_is_reminded_in_their_quiet_hours() -> None:
    quiet = person(remind_hour=5, quiet_from_hour=22, quiet_until_hour=7)
    found = [one.start for one in events(planned([*log(), quiet], AT)) if one.alarm]
    assert {one.hour for one in found if isinstance(one, datetime)} == {7}


def test_whoever_walks_finds_their_rounds_and_no_alarm_for_them() -> None:
    walks = person("kit", walks=["sun"])
    found = read(feed(planned([*log(), walks], AT), "kit")).vevent_list
    rounds = [event for event in found if event.summary.value == "Your round"]
    assert [event.dtstart.value for event in rounds] == [date(2026, 3, 22)]
    assert not hasattr(rounds[0], "valarm")
    assert not [one for one in events(planned([*log(), walks], AT)) if not one.alarm]


def test_what_people_typed_can_not_break_out_of_its_line() -> None:
    named = entry("setup", 2, what="station", item="hive", set={"name": "Hive;\nEND:VEVENT,\\n"})
    content = feed(planned([*log(), named], AT))
    assert b"\r\nEND:VEVENT,\\" not in content
    assert any("END:VEVENT" in event.summary.value for event in read(content).vevent_list)
