"""Plan and tally over HTTP: equal to the core's, cached as long as the log stands, refused in words."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from starlette.testclient import TestClient

from fallowside.core import plan as plans
from fallowside.core.entries import moment
from fallowside.exchange import folded
from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.logs import AT, entry, setups
from tests.stores import feed, logged, send

AT_IN_URL = AT.replace("+", "%2B")


@pytest.fixture(autouse=True)
def some_entries(database: Database) -> None:
    send(Intake(database), [*setups(), *map(feed, range(1, 30))])


def test_the_plan_is_the_cores_plan_byte_for_byte(client: TestClient, database: Database) -> None:
    answer = client.get(f"/api/plan?at={AT_IN_URL}")
    assert answer.text == plans.plan_json(logged(database), AT)
    assert answer.text == folded.plan_text(database, AT)


def test_a_plus_that_was_not_escaped_is_understood(client: TestClient) -> None:
    assert client.get(f"/api/plan?at={AT}").json() == client.get(f"/api/plan?at={AT_IN_URL}").json()


def test_without_an_instant_the_plan_is_for_now(client: TestClient) -> None:
    found = client.get("/api/plan").json()
    assert moment(found["at"]).us // 60_000_000 == moment(AT).us // 60_000_000


def test_a_plan_is_made_once_for_a_state_of_the_log(
    client: TestClient, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[str] = []

    def counted(kept: folded.Kept, at: str) -> str:
        made.append(at)
        return "{}"

    monkeypatch.setattr(folded.Kept, "plan_text", counted)
    with client, ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda _: client.get("/api/plan"), range(8)))
        assert len(made) == 1
        send(Intake(database), [feed(100)])
        client.get("/api/plan")
    assert len(made) == 2


def test_a_plan_that_failed_is_tried_again(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    answers: Iterator[Exception | str] = iter([ZeroDivisionError(), "{}"])

    def fails_once(kept: folded.Kept, at: str) -> str:
        found = next(answers)
        if isinstance(found, Exception):
            raise found
        return found

    monkeypatch.setattr(folded.Kept, "plan_text", fails_once)
    with client:
        assert client.get("/api/plan").status_code == 500
        assert client.get("/api/plan").status_code == 200


def test_a_plan_after_one_more_entry_is_the_plan_made_anew(client: TestClient, database: Database) -> None:
    with client:
        for number in range(100, 104):
            client.get(f"/api/plan?at={AT_IN_URL}")
            send(Intake(database), [feed(number), feed(number + 50, station="moon")])
            answer = client.get(f"/api/plan?at={AT_IN_URL}")
            assert answer.text == folded.plan_text(database, AT)


def test_a_plan_of_a_log_that_was_exchanged_is_the_new_logs_plan(database: Database) -> None:
    kept = folded.Kept(database)
    before = kept.plan_text(AT)
    with database.write() as hand:
        hand.run("UPDATE place SET log = 'another'")
    send(Intake(database), [feed(100)])
    assert kept.plan_text(AT) == folded.plan_text(database, AT) != before


def test_an_unchanged_plan_is_not_sent_again(client: TestClient, database: Database) -> None:
    with client:
        tag = client.get(f"/api/plan?at={AT_IN_URL}").headers["etag"]
        again = client.get(f"/api/plan?at={AT_IN_URL}", headers={"If-None-Match": tag})
        assert (again.status_code, again.content) == (304, b"")
        send(Intake(database), [feed(100)])
        changed = client.get(f"/api/plan?at={AT_IN_URL}", headers={"If-None-Match": tag})
        assert changed.status_code == 200


def test_a_large_plan_is_packed(client: TestClient) -> None:
    answer = client.get("/api/plan", headers={"Accept-Encoding": "gzip"})
    assert answer.headers["content-encoding"] == "gzip"
    assert answer.json()["stations"]


@pytest.mark.parametrize("at", ["yesterday", "2026-06-15", "2026-06-15T18:00", "1066-10-14T09:00:00Z"])
def test_a_bad_instant_is_refused(client: TestClient, at: str) -> None:
    answer = client.get("/api/plan", params={"at": at})
    assert answer.status_code == 422
    assert (answer.json()["code"], answer.json()["field"]) == ("bad_time", "at")


def test_the_tally_is_the_cores_tally(client: TestClient, database: Database) -> None:
    found = client.get("/api/tally?from=2026-03-01&to=2026-03-31").json()
    assert (found["since"], found["until"]) == ("2026-03-01", "2026-03-31")
    assert found["net"]["value"] == 29.0


def test_a_tally_without_a_period_covers_the_whole_log(client: TestClient, database: Database) -> None:
    send(Intake(database), [{**feed(200), "at": "2025-01-02T08:00:00+02:00"}])
    found = client.get("/api/tally").json()
    assert found["since"] == "2025-01-02"
    assert found["net"]["value"] == 30.0


@pytest.mark.parametrize(
    ("query", "code"),
    [
        ("from=soon", "bad_time"),
        ("to=2026-13-01", "bad_time"),
        ("from=2026-05-01&to=2026-04-01", "bad_period"),
    ],
)
def test_a_bad_period_is_refused(client: TestClient, query: str, code: str) -> None:
    answer = client.get(f"/api/tally?{query}")
    assert answer.status_code == 422
    assert answer.json()["code"] == code


def test_an_empty_place_has_a_plan_and_a_tally(tmp_path: Any) -> None:
    from fallowside.api.app import build_app
    from tests.stores import fresh

    opened = fresh(tmp_path / "empty")
    empty = TestClient(build_app(opened), base_url="http://localhost")
    assert empty.get("/api/plan").json()["stations"] == []
    assert empty.get("/api/tally").json()["net"]["value"] == 0.0
    opened.close()


def test_a_kind_of_a_newer_phone_does_no_harm(client: TestClient, database: Database) -> None:
    send(Intake(database), [entry("from_2031", 3, station="bed")])
    assert client.get(f"/api/plan?at={AT_IN_URL}").json()["made_from"]["newer_kinds"] == 1
