"""Probes: a token lets readings of one station in and nothing else; what is sent twice is stored once."""

from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from fallowside.access import probes
from fallowside.api.app import build_app
from fallowside.api.probing import MOST_HELD
from fallowside.core.entries import moment
from fallowside.store import held
from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.conftest import Opener
from tests.logs import START, setups
from tests.stores import NOW_US, logged, send

pytestmark = pytest.mark.both_databases


@pytest.fixture
def database(new_store: Callable[[], Opener]) -> Iterator[Database]:
    opened = new_store()()
    send(Intake(opened), setups())
    yield opened
    opened.close()


@pytest.fixture
def client(database: Database, web: Path) -> TestClient:
    app = build_app(database, web=web, hosts=["garden.example"], sign_in=True, now_us=lambda: NOW_US)
    return TestClient(app, base_url="https://garden.example")


def post(client: TestClient, token: str, *readings: Any) -> Any:
    headers = {"Authorization": f"Bearer {token}"}
    return client.post("/api/probe", json={"readings": list(readings)}, headers=headers)


def warm(value: float, minutes: int = 0, **fields: Any) -> dict[str, Any]:
    at = (START + timedelta(minutes=minutes)).isoformat()
    return {"at": at, "side": "a", "temperature": {"value": value, "unit": "degC"}, **fields}


def test_a_reading_is_an_entry_of_the_probes_station(client: TestClient, database: Database) -> None:
    token = probes.start(database, "bed", NOW_US)
    assert post(client, token, warm(18.5)).json() == {"accepted": 1, "new": 1, "held": [], "left_out": []}
    made = logged(database)[-1]
    assert (made["kind"], made["station"], made["device"]) == ("reading", "bed", "probe-bed")
    assert made["temperature"] == {"value": 18.5, "unit": "degC"}


def test_a_burst_sent_again_and_again_is_stored_once(client: TestClient, database: Database) -> None:
    token = probes.start(database, "bed", NOW_US)
    burst = [warm(15 + n % 7, n) for n in range(1000)]
    assert post(client, token, *burst).json()["new"] == 1000
    assert post(client, token, *burst[500:], warm(20, 2000), warm(20, 2000)).json() == {
        "accepted": 502,
        "new": 1,
        "held": [],
        "left_out": [],
    }
    assert len(logged(database)) == len(setups()) + 1001
    assert post(client, token, *burst, warm(1, 3000)).status_code == 422


def test_what_cannot_be_is_held_and_the_rest_is_accepted(client: TestClient, database: Database) -> None:
    token = probes.start(database, "bed", NOW_US)
    ahead = moment("2027-01-01T00:00:00Z").text
    found = post(client, token, warm(18), warm(180), warm(18, at=ahead), {"side": "a"}).json()
    assert found["accepted"] == 1
    assert [(one["index"], one["code"]) for one in found["held"]] == [
        (1, "out_of_range"),
        (2, "in_the_future"),
        (3, "missing"),
    ]


def test_what_a_person_would_be_asked_about_waits_for_a_host(client: TestClient, database: Database) -> None:
    token = probes.start(database, "bed", NOW_US)
    # The same bounds a phone asks at; 45 and 95 are the last that are not asked about.
    found = post(
        client, token, warm(45), warm(46, 1), warm(20, 2, moisture_pct=96), warm(20, 3, ph=3.5)
    ).json()
    assert found["accepted"] == 1
    assert [(one["index"], one["code"], one["field"]) for one in found["held"]] == [
        (1, "unusual", "temperature"),
        (2, "unusual", "moisture_pct"),
        (3, "unusual", "ph"),
    ]
    intake = Intake(database)
    # What others set up lets nothing of it in; a host does.
    send(intake, [{**setups()[0], "id": "another"}])
    assert len(logged(database)) == len(setups()) + 2
    with database.read() as hand:
        hot = held.waiting(hand, 1)[0]
    assert intake.allow(hot.ref, NOW_US) == [hot.id]
    assert logged(database)[-1]["temperature"]["value"] == 46


def test_a_faulty_probe_fills_no_store_and_its_good_readings_are_taken(
    client: TestClient, database: Database
) -> None:
    token = probes.start(database, "bed", NOW_US)
    faulty = [warm(180, n) for n in range(MOST_HELD + 30)]
    for _ in range(2):
        found = post(client, token, *faulty, warm(18, 5000)).json()
        assert found["accepted"] == 1
        assert [one["index"] for one in found["held"]] == list(range(MOST_HELD))
        assert [one["index"] for one in found["left_out"]] == list(range(MOST_HELD, MOST_HELD + 30))
        assert {one["code"] for one in found["left_out"]} == {"too_many_held"}
        assert "180" in found["left_out"][0]["why"]
    with database.write() as hand:
        assert held.count_waiting(hand, 1) == MOST_HELD
        held.settle(hand, [(one.n, None) for one in held.waiting(hand, 1)], held.DROPPED, NOW_US)
    # Once a host has looked, others are kept again; those that were dropped stay so.
    found = post(client, token, *faulty).json()
    assert len(found["held"]) == len(faulty) - 10
    with database.read() as hand:
        assert held.count_waiting(hand, 1) == MOST_HELD


def test_the_time_of_the_server_is_taken_where_a_probe_has_no_clock(
    client: TestClient, database: Database
) -> None:
    token = probes.start(database, "bin", NOW_US)
    assert post(client, token, {"temperature": {"value": 31, "unit": "degC"}}).json()["accepted"] == 1
    assert moment(logged(database)[-1]["at"]).us == NOW_US


def test_a_token_opens_nothing_else(client: TestClient, database: Database) -> None:
    token = probes.start(database, "bed", NOW_US)
    for headers in ({"Authorization": f"Bearer {token}"}, {"Cookie": f"__Host-fallowside={token}"}):
        for path in ("/api/plan", "/api/tally", "/api/held", "/api/phones"):
            assert client.get(path, headers=headers).status_code == 401
        assert client.post("/api/sync", json={"device": "p"}, headers=headers).status_code == 401


@pytest.mark.parametrize("forged", [{"station": "pond"}, {"kind": "setup"}, {"id": "mine"}, {"by": "ana"}])
def test_a_probe_says_what_it_read_and_nothing_more(
    client: TestClient, database: Database, forged: dict[str, str]
) -> None:
    token = probes.start(database, "bed", NOW_US)
    assert post(client, token, {**warm(18), **forged}).status_code == 422
    assert len(logged(database)) == len(setups())


def test_a_token_that_ended_lets_nothing_in(client: TestClient, database: Database) -> None:
    first = probes.start(database, "bed", NOW_US)
    second = probes.start(database, "bed", NOW_US)
    third = probes.start(database.of_place("elsewhere"), "bed", NOW_US)
    assert probes.end(database, "bin", NOW_US) is False
    answers = [post(client, token, warm(18)).status_code for token in (first, second, third, "", "x")]
    assert answers == [401, 200, 401, 401, 401]
    assert probes.end(database, "bed", NOW_US)
    assert post(client, second, warm(18)).status_code == 401


def test_only_a_hash_of_the_token_is_kept(database: Database) -> None:
    token = probes.start(database, "bed", NOW_US)
    with database.read() as hand:
        assert token not in str(hand.rows("SELECT * FROM probe"))
