"""The secret address of a calendar: shown once, kept as a hash, ended at once, and nobody else's to make."""

from datetime import UTC, datetime
from typing import Any

import pytest
import vobject
from starlette.testclient import TestClient

from fallowside.api import here
from fallowside.exchange import folded
from fallowside.remind import calendar
from fallowside.store import log
from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.access.conftest import Clock, Phones, clock, database, phone, set_person, stranger
from tests.logs import entry
from tests.stores import MINUTE_US, NOW_US, send

__all__ = ["clock", "database", "phone", "stranger"]


def made(client: TestClient, **wanted: str) -> str:
    answer = client.post("/api/calendars", json=wanted)
    assert answer.status_code == 200, answer.text
    return str(answer.json()["address"])


def events(client: TestClient, address: str) -> dict[str, Any]:
    answer = client.get(address)
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    assert answer.headers["cache-control"] == "no-store"
    return {event.uid.value: event for event in vobject.readOne(answer.text).vevent_list}


def test_a_calendar_program_needs_nothing_but_the_address(stranger: TestClient, phone: Phones) -> None:
    assert len(events(stranger, made(phone("kit")))) > 0


def test_only_the_hash_of_an_address_is_kept(stranger: TestClient, phone: Phones, database: Database) -> None:
    secret = made(phone("kit")).rsplit("/", 1)[1].removesuffix(".ics")
    assert len(secret) == 43
    with database.read() as hand:
        rows = hand.rows("SELECT * FROM calendar_address")
    assert rows
    assert secret not in str(rows)


def test_an_ended_address_is_dead_at_once(stranger: TestClient, phone: Phones) -> None:
    kit = phone("kit")
    address = made(kit)
    assert kit.post("/api/calendars/end", json={}).status_code == 200
    assert stranger.get(address).status_code == 404
    assert kit.post("/api/calendars/end", json={}).status_code == 404


def test_a_new_address_ends_the_one_before(stranger: TestClient, phone: Phones) -> None:
    kit = phone("kit")
    old, new = made(kit), made(kit)
    assert stranger.get(old).status_code == 404
    assert stranger.get(new).status_code == 200


@pytest.mark.parametrize("secret", ["x" * 43, "", "..", "%00"])
def test_a_guessed_address_says_nothing(stranger: TestClient, phone: Phones, secret: str) -> None:
    made(phone("kit"))
    assert stranger.get(f"/api/calendar/{secret}.ics").status_code == 404


def test_a_calendar_ends_with_the_stay(stranger: TestClient, phone: Phones, database: Database) -> None:
    address = made(phone("kit"))
    send(Intake(database), [set_person("kit", 950, last_day="2026-06-01")])
    assert stranger.get(address).status_code == 404


def test_a_helper_makes_only_their_own_and_a_host_anybodys(stranger: TestClient, phone: Phones) -> None:
    kit, ana = phone("kit"), phone("ana")
    refused = kit.post("/api/calendars", json={"person": "ana"})
    assert (refused.status_code, refused.json()["code"]) == (403, "host_only")
    assert kit.post("/api/calendars/end", json={"person": "ana"}).status_code == 403
    assert ana.post("/api/calendars", json={"person": "nobody"}).status_code == 404
    made(ana, person="kit")
    made(ana)
    assert [one["person"] for one in ana.get("/api/calendars").json()["calendars"]] == ["ana", "kit"]
    assert [one["person"] for one in kit.get("/api/calendars").json()["calendars"]] == ["kit"]


def test_a_fetch_is_noted_for_whoever_asks_if_it_works(stranger: TestClient, phone: Phones) -> None:
    kit = phone("kit")
    address = made(kit)
    assert kit.get("/api/calendars").json()["calendars"][0]["fetched_at"] is None
    events(stranger, address)
    assert kit.get("/api/calendars").json()["calendars"][0]["fetched_at"]


def test_the_sequence_rises_when_an_event_changes_and_only_then(
    stranger: TestClient, phone: Phones, database: Database, clock: Clock
) -> None:
    """RFC 5545, 3.8.7.4: SEQUENCE counts the revisions; 3.8.7.2: DTSTAMP of a feed is the last revision."""
    address = made(phone("ana"))
    first = events(stranger, address)
    clock.us += 60 * MINUTE_US
    again = events(stranger, address)
    assert {uid: one.sequence.value for uid, one in again.items()} == dict.fromkeys(first, "0")
    assert [one.dtstamp.value for one in again.values()] == [one.dtstamp.value for one in first.values()]

    matter = next(one for one in phone("ana").get("/api/plan").json()["reminders"] if one["level"] == "note")
    put_off = entry("snooze", 90 * 24 * 60, matter=matter["id"], until="2026-09-01")
    send(Intake(database), [put_off], now_us=clock())
    moved = events(stranger, address)
    assert moved.keys() == first.keys()
    changed = {uid for uid, one in moved.items() if one.sequence.value == "1"}
    assert len(changed) == 1
    (uid,) = changed
    assert moved[uid].dtstart.value.date().isoformat() == "2026-09-01"
    assert moved[uid].dtstamp.value > first[uid].dtstamp.value


def test_what_is_first_heard_of_after_its_hour_still_rings_and_only_once(
    stranger: TestClient, phone: Phones, database: Database, clock: Clock
) -> None:
    """A program rings for an alarm that is still to come when it fetches (RFC 5545, 3.6.6)."""
    address = made(phone("ana"))
    late = {one["id"] for one in phone("ana").get("/api/plan").json()["reminders"] if one["late"]}
    assert late

    def starts() -> dict[str, datetime]:
        found = events(stranger, address).items()
        return {uid: one.dtstart.value for uid, one in found if hasattr(one, "valarm")}

    first = starts()
    assert min(first.values()) > at(clock)
    clock.us += 60 * MINUTE_US
    assert starts() == first
    clock.us += 24 * 60 * MINUTE_US
    again = starts()
    rung = {uid for uid, start in first.items() if start <= at(clock)}
    assert len(rung) >= len(late)
    assert {uid: again[uid] for uid in rung & again.keys()} == {
        uid: first[uid] for uid in rung & again.keys()
    }


def test_what_was_done_and_comes_up_again_rings_again(
    stranger: TestClient, phone: Phones, database: Database, clock: Clock
) -> None:
    address = made(phone("ana"))
    reading = entry("reading", 1, station="bed", side="a", temperature={"value": 36, "unit": "degC"})
    hot = {**reading, "at": at(clock).isoformat()}
    send(Intake(database), [hot], now_us=clock())
    limit = calendar.uid_of(log_name(database), "bed:limit:deadly_heat:a")
    first = events(stranger, address)[limit].dtstart.value
    clock.us += 24 * 60 * MINUTE_US
    assert events(stranger, address)[limit].dtstart.value == first
    cool = {**hot, "id": "cool", "at": at(clock).isoformat(), "temperature": {"value": 20, "unit": "degC"}}
    send(Intake(database), [cool], now_us=clock())
    assert limit not in events(stranger, address)
    clock.us += 60 * MINUTE_US
    send(Intake(database), [{**hot, "id": "again", "at": at(clock).isoformat()}], now_us=clock())
    assert events(stranger, address)[limit].dtstart.value > at(clock)


def at(clock: Clock) -> datetime:
    return datetime.fromtimestamp(clock() / 1e6, UTC)


def log_name(database: Database) -> str:
    with database.read() as hand:
        place = log.look_up(hand)
    assert place
    return place.log


def test_words_come_in_the_language_asked_for_or_in_english(stranger: TestClient, phone: Phones) -> None:
    address = made(phone("kit"))
    assert stranger.get(f"{address}?language=xx").status_code == 200
    assert stranger.get(f"{address}?language=../en").status_code == 422


def test_a_place_on_another_day_than_its_server_is_planned_for_its_own(
    phone: Phones, database: Database
) -> None:
    """At 16:00 UTC on 15 June it is already the 16th on Kiritimati, 14 hours ahead."""
    zone = {**entry("setup", 940, what="place", item="place", set={"time_zone": "Pacific/Kiritimati"})}
    send(Intake(database), [zone])
    made_plan = here.plan_now(folded.Kept(database), NOW_US)
    assert made_plan["at"] == "2026-06-16T06:00:00+14:00"
