"""No caller takes all: calls a minute, the size of bodies; and nothing secret in what is logged."""

import asyncio
import hashlib
import logging

import pytest
from starlette.testclient import TestClient
from starlette.types import ASGIApp, Message

from fallowside.api import photos, rules
from fallowside.api.app import build_app
from fallowside.api.guard import SMALL_BYTES
from fallowside.api.pace import Pace
from fallowside.store.database import Database
from tests.access.conftest import SITE, Phones
from tests.api.test_photos import JPEG

JSON = {"Content-Type": "application/json"}


def test_a_source_that_calls_too_often_waits_and_another_does_not() -> None:
    now = [0.0]
    pace = Pace(3, 2.0, lambda: now[0])
    assert [pace.wait_s("one") for _ in range(4)] == [0.0, 0.0, 0.0, 0.5]
    assert pace.wait_s("other") == 0.0
    now[0] += 0.5
    assert [pace.wait_s("one") for _ in range(2)] == [0.0, 0.5]
    now[0] += 1000.0
    assert [pace.wait_s("one") > 0 for _ in range(4)] == [False, False, False, True]


def test_too_many_calls_are_told_when_to_come_back(database: Database) -> None:
    app = build_app(database, hosts=["garden.example"], sign_in=True, pace=Pace(2, 0.1))
    client = TestClient(app, base_url=SITE)
    answers = [client.get("/api/health") for _ in range(3)]
    assert [one.status_code for one in answers] == [200, 200, 429]
    assert answers[-1].json()["code"] == "too_fast"
    assert 1 <= int(answers[-1].headers["retry-after"]) <= 10
    assert client.get("/").status_code != 429


@pytest.mark.parametrize("told", [True, False])
def test_a_large_body_is_refused_before_anything_reads_it(stranger: TestClient, told: bool) -> None:
    large = b"x" * (SMALL_BYTES + 1)
    answer = stranger.post("/api/pair", content=large if told else iter([large[:100], large[100:]]))
    assert answer.status_code == 413


CHANGING = [route for route in sorted(rules.RULES) if not route.startswith("GET ")]
PART = bytes(32 * 1024)


@pytest.mark.parametrize("route", CHANGING)
def test_of_a_strangers_endless_body_little_is_ever_taken_in(stranger: TestClient, route: str) -> None:
    status, taken = endless(stranger.app, route)
    assert status in (401, 403, 413)
    assert taken <= SMALL_BYTES + len(PART)


@pytest.mark.parametrize("route", ["PUT /api/photos/{name}", "POST /api/sync", "POST /api/probe"])
def test_where_much_may_be_sent_nothing_is_taken_in_before_it_is_known_who_calls(
    stranger: TestClient, route: str
) -> None:
    assert endless(stranger.app, route) == (401, 0)


def endless(app: ASGIApp, route: str) -> tuple[int, int]:
    """Send a body that never ends; give the answer's status and how many bytes were taken in."""
    method, path = route.split(" ")
    taken, statuses = 0, []

    async def receive() -> Message:
        nonlocal taken
        taken += len(PART)
        assert taken < 100 * len(PART), "the server reads on and on"
        return {"type": "http.request", "body": PART, "more_body": True}

    async def send(message: Message) -> None:
        if message["type"] == "http.response.start":
            statuses.append(message["status"])

    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": method,
        "scheme": "https",
        "path": path.replace("{name}", "0" * 64).replace("{ref}", "x").replace("{n}", "1"),
        "raw_path": b"",
        "query_string": b"",
        "root_path": "",
        "headers": [(b"host", b"garden.example"), (b"content-type", b"application/json")],
        "client": ("192.0.2.7", 1),
        "server": ("garden.example", 443),
    }
    asyncio.run(app(scope, receive, send))  # type: ignore[arg-type]
    return statuses[0], taken


def test_a_body_in_parts_arrives_whole(stranger: TestClient) -> None:
    answer = stranger.post("/api/pair", content=iter([b'{"code": ', b'"no such"}']), headers=JSON)
    assert answer.json()["code"] == "bad_code"


def test_what_is_logged_holds_no_code_and_no_token(
    stranger: TestClient, phone: Phones, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG, "fallowside")
    for number in range(20):
        stranger.post("/api/pair", json={"code": f"SECRETSECRET{number}"})
    helper = phone("kit")
    helper.get("/api/plan")
    assert "locked out" in caplog.text
    assert "SECRET" not in caplog.text
    assert not any(value in caplog.text for value in helper.cookies.values())


@pytest.fixture
def three_late_photos(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos, "LATE_BYTES", 3 * len(JPEG) + 10)


def test_after_a_stay_a_phone_hands_in_its_photos_but_fills_no_store(
    three_late_photos: None, phone: Phones
) -> None:
    left, helper = phone("lou"), phone("kit")

    def put(client: TestClient, n: int) -> int:
        body = JPEG[:-1] + bytes((n,))
        return client.put(f"/api/photos/{hashlib.sha256(body).hexdigest()}", content=body).status_code

    assert [put(left, n) for n in range(5)] == [200, 200, 200, 429, 429]
    assert [put(helper, n) for n in range(10, 20)] == [200] * 10
