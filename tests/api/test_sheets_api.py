"""Sheets over HTTP: codes lead to where the caller reached the server, and no further than a web page."""

import pytest
from starlette.testclient import TestClient

from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.logs import entry, setups
from tests.stores import send


@pytest.fixture(autouse=True)
def log(database: Database) -> None:
    asked = entry("question", 5, station="bed", text="Is the pail too sour?")
    told = entry("question", 6, station="bed", text="Which side?")
    gone = entry("question", 7, station="bed", text="Never mind")
    answer = entry("answer", 8, of=told["id"], text="The left one")
    back = entry("correction", 9, of=gone["id"], action="retract")
    assert send(Intake(database), [*setups(), asked, told, gone, answer, back]).held == []


def test_stickers_lead_to_where_the_server_was_reached(client: TestClient) -> None:
    answer = client.get("/api/sheets/stickers.html")
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    assert "http://localhost/#/station/hive" in answer.text
    assert 'href="/api/sheets/sheets.css"' in answer.text
    assert client.get("/api/sheets/sheets.css").headers["content-type"] == "text/css; charset=utf-8"


def test_stickers_may_be_for_another_address_of_a_web_page_only(client: TestClient) -> None:
    given = client.get("/api/sheets/stickers.html", params={"url": "https://farm.example"})
    assert "https://farm.example/#/station/bed" in given.text
    refused = client.get("/api/sheets/stickers.html", params={"url": "javascript:alert(1)"})
    assert (refused.status_code, refused.json()["code"]) == (422, "bad_address")


def test_a_hand_over_names_what_nobody_has_answered(client: TestClient) -> None:
    page = client.get("/api/sheets/handover.html").text
    assert "Is the pail too sour?" in page
    assert "Which side?" not in page
    assert "Never mind" not in page
