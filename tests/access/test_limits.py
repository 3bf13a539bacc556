"""No caller takes all: calls a minute, the size of bodies; and nothing secret in what is logged."""

import hashlib
import logging

import pytest
from starlette.testclient import TestClient

from fallowside.api import photos
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
