"""Reports over HTTP: files with names, a page under the strict content policy, plain refusals."""

import io

import openpyxl  # type: ignore[import-untyped]
import pytest
from starlette.testclient import TestClient

from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.logs import setups
from tests.stores import feed, send

PERIOD = {"from": "2026-03-01", "to": "2026-03-31"}


@pytest.fixture(autouse=True)
def log(database: Database) -> None:
    send(Intake(database), [*setups(), *map(feed, range(5))])


def test_a_ledger_is_a_file_named_by_its_period(client: TestClient) -> None:
    answer = client.get("/api/report.csv", params=PERIOD)
    assert answer.headers["content-type"] == "text/csv; charset=utf-8"
    assert 'filename="fallowside-2026-03-01-to-2026-03-31.csv"' in answer.headers["content-disposition"]
    assert "Kitchen" in answer.text


def test_a_workbook_opens(client: TestClient) -> None:
    answer = client.get("/api/report.xlsx", params=PERIOD)
    assert openpyxl.load_workbook(io.BytesIO(answer.content))["Summary"]["B4"].value == 5.0


def test_a_page_links_its_files_and_its_stylesheet_is_there(client: TestClient) -> None:
    page = client.get("/api/report.html", params=PERIOD)
    assert page.headers["content-type"].startswith("text/html")
    assert "unsafe-inline" not in page.headers["content-security-policy"]
    assert "/api/report.xlsx?from=2026-03-01&amp;to=2026-03-31" in page.text
    style = client.get("/api/report.css")
    assert style.headers["content-type"].startswith("text/css")
    assert "@page" in style.text


@pytest.mark.parametrize("suffix", ["csv", "xlsx", "html"])
@pytest.mark.parametrize(
    ("asked", "code", "said"),
    [
        ({"from": "2026-05-01", "to": "2026-04-01"}, "bad_period", "swap them"),
        ({"from": "spring"}, "bad_time", "a day such as"),
        ({"to": "1999-01-01"}, "bad_time", "2000"),
    ],
)
def test_a_period_that_is_none_is_refused_in_words(
    client: TestClient, suffix: str, asked: dict[str, str], code: str, said: str
) -> None:
    answer = client.get(f"/api/report.{suffix}", params=asked)
    assert answer.status_code == 422
    assert answer.json()["code"] == code
    assert said in answer.json()["detail"]


def test_a_page_speaks_the_language_the_browser_asks_for_unless_told_another(client: TestClient) -> None:
    browser = {"Accept-Language": "fr-CA,fr;q=0.9,en;q=0.5"}
    page = client.get("/api/report.html", params=PERIOD, headers=browser)
    assert page.headers["content-language"] == "fr"
    assert '<html lang="fr">' in page.text
    assert "Ce qui n’est pas allé en décharge" in page.text
    assert "language=fr" in page.text
    told = client.get("/api/report.csv", params={**PERIOD, "language": "ja"}, headers=browser)
    assert told.text.lstrip("\ufeff").startswith("月")
