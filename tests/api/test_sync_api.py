"""Sync over HTTP: packed or not, within limits, refused in words."""

import gzip
import json
import zlib
from typing import Any

import pytest
from httpx2 import Response
from starlette.testclient import TestClient

from fallowside.api import body as bodies
from fallowside.store import errors
from fallowside.store.database import Database
from tests.logs import kg, setups
from tests.stores import body, feed


def sync(client: TestClient, entries: Any = (), **fields: Any) -> dict[str, Any]:
    answer = client.post("/api/sync", content=body(entries, **fields))
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def refused(answer: Response, status: int, code: str) -> dict[str, Any]:
    """Check that an answer is problem JSON (RFC 9457, section 3) and give it."""
    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/problem+json"
    found: dict[str, Any] = answer.json()
    assert found["status"] == status
    assert found["code"] == code
    assert found["type"]
    assert found["title"]
    assert found["detail"]
    assert "\n" not in found["detail"]
    return found


def test_a_round_is_synced_and_handed_to_another_phone(client: TestClient) -> None:
    first = sync(client, [*setups(), feed(1)])
    assert len(first["accepted"]) == len(setups()) + 1
    other = sync(client, device="other")
    assert [one["id"] for one in other["entries"]] == first["accepted"]
    assert other["cursor"] == first["cursor"]
    assert other["more"] is False


def test_a_held_entry_is_told_with_all_a_phone_needs(client: TestClient) -> None:
    sync(client, setups())
    (held,) = sync(client, [feed(1, amount=kg(5000))])["held"]
    assert held.keys() == {"id", "index", "ref", "code", "why", "field", "values"}
    assert (held["id"], held["index"], held["code"], held["field"]) == ("feed-1", 0, "out_of_range", "amount")
    assert held["values"]["high"] == 1000.0


@pytest.mark.parametrize(
    ("bad", "code", "field", "said"),
    [
        (feed(1, amount={"value": 2, "unit": "degC"}), "bad_unit", "amount.unit", "is measured in"),
        (feed(1, amount=kg(-2)), "out_of_range", "amount", "-2 kg"),
        (feed(1, amount=kg(1e6)), "out_of_range", "amount", "1000"),
        (feed(1, station="moon"), "unknown_station", "station", "moon"),
        (feed(1, amount=kg(float("nan"))), "bad_type", "amount.value", "NaN"),
        (feed(1, at="2090-01-01T00:00:00Z"), "in_the_future", "at", "lies in the future"),
    ],
    ids=["wrong unit", "negative", "absurd", "unknown station", "NaN", "future"],
)
def test_a_bad_entry_is_held_in_clear_words_and_the_rest_is_accepted(
    client: TestClient, bad: Any, code: str, field: str, said: str
) -> None:
    sync(client, setups())
    answer = sync(client, [feed(7), bad, feed(8)])
    assert answer["accepted"] == ["feed-7", "feed-8"]
    (held,) = answer["held"]
    assert (held["id"], held["index"], held["code"], held["field"]) == ("feed-1", 1, code, field)
    assert said in held["why"]
    (waiting,) = client.get("/api/held").json()["held"]
    assert waiting["why"] == held["why"]


def test_half_a_letter_in_a_held_word_is_told_too(client: TestClient) -> None:
    sync(client, setups())
    (held,) = sync(client, [feed(1, feedstock="\ud83d")])["held"]
    assert held["field"] == "feedstock"


def test_a_packed_call_is_read(client: TestClient) -> None:
    packed = gzip.compress(body(setups()))
    answer = client.post("/api/sync", content=packed, headers={"Content-Encoding": "gzip"})
    assert len(answer.json()["accepted"]) == len(setups())


def test_an_answer_is_packed_for_who_can_unpack_it(client: TestClient) -> None:
    sync(client, [*setups(), *map(feed, range(20))])
    packed = client.post("/api/sync", content=body([], device="b"), headers={"Accept-Encoding": "gzip"})
    plain = client.post("/api/sync", content=body([], device="b"), headers={"Accept-Encoding": "identity"})
    assert packed.headers["content-encoding"] == "gzip"
    assert "content-encoding" not in plain.headers
    assert packed.json()["entries"] == plain.json()["entries"]


@pytest.mark.parametrize("content", [b"", b"{", b"nonsense", b"\xff"])
def test_broken_json_is_refused(client: TestClient, content: bytes) -> None:
    refused(client.post("/api/sync", content=content), 400, "broken_json")


@pytest.mark.parametrize(
    ("fields", "field"),
    [({"cursor": -1}, "cursor"), ({"device": "a b"}, "device"), ({"sent_at": "x"}, "sent_at")],
)
def test_a_bad_envelope_names_its_field(client: TestClient, fields: dict[str, Any], field: str) -> None:
    answer = client.post("/api/sync", content=json.dumps({"device": "p", **fields}).encode())
    assert answer.status_code == 422
    assert answer.json()["field"] == field


def test_more_than_a_thousand_entries_are_refused(client: TestClient) -> None:
    refused(client.post("/api/sync", content=body([1] * 1001)), 422, "too_many")


def test_a_body_beyond_ten_mebibytes_is_refused(client: TestClient) -> None:
    content = body([feed(1, note="x" * bodies.MOST_BYTES)])
    refused(client.post("/api/sync", content=content), 413, "too_large")


def test_a_small_body_that_unpacks_beyond_the_limit_is_refused(client: TestClient) -> None:
    bomb = gzip.compress(b" " * (bodies.MOST_BYTES + 1))
    assert len(bomb) < 20_000
    answer = client.post("/api/sync", content=bomb, headers={"Content-Encoding": "gzip"})
    refused(answer, 413, "too_large")


def test_a_body_of_exactly_the_limit_is_read(client: TestClient) -> None:
    content = body(setups())
    padded = gzip.compress(content + b" " * (bodies.MOST_BYTES - len(content)))
    answer = client.post("/api/sync", content=padded, headers={"Content-Encoding": "gzip"})
    assert answer.status_code == 200


@pytest.mark.parametrize(
    "content",
    [b"no gzip", gzip.compress(b"{}")[:-4], gzip.compress(b"{}") + b"tail", zlib.compress(b"{}"), b""],
    ids=["plain", "cut off", "with a tail", "zlib", "nothing"],
)
def test_broken_gzip_is_refused(client: TestClient, content: bytes) -> None:
    answer = client.post("/api/sync", content=content, headers={"Content-Encoding": "gzip"})
    refused(answer, 400, "broken_gzip")


def test_another_packing_is_refused(client: TestClient) -> None:
    answer = client.post("/api/sync", content=b"{}", headers={"Content-Encoding": "zstd"})
    refused(answer, 415, "unknown_encoding")


@pytest.mark.parametrize(
    ("error", "status"),
    [(errors.NoRoom("full"), 507), (errors.Busy("wait"), 503), (errors.Damaged("hurt"), 500)],
)
def test_a_failing_store_accepts_nothing_and_says_so(
    client: TestClient, database: Database, monkeypatch: pytest.MonkeyPatch, error: Exception, status: int
) -> None:
    def fail() -> None:
        raise error

    monkeypatch.setattr(database, "write", fail)
    answer = client.post("/api/sync", content=body(setups()))
    assert answer.status_code == status
    assert "accepted" not in answer.json()


def test_a_fault_of_ours_is_problem_json_without_its_inside(
    client: TestClient, database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail() -> None:
        raise ZeroDivisionError("secret")

    monkeypatch.setattr(database, "write", fail)
    found = refused(client.post("/api/sync", content=body(setups())), 500, "internal")
    assert "secret" not in json.dumps(found)


# -- held entries --------------------------------------------------------------------------------


def test_held_entries_are_listed_and_one_is_set_aside_for_good(client: TestClient) -> None:
    sync(client, [feed(1), {"no": "id"}, float("nan")])
    waiting = client.get("/api/held").json()["held"]
    assert [one["id"] for one in waiting] == ["feed-1", None, None]
    assert [one["device"] for one in waiting] == ["phone"] * 3
    assert waiting[0]["entry"] == feed(1)
    assert waiting[2]["entry"] == "NaN"
    for one in waiting:
        assert client.post(f"/api/held/{one['ref']}/drop").json() == {"dropped": 1}
    assert client.get("/api/held").json() == {"held": []}
    assert client.get("/api/health").json()["held"] == 0
    refused(client.post("/api/held/feed-1/drop"), 404, "not_held")


def test_nothing_is_held_at_a_new_place(client: TestClient) -> None:
    assert client.get("/api/held").json() == {"held": []}
    refused(client.post("/api/held/feed-1/drop"), 404, "not_held")


def test_a_ref_that_cannot_be_one_is_refused(client: TestClient) -> None:
    refused(client.post("/api/held/ /drop"), 422, "bad_request")
