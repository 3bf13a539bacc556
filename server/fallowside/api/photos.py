"""Photos over HTTP: put under the hash of their content, fetched by it."""

from collections.abc import Callable
from typing import Annotated

from fastapi import APIRouter, Path, Request, Response
from starlette.concurrency import run_in_threadpool

from fallowside.api import documents, problems, signing
from fallowside.api.body import limited
from fallowside.api.pace import Pace
from fallowside.api.problems import Refusal
from fallowside.store import log, photos
from fallowside.store.database import Database
from fallowside.store.photos import Photo, Wrong

ROOT = "/api/photos/"
Name = Annotated[str, Path(pattern=r"^[0-9a-f]{64}$", description="SHA-256 of the photo's bytes")]
_FOR_EVER = "private, max-age=31536000, immutable"
LATE_BYTES = 100 * photos.MOST_BYTES
"""What a phone may still send at once after the stay of its person; a month later as much again."""
_MONTH_S = 30 * 86_400.0
_REFUSALS: dict[Wrong, tuple[int, str]] = {
    "too_large": (413, f"a photo holds at most {photos.MOST_BYTES} bytes; shrink it"),
    "other_content": (422, "the bytes are not those the name says; send it again"),
    "no_photo": (422, "send a JPEG or a WebP picture"),
    "tells_where": (422, "the photo still holds notes of the camera; draw it anew without them"),
    "no_room": (507, "the photos of this place have used up their room"),
}


def router(database: Database, now_us: Callable[[], int]) -> APIRouter:
    """Give the routes of photos."""
    routes = APIRouter(tags=["photos"])
    late = Pace(LATE_BYTES, LATE_BYTES / _MONTH_S)

    @routes.put(
        f"{ROOT}{{name}}",
        responses=problems.documented(400, 401, 403, 413, 422, 429, 503, 507),
        openapi_extra=documents.sends_photo(),
    )
    async def put(name: Name, request: Request, signed: signing.Caller) -> documents.Stored:
        """Store a photo; one that is there already stays, so it may be sent again at any time."""
        body = await limited(request, photos.MOST_BYTES)
        if body is None:
            raise _refusal("too_large")
        if not signed.here and late.wait_s(str(signed.session), len(body)):
            raise Refusal(429, "too_fast", "the stay is over, and so many photos came since; send it later")
        found = await run_in_threadpool(store, name, body)
        if found is not None:
            raise _refusal(found)
        return documents.Stored(stored=True)

    @routes.get(
        f"{ROOT}{{name}}",
        responses=documents.file_responses("image/jpeg") | problems.documented(404),
        response_class=Response,
    )
    def read(name: Name) -> Response:
        """Give a photo; what has a name by its content never changes."""
        photo = _found(database, name)
        if photo is None:
            raise Refusal(404, "no_such_photo", "this photo is not here: its phone may not have sent it yet")
        return Response(photo.body, media_type=photo.media_type, headers={"Cache-Control": _FOR_EVER})

    def store(name: str, body: bytes) -> Wrong | None:
        with database.write() as hand:
            now = now_us()
            return photos.put(hand, log.open_place(hand, now).n, name, body, now)

    return routes


def _refusal(found: Wrong) -> Refusal:
    status, said = _REFUSALS[found]
    return Refusal(status, found, said)


def _found(database: Database, name: str) -> Photo | None:
    with database.read() as hand:
        place_n = log.place_number(hand)
        return None if place_n is None else photos.get(hand, place_n, name)
