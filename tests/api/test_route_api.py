"""Where a bucket goes, over HTTP: the answer by the log as it is, or a refusal that names the field."""

from typing import Any

import pytest
from starlette.testclient import TestClient

from fallowside.store.database import Database
from fallowside.sync.intake import Intake
from tests.logs import entry, kg, setups
from tests.stores import feed, send

HALF = {"feedstock": "vegetable_scraps", "amount": {"container": "caddy", "filled": 0.5}}


@pytest.fixture(autouse=True)
def log(database: Database) -> None:
    can = entry("setup", 1, what="container", item="can", set={"name": "Can"})
    send(Intake(database), [*setups(), can, *map(feed, range(5))])


def asked(client: TestClient, *bucket: Any, **more: Any) -> Any:
    return client.post("/api/route", json={"bucket": bucket, **more})


def test_half_a_caddy_is_shared_out_and_all_of_it_told(client: TestClient) -> None:
    answer = asked(client, HALF)
    assert answer.status_code == 200
    found = answer.json()
    assert found["bucket"][0]["kg"] == 1.2
    assert sum(one["kg"] for one in found["shares"]) == pytest.approx(1.2, rel=1e-5)
    assert {one["station"] for one in found["stations"]} == {"bed", "bin"}


def test_a_question_changes_nothing(client: TestClient) -> None:
    before = client.get("/api/health").json()["entries"]
    asked(client, HALF)
    assert client.get("/api/health").json()["entries"] == before


def test_what_was_just_fed_is_known_to_the_next_question(client: TestClient, database: Database) -> None:
    first = asked(client, HALF).json()
    send(Intake(database), [feed(90, station="bin", side=None, amount=kg(3.0), at=first["at"])])
    again = asked(client, HALF).json()
    rations = [
        one["ration_kg"] for found in (first, again) for one in found["stations"] if one["station"] == "bin"
    ]
    assert rations[1] < rations[0]


@pytest.mark.parametrize(
    ("bucket", "code", "field", "said"),
    [
        ([], "missing", "bucket", "the bucket is empty"),
        ([7], "not_an_object", "bucket.0", "a JSON object"),
        (
            [HALF, {"feedstock": "gravel", "amount": kg(1.0)}],
            "unknown_feedstock",
            "bucket.1.feedstock",
            "gravel",
        ),
        (
            [{"feedstock": "seaweed", "amount": {"value": 3, "unit": "L"}}],
            "no_density",
            "bucket.0.amount",
            "litre",
        ),
        ([{"feedstock": "bread", "amount": {"container": "can"}}], "no_measure", "bucket.0.amount", "holds"),
    ],
)
def test_a_bucket_that_cant_be_weighed_is_refused_in_words(
    client: TestClient, bucket: list[Any], code: str, field: str, said: str
) -> None:
    answer = asked(client, *bucket)
    assert answer.status_code == 422
    problem = answer.json()
    assert (problem["code"], problem["field"]) == (code, field)
    assert said in problem["detail"]


def test_without_room_in_the_freezer_the_rest_goes_elsewhere(client: TestClient) -> None:
    much = {"feedstock": "vegetable_scraps", "amount": kg(90.0)}
    found = asked(client, much, freezer_kg=0).json()
    assert {one["where"] for one in found["shares"]} <= {"station", "elsewhere"}
    assert asked(client, much, freezer_kg=-1).status_code == 422
