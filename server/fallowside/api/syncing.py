"""Sync over HTTP: the body is read raw and answered raw."""

from collections.abc import Callable

import anyio
from anyio import to_thread
from fastapi import APIRouter, Request, Response

from fallowside.api import body, documents
from fallowside.store.database import Database
from fallowside.sync import call, reply
from fallowside.sync.intake import Intake

_POSTGRES_WRITERS = 8


def router(database: Database, now_us: Callable[[], int]) -> APIRouter:
    """Give the route of sync."""
    routes = APIRouter(tags=["sync"])
    intake = Intake(database)
    # SQLite has one writer: calls wait for their turn here, in order, rather than in the database.
    turns = anyio.CapacityLimiter(_POSTGRES_WRITERS if database.postgres else 1)

    def answered(received: bytes, pack: bool) -> bytes:
        written = reply.written(intake.take(call.read(received), now_us()))
        return body.packed(written) if pack else written

    @routes.post(
        "/api/sync",
        responses=documents.replies(documents.SyncReply, 400, 413, 415, 422, 503, 507),
        response_class=Response,
        openapi_extra={
            "requestBody": {
                "required": True,
                "content": {"application/json": {"schema": documents.SyncCall.model_json_schema()}},
            }
        },
    )
    async def sync(request: Request) -> Response:
        """Take entries in, hold what can't be used, hand out what the device hasn't seen."""
        received = await body.received(request)
        pack = body.takes_gzip(request)
        return body.answer(await to_thread.run_sync(answered, received, pack, limiter=turns))

    return routes
