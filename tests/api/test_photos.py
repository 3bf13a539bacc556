"""Photos: stored whole under the hash of their content, as often as they are sent; nothing else is taken."""

import hashlib
from pathlib import Path
from typing import Any

import anyio
import pytest
from starlette.testclient import TestClient

from fallowside.api.app import build_app
from fallowside.store import photos
from fallowside.store.database import Database
from tests.stores import NOW_US

JPEG = bytes.fromhex("ffd8ffe000104a46494600010100000100010000ffda0008010100003f00") + b"picture\xff\xd9"
"""The segments of a small JPEG: JFIF, then a scan (ISO/IEC 10918-1)."""
WEBP = b"RIFF" + (20).to_bytes(4, "little") + b"WEBPVP8 " + (8).to_bytes(4, "little") + b"picture!"


def segment(mark: int, content: bytes) -> bytes:
    return bytes((0xFF, mark)) + (len(content) + 2).to_bytes(2, "big") + content


def name(body: bytes) -> str:
    return hashlib.sha256(body).hexdigest()


def put(client: TestClient, body: bytes, under: str = "") -> tuple[int, str]:
    answer = client.put(f"/api/photos/{under or name(body)}", content=body)
    return answer.status_code, answer.json().get("code", "")


@pytest.mark.parametrize(("body", "media_type"), [(JPEG, "image/jpeg"), (WEBP, "image/webp")])
def test_a_photo_is_given_as_it_was_sent_however_often_that_was(
    client: TestClient, database: Database, body: bytes, media_type: str
) -> None:
    assert put(client, body) == put(client, body) == (200, "")
    found = client.get(f"/api/photos/{name(body)}")
    assert found.content == body
    assert found.headers["content-type"] == media_type
    assert "immutable" in found.headers["cache-control"]
    with database.read() as hand:
        assert photos.used_bytes(hand, 1) == len(body)


def test_half_a_photo_is_refused_and_the_whole_one_taken_afterwards(client: TestClient) -> None:
    assert put(client, JPEG[:-8], under=name(JPEG)) == (422, "other_content")
    assert client.get(f"/api/photos/{name(JPEG)}").status_code == 404
    assert put(client, JPEG) == (200, "")


@pytest.mark.parametrize(
    ("body", "refusal"),
    [
        (b"GIF89a", (422, "no_photo")),
        (b"<script>", (422, "no_photo")),
        (JPEG + bytes(photos.MOST_BYTES), (413, "too_large")),
        (JPEG[:20] + segment(0xE1, b"Exif\0\0where it was") + JPEG[20:], (422, "tells_where")),
        (JPEG[:20] + b"\xff" + segment(0xE1, b"Exif\0\0after a fill byte") + JPEG[20:], (422, "tells_where")),
        (JPEG[:20] + b"\0" + segment(0xE1, b"Exif\0\0after a gap") + JPEG[20:], (422, "tells_where")),
        (JPEG[:20] + segment(0xFE, b"who took it") + JPEG[20:], (422, "tells_where")),
        (WEBP + b"EXIF" + (4).to_bytes(4, "little") + b"here", (422, "tells_where")),
    ],
)
def test_what_is_no_photo_too_large_or_tells_where_it_was_taken_is_refused(
    client: TestClient, body: bytes, refusal: tuple[int, str]
) -> None:
    assert put(client, body) == refusal


def test_photos_take_no_more_room_than_a_place_has(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(photos, "BUDGET_BYTES", len(JPEG))
    assert put(client, JPEG) == (200, "")
    assert put(client, WEBP) == (507, "no_room")
    assert put(client, JPEG) == (200, "")


def test_a_stranger_is_refused_before_the_photo_is_read(database: Database, web: Path) -> None:
    app = build_app(database, web=web, hosts=["garden.example"], sign_in=True, now_us=lambda: NOW_US)
    messages: list[Any] = []

    async def receive() -> Any:
        raise AssertionError("the body was asked for")

    async def send(message: Any) -> None:
        messages.append(message)

    scope = {
        "type": "http",
        "method": "PUT",
        "scheme": "https",
        "path": f"/api/photos/{name(JPEG)}",
        "raw_path": b"",
        "query_string": b"",
        "headers": [(b"host", b"garden.example")],
        "http_version": "1.1",
        "root_path": "",
        "client": ("192.0.2.7", 1),
    }
    anyio.run(app, scope, receive, send)
    assert messages[0]["status"] == 401
