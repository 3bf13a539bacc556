"""Many places of one database behind one server: each sees itself only, on SQLite and on PostgreSQL."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from starlette.applications import Starlette
from starlette.testclient import TestClient

from fallowside.access import door
from fallowside.api import places
from fallowside.api.app import build_app
from fallowside.api.pace import Pace
from fallowside.api.places import Places
from fallowside.store import log
from fallowside.store.database import Database, Hand
from fallowside.sync.intake import Intake
from tests.conftest import Opener
from tests.logs import kg, setups
from tests.stores import NOW_US, feed, logged, send

pytestmark = pytest.mark.both_databases

UNDER = "holdings.example"
NAMES = ("orchard", "hillside")


@pytest.fixture
def database(new_store: Callable[[], Opener]) -> Iterator[Database]:
    opened = new_store()()
    yield opened
    opened.close()


@pytest.fixture
def visit(database: Database, web: Path) -> Callable[[str], TestClient]:
    for name in NAMES:
        send(Intake(database.of_place(name)), [*setups(), feed(1, note=name)])

    def build(of_place: Database, host: str) -> Starlette:
        return build_app(of_place, hosts=[host], sign_in=True, web=web, now_us=lambda: NOW_US)

    app = Places(database, UNDER, build)

    def of(name: str) -> TestClient:
        return TestClient(app, base_url=f"https://{name}.{UNDER}")

    return of


def paired(visit: Callable[[str], TestClient], database: Database, name: str) -> TestClient:
    made, _ = door.invite(database.of_place(name), "ana", NOW_US)
    client = visit(name)
    answer = client.post("/api/pair", json={"code": made.code, "device": f"phone-of-{name}"})
    assert answer.status_code == 200, answer.text
    return client


def test_each_place_is_a_log_of_its_own(visit: Callable[[str], TestClient], database: Database) -> None:
    for name in NAMES:
        client = paired(visit, database, name)
        heard = client.post("/api/sync", json={"device": "p", "cursor": 0, "entries": [feed(2)]}).json()
        assert heard["accepted"] == ["feed-2"]
        assert [one["note"] for one in heard["entries"] if one["id"] == "feed-1"] == [name]
        assert client.get("/api/health").json()["place"] == name
    assert [len(logged(database.of_place(name))) for name in NAMES] == [len(setups()) + 2] * 2


def test_a_session_of_one_place_opens_no_other(
    visit: Callable[[str], TestClient], database: Database
) -> None:
    host = paired(visit, database, "orchard")
    stranger = visit("hillside")
    for name, value in host.cookies.items():
        stranger.cookies.set(name, value, domain=f"hillside.{UNDER}")
    for path in ("/api/plan", "/api/tally", "/api/held", "/api/phones", "/api/report.csv"):
        assert host.get(path).status_code == 200
        assert stranger.get(path).json()["code"] == "other_place"
    refused = stranger.post("/api/sync", json={"device": "p", "entries": [feed(9)]})
    assert (refused.status_code, refused.json()["code"]) == (403, "other_place")
    assert "feed-9" not in [one["id"] for one in logged(database.of_place("hillside"))]


def test_what_one_place_holds_another_neither_sees_nor_drops(
    visit: Callable[[str], TestClient], database: Database
) -> None:
    orchard, hillside = (paired(visit, database, name) for name in NAMES)
    for client in (orchard, hillside):
        client.post("/api/sync", json={"device": "p", "entries": [feed(3, amount=kg(-1)), {"no": "id"}]})
    refs = [one["ref"] for one in orchard.get("/api/held").json()["held"]]
    assert len(refs) == 2
    for ref in refs:
        hillside.post(f"/api/held/{ref}/drop")
    assert [one["ref"] for one in orchard.get("/api/held").json()["held"]] == refs


@pytest.mark.parametrize("host", [UNDER, f"nowhere.{UNDER}", "orchard.elsewhere.example", "localhost"])
def test_a_name_that_is_no_place_is_not_answered_and_makes_none(
    visit: Callable[[str], TestClient], database: Database, host: str
) -> None:
    answer = visit("orchard").get("/api/health", headers={"host": host})
    assert (answer.status_code, answer.json()["code"]) == (404, "no_place")
    with database.read() as hand:
        assert [name for (name,) in hand.rows("SELECT name FROM place ORDER BY n")] == list(NAMES)


def test_only_the_places_called_last_are_kept(
    database: Database, visit: Callable[[str], TestClient], monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[str] = []

    def build(of_place: Database, host: str) -> Starlette:
        made.append(of_place.place)
        return Starlette()

    def called(most: int, *names: str) -> list[str]:
        made.clear()
        client = TestClient(places.Places(database, UNDER, build, most=most))
        for name in names:
            client.get("/", headers={"host": f"{name}.{UNDER}"})
        return list(made)

    assert called(1, "orchard", "orchard", "hillside", "orchard") == ["orchard", "hillside", "orchard"]
    send(Intake(database.of_place("terrace")), setups())
    busy = called(2, "orchard", "hillside", "orchard", "terrace", "orchard")
    assert busy == ["orchard", "hillside", "terrace"]


def test_whoever_guesses_names_waits_before_the_database_is_asked(
    database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []
    number = log.place_number

    def counted(hand: Hand) -> int | None:
        asked.append(hand.place)
        return number(hand)

    monkeypatch.setattr(log, "place_number", counted)
    client = TestClient(Places(database, UNDER, lambda _, host: Starlette(), Pace(3, 0.01)))
    answers = [client.get("/", headers={"host": f"guess-{n}.{UNDER}"}) for n in range(5)]
    assert [one.status_code for one in answers] == [404, 404, 404, 429, 429]
    assert int(answers[-1].headers["retry-after"]) > 60
    assert asked == ["guess-0", "guess-1", "guess-2"]
    # What can't be a name needs no look at all.
    assert client.get("/", headers={"host": f"no name.{UNDER}"}).status_code == 404
    assert len(asked) == 3
