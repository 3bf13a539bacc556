"""Who is told what, when, and how often. Only the wire is ours; it opens what it is brought."""

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from fallowside.access import sessions
from fallowside.api import here
from fallowside.exchange import folded
from fallowside.remind import phones
from fallowside.remind.push import Browser
from fallowside.remind.ringing import Ringer
from fallowside.store import log
from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.logs import Raw, entry
from tests.remind.browsers import OtherBrowser
from tests.remind.places import DAY, person
from tests.remind.places import log as place_log
from tests.stores import fresh, send


def us(text: str) -> int:
    return round(datetime.fromisoformat(text).timestamp() * 1e6)


MORNING = us("2026-03-20T08:10:00+00:00")
DAWN = us("2026-03-20T07:30:00+00:00")
NIGHT = us("2026-03-20T23:00:00+00:00")


@dataclass
class Wire:
    """A push service that can be told what to answer, or to be gone."""

    browsers: dict[str, OtherBrowser] = field(default_factory=dict)
    came: list[tuple[str, dict[str, Any]]] = field(default_factory=list)
    status: int = 201
    down: bool = False

    def bring(self, endpoint: str, headers: dict[str, str], body: bytes) -> int:
        if self.down:
            raise TimeoutError("nobody there")
        if self.status < 300:
            self.came.append((endpoint, json.loads(self.browsers[endpoint].opened(body))))
        return self.status


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    opened = fresh(tmp_path / "data")
    put(opened, place_log())
    yield opened
    opened.close()


@pytest.fixture
def wire() -> Wire:
    return Wire()


Ring = Callable[[int], int]


@pytest.fixture
def ring(database: Database, wire: Wire) -> Ring:
    kept = folded.Kept(database)
    key = ec.generate_private_key(ec.SECP256R1())
    plan = lambda now_us: here.plan_now(kept, now_us)  # noqa: E731
    contact = "mailto:keeper@garden.example"
    return Ringer(database, plan, key, contact, wire.bring, sessions.LAPSE_US).ring


def put(database: Database, entries: list[Raw]) -> None:
    outcome = send(Intake(database), entries, now_us=us("2026-12-01T00:00:00+00:00"))
    assert outcome.held == []


def subscribe(
    database: Database, wire: Wire, name: str = "ana", phone: str = "phone", session: int | None = None
) -> str:
    far, endpoint = OtherBrowser(), f"https://push.example/{name}/{phone}"
    wire.browsers[endpoint] = far
    with database.write() as hand:
        place = log.open_place(hand, MORNING)
        phones.start(hand, place.n, name, session, Browser(endpoint, far.point, far.secret), "en", MORNING)
    return endpoint


def test_all_that_is_due_comes_in_one_message_and_only_once(
    database: Database, wire: Wire, ring: Ring
) -> None:
    subscribe(database, wire)
    assert ring(MORNING) == 1
    ((_, content),) = wire.came
    assert content["count"] > 1
    assert "Hive: Look in" in content["body"].splitlines()
    assert content["path"] == "#/reminders"
    assert ring(MORNING + 300_000_000) == 0


def test_nobody_is_told_who_did_not_ask(database: Database, wire: Wire, ring: Ring) -> None:
    assert ring(MORNING) == 0
    assert wire.came == []


def test_quiet_hours_are_quiet_and_the_hour_of_reminders_is_kept(
    database: Database, wire: Wire, ring: Ring
) -> None:
    subscribe(database, wire)
    assert [ring(at) for at in (NIGHT - 24 * 3_600_000_000, DAWN, MORNING)] == [0, 0, 1]


def test_a_limit_crossed_is_told_at_once_but_not_in_quiet_hours(
    database: Database, wire: Wire, ring: Ring
) -> None:
    subscribe(database, wire)
    ring(MORNING)
    # Day 19 of the log is 20 March; the log's own clock is two hours ahead of Portugal's.
    hot = entry(
        "reading", 19 * DAY + 9 * 60, station="bed", side="a", temperature={"value": 36, "unit": "degC"}
    )
    put(database, [hot])
    evening = us("2026-03-20T15:30:00+00:00")
    assert [ring(NIGHT), ring(evening), ring(evening + 300_000_000)] == [0, 1, 0]
    assert wire.came[-1][1]["count"] == 1


def test_what_nobody_could_bring_is_brought_later(database: Database, wire: Wire, ring: Ring) -> None:
    subscribe(database, wire)
    wire.down = True
    assert ring(MORNING) == 0
    wire.down, wire.status = False, 503
    assert ring(MORNING) == 0
    wire.status = 201
    assert ring(MORNING) == 1


@pytest.mark.parametrize("status", [404, 410])
def test_a_browser_that_has_gone_is_forgotten(
    database: Database, wire: Wire, ring: Ring, status: int
) -> None:
    subscribe(database, wire)
    wire.status = status
    ring(MORNING)
    wire.status = 201
    assert ring(MORNING) == 0


def session_of(database: Database, name: str, seen_us: int = MORNING) -> int:
    """Pair a phone of somebody; give the number of its session."""
    with database.write() as hand:
        place = log.open_place(hand, MORNING)
        sessions.start(hand, place.n, name, "host", f"of-{name}", "Android", seen_us)
        return next(one.n for one in sessions.phones(hand, place.n) if one.person == name)


def test_a_phone_that_is_let_in_is_told(database: Database, wire: Wire, ring: Ring) -> None:
    subscribe(database, wire, session=session_of(database, "ana"))
    assert ring(MORNING) == 1


def test_a_phone_no_longer_let_in_is_told_nothing_from_that_moment_on(
    database: Database, wire: Wire, ring: Ring
) -> None:
    n = session_of(database, "ana")
    subscribe(database, wire, session=n)
    with database.write() as hand:
        assert sessions.end(hand, log.open_place(hand, MORNING).n, n, MORNING)
    assert ring(MORNING) == 0
    assert wire.came == []


@pytest.mark.parametrize(("late_us", "told"), [(0, 1), (1, 0)])
def test_a_phone_whose_session_has_lapsed_is_told_nothing(
    database: Database, wire: Wire, ring: Ring, late_us: int, told: int
) -> None:
    seen_us = MORNING - sessions.LAPSE_US - late_us
    subscribe(database, wire, session=session_of(database, "ana", seen_us))
    assert ring(MORNING) == told


def test_a_phone_whose_owner_has_left_is_told_nothing_even_for_somebody_who_stays(
    database: Database, wire: Wire, ring: Ring
) -> None:
    subscribe(database, wire, "ana", session=session_of(database, "kit"))
    put(database, [person("kit", 2, last_day="2026-03-19")])
    assert ring(MORNING) == 0


def test_somebody_who_has_left_is_told_nothing(database: Database, wire: Wire, ring: Ring) -> None:
    subscribe(database, wire, "kit")
    put(database, [person("kit", 2, last_day="2026-03-19")])
    assert ring(MORNING) == 0


def test_what_is_routine_is_told_to_whoever_walks_today(database: Database, wire: Wire, ring: Ring) -> None:
    """20 March 2026 is a Friday."""
    put(database, [person("kit", 2, walks=["fri"])])
    subscribe(database, wire, "ana")
    kit = subscribe(database, wire, "kit")
    assert ring(MORNING) == 1
    assert wire.came[0][0] == kit


def test_what_was_put_off_is_told_again_on_its_day(database: Database, wire: Wire, ring: Ring) -> None:
    subscribe(database, wire)
    ring(MORNING)
    put(database, [entry("snooze", 19 * DAY, matter="hive:look_in::2026-03-16", until="2026-03-23")])
    days = [us(f"2026-03-{day}T08:10:00+00:00") for day in (21, 22, 23, 24)]
    told = []
    for at in days:
        before = len(wire.came)
        ring(at)
        told.append(any("Hive: Look in" in content["body"] for _, content in wire.came[before:]))
    assert told == [False, False, True, False]


def test_both_phones_of_a_person_ring(database: Database, wire: Wire, ring: Ring) -> None:
    subscribe(database, wire, phone="old")
    subscribe(database, wire, phone="new")
    assert ring(MORNING) == 2
